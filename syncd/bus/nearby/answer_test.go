package nearby

import (
	"fmt"
	"strings"
	"testing"

	"github.com/miekg/dns"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestWhatIsAnnouncedIsRecognisedByTheSiteAlone(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		sites := rapid.ByteRange(0, 3)
		here, there := sites.Draw(rt, "here"), sites.Draw(rt, "there")
		port := rapid.IntRange(1, 65535).Draw(rt, "port")
		a := answer{from("192.0.2.9"), packed(t, announced(t, siteOf(there), port, rapid.Byte().Draw(rt, "dice"))...)}
		addr, ok := a.meets(siteOf(here))
		require.Equal(rt, here == there, ok)
		if ok {
			require.Equal(rt, fmt.Sprint("192.0.2.9:", port), addr.String())
		}
	})
}

// An address with a zone must reach whoever dials it whole.
func TestAnAnswerFromALinkLocalAddressKeepsItsZone(t *testing.T) {
	a := answer{from("fe80::9%wlan0"), packed(t, announced(t, siteOf(1), 4222, 1)...)}
	addr, ok := a.meets(siteOf(1))
	require.True(t, ok)
	require.Equal(t, "[fe80::9%wlan0]:4222", addr.String())
}

func TestAStrangerLearnsNothingOfTheSite(t *testing.T) {
	site := siteOf(1)
	s, err := newSign(site, 4222, dice(1))
	require.NoError(t, err)
	names, text := map[string]bool{}, ""
	for _, r := range announced(t, site, 4222, 1) {
		text += r.String() + "\n"
		names[r.Header().Name] = true
		switch r := r.(type) {
		case *dns.PTR:
			names[r.Ptr] = true
		case *dns.SRV:
			names[r.Target] = true
		}
	}
	require.Equal(t, map[string]bool{
		"_pairwalk._tcp.local.":           true,
		s.name + "._pairwalk._tcp.local.": true,
		s.name + ".local.":                true, // and not the name of the computer
	}, names)
	require.Contains(t, text, "SRV\t10 1 4222 ")
	require.Contains(t, text, "192.0.2.7")
	for n := range len(site) - 7 {
		require.NotContains(t, text, string(site[n:n+8]), "part of the site's id")
	}
}

// Two processes of one site have nothing in common that a stranger could see.
func TestEveryProcessHasItsOwnNameAndMark(t *testing.T) {
	a, err := newSign(siteOf(1), 4222, dice(1))
	require.NoError(t, err)
	b, err := newSign(siteOf(1), 4222, dice(2))
	require.NoError(t, err)
	require.NotEqual(t, a.name, b.name)
	require.NotEqual(t, a.txt[1], b.txt[1])
	require.NotContains(t, a.txt[1], a.name, "the name gives no salt away")
}

// each changes records after copying them.
func each(records []dns.RR, change func(dns.RR)) []dns.RR {
	var out []dns.RR
	for _, r := range records {
		c := dns.Copy(r)
		change(c)
		out = append(out, c)
	}
	return out
}

