package nearby

import (
	"net/netip"
	"strings"

	"github.com/miekg/dns"

	"pairwalk/events"
)

const (
	service = "_pairwalk._tcp"
	domain  = "local."
	meeting = service + "." + domain // what is asked for
)

// answer is one packet and the address it came from, which has a zone where it
// is link-local.
type answer struct {
	from   netip.Addr
	packet []byte
}

// meets reads where a bus server of the site can be called: at the address that
// answered, at the port its records tell. ok is false for everything else that
// may come, of which most is other people's and some is meant ill.
func (a answer) meets(site events.SiteID) (addr netip.AddrPort, ok bool) {
	var m dns.Msg
	if len(a.packet) > mostBytes || m.Unpack(a.packet) != nil {
		return netip.AddrPort{}, false
	}
	if !m.Response || m.Opcode != dns.OpcodeQuery || m.Rcode != dns.RcodeSuccess {
		return netip.AddrPort{}, false
	}
	port, ok := portOf(site, append(m.Answer, m.Extra...))
	return netip.AddrPortFrom(a.from, port), ok
}

// portOf finds the first instance that bears the site's mark and has a port.
func portOf(site events.SiteID, records []dns.RR) (port uint16, ok bool) {
	ours := map[string]bool{}
	for _, r := range records {
		if t, is := r.(*dns.TXT); is && stands(t) && marked(site, t.Txt) {
			ours[dns.CanonicalName(t.Hdr.Name)] = true
		}
	}
	for _, r := range records {
		if s, is := r.(*dns.SRV); is && stands(s) && s.Port != 0 && ours[dns.CanonicalName(s.Hdr.Name)] {
			return s.Port, true
		}
	}
	return 0, false
}

// stands says whether a record is about an instance of our service and in
// force: a lifetime of 0 takes a record back (RFC 6762 §10.1). The top bit of
// its class says something about caches (§10.2), and we keep none.
func stands(r dns.RR) bool {
	h := r.Header()
	return strings.HasSuffix(dns.CanonicalName(h.Name), "."+meeting) && h.Class&^(1<<15) == dns.ClassINET && h.Ttl > 0
}
