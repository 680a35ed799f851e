package nearby

import (
	"bytes"
	"crypto/sha256"
	"io"
	"log/slog"
	"net"
	"net/netip"
	"testing"

	"github.com/miekg/dns"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// Two sites that know nothing of each other, and a laptop on a link.

// siteOf invents a site.
func siteOf(n byte) events.SiteID { return events.SiteOf(bytes.Repeat([]byte{n}, 32)) }

// dice is a source of bytes that differ from one n to the next.
func dice(n byte) io.Reader {
	sum := sha256.Sum256([]byte{n})
	return bytes.NewReader(sum[:16])
}

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }

// linkOf invents an interface with these networks.
func linkOf(index int, name string, nets ...string) link {
	l := link{iface: net.Interface{Index: index, Name: name}}
	for _, n := range nets {
		l.nets = append(l.nets, netip.MustParsePrefix(n))
	}
	return l
}

func wlan() link { return linkOf(2, "wlan0", "192.0.2.7/24", "fe80::7/64") }

// announced is what a laptop of the site answers to the question of Look.
func announced(t testing.TB, site events.SiteID, port int, n byte) []dns.RR {
	t.Helper()
	s, err := newSign(site, port, dice(n))
	require.NoError(t, err)
	z, err := s.zone(wlan())
	require.NoError(t, err)
	records := z.Records(dns.Question{Name: meeting, Qtype: dns.TypePTR, Qclass: dns.ClassINET})
	require.NotEmpty(t, records)
	return records
}

// packed is a packet with these records as its answer.
func packed(t testing.TB, records ...dns.RR) []byte {
	t.Helper()
	return packedAs(t, func(*dns.Msg) {}, records...)
}

func packedAs(t testing.TB, change func(*dns.Msg), records ...dns.RR) []byte {
	t.Helper()
	m := &dns.Msg{MsgHdr: dns.MsgHdr{Response: true, Authoritative: true}, Compress: true, Answer: records}
	change(m)
	b, err := m.Pack()
	require.NoError(t, err)
	return b
}

func from(addr string) netip.Addr { return netip.MustParseAddr(addr) }