func TestWhatElseMayCome(t *testing.T) {
	good := announced(t, siteOf(1), 4222, 1)
	srv := func(change func(*dns.SRV)) []dns.RR {
		return each(good, func(r dns.RR) {
			if s, ok := r.(*dns.SRV); ok {
				change(s)
			}
		})
	}
	without := func(kind uint16) (out []dns.RR) {
		for _, r := range good {
			if r.Header().Rrtype != kind {
				out = append(out, r)
			}
		}
		return out
	}
	whole := packed(t, good...)
	for _, c := range []struct {
		name   string
		packet []byte
		port   uint16 // 0: not recognised
	}{
		{"as announced", whole, 4222},
		{"names in capitals", packed(t, each(good, func(r dns.RR) { r.Header().Name = strings.ToUpper(r.Header().Name) })...), 4222},
		{"with the cache bit of a responder that sends it", packed(t, each(good, func(r dns.RR) { r.Header().Class |= 1 << 15 })...), 4222},
		{"records among the extra ones", packedAs(t, func(m *dns.Msg) { m.Answer, m.Extra = good[:1], good[1:] }, good...), 4222},
		{"no pointer", packed(t, without(dns.TypePTR)...), 4222},
		{"no addresses", packed(t, without(dns.TypeA)...), 4222},
		{"two laptops in one packet: the first", packed(t, append(announced(t, siteOf(1), 4223, 2), good...)...), 4223},
		{"another site's before ours", packed(t, append(announced(t, siteOf(2), 9, 2), good...)...), 4222},
		{"no mark", packed(t, without(dns.TypeTXT)...), 0},
		{"no port", packed(t, without(dns.TypeSRV)...), 0},
		{"port 0", packed(t, srv(func(s *dns.SRV) { s.Port = 0 })...), 0},
		{"the port of another instance", packed(t, srv(func(s *dns.SRV) { s.Hdr.Name = "x." + meeting })...), 0},
		{"another service", packed(t, each(good, func(r dns.RR) {
			r.Header().Name = strings.Replace(r.Header().Name, "_pairwalk.", "_other.", 1)
		})...), 0},
		{"the service itself as an instance", packed(t, each(good, func(r dns.RR) { r.Header().Name = meeting })...), 0},
		{"an instance in another domain", packed(t, each(good, func(r dns.RR) { r.Header().Name += "example." })...), 0},
		{"taken back", packed(t, each(good, func(r dns.RR) { r.Header().Ttl = 0 })...), 0},
		{"of another class", packed(t, each(good, func(r dns.RR) { r.Header().Class = dns.ClassCHAOS })...), 0},
		{"a question", packedAs(t, func(m *dns.Msg) { m.Response = false }, good...), 0},
		{"a failure", packedAs(t, func(m *dns.Msg) { m.Rcode = dns.RcodeRefused }, good...), 0},
		{"a notification", packedAs(t, func(m *dns.Msg) { m.Opcode = dns.OpcodeNotify }, good...), 0},
		{"empty", nil, 0},
		{"a header alone", whole[:12], 0},
		{"cut short", whole[:len(whole)-1], 0},
		{"noise", []byte(strings.Repeat("\xc0\x0c\xff", 900)), 0},
		{"longer than any may be", append(whole[:len(whole):len(whole)], make([]byte, mostBytes)...), 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			addr, ok := answer{from("192.0.2.9"), c.packet}.meets(siteOf(1))
			require.Equal(t, c.port != 0, ok)
			if ok {
				require.Equal(t, c.port, addr.Port())
			}
		})
	}
}

// However many instances one packet names, it is good for one address.
func TestAPacketFullOfInstancesYieldsOneAddress(t *testing.T) {
	s, err := newSign(siteOf(1), 4222, dice(1))
	require.NoError(t, err)
	var many []dns.RR
	for n := range 60 {
		name := fmt.Sprintf("x%d.%s", n, meeting)
		head := dns.RR_Header{Name: name, Class: dns.ClassINET, Ttl: 120}
		txt, srv := &dns.TXT{Hdr: head, Txt: s.txt}, &dns.SRV{Hdr: head, Port: uint16(n + 1), Target: name}
		txt.Hdr.Rrtype, srv.Hdr.Rrtype = dns.TypeTXT, dns.TypeSRV
		many = append(many, txt, srv)
	}
	packet := packed(t, many...)
	require.LessOrEqual(t, len(packet), mostBytes)
	addr, ok := answer{from("192.0.2.9"), packet}.meets(siteOf(1))
	require.True(t, ok)
	require.Equal(t, "192.0.2.9:1", addr.String())
}

func FuzzMeets(f *testing.F) {
	f.Add(packed(f, announced(f, siteOf(1), 4222, 1)...))
	f.Add(packed(f, announced(f, siteOf(2), 4222, 1)...))
	f.Add([]byte{})
	f.Add([]byte(strings.Repeat("\xc0\x0c", 600)))
	f.Fuzz(func(t *testing.T, packet []byte) {
		addr, ok := answer{from("192.0.2.9"), packet}.meets(siteOf(1))
		if ok {
			require.NotZero(t, addr.Port())
			require.Equal(t, from("192.0.2.9"), addr.Addr(), "nobody speaks for another address")
		}
	})
}
