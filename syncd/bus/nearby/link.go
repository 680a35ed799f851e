package nearby

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
)

// ErrNoMulticast means that nobody can be found, or find us, from here at
// present: no interface is up that carries multicast, or none would take it.
// The rest of the tool works without.
var ErrNoMulticast = errors.New("no network here carries multicast, so laptops nearby can't be found by themselves; " +
	"join a network and start again, or give the other laptop's address")

// noMulticast is ErrNoMulticast with what the system said, if it said anything.
func noMulticast(err error) error {
	if err == nil {
		return ErrNoMulticast
	}
	return fmt.Errorf("%w (%w)", ErrNoMulticast, err)
}

// link is an interface that carries multicast, with its networks.
type link struct {
	iface net.Interface
	nets  []netip.Prefix // its own addresses, each with the length of its network
}

// links lists what to announce and ask on. Loopback reaches nobody else, and the
// far end of a point-to-point link (a tunnel, mostly) is not the site.
func links() ([]link, error) {
	all, err := net.Interfaces()
	if err != nil {
		return nil, fmt.Errorf("list network interfaces: %w", err)
	}
	var out []link
	for _, i := range all {
		if !carries(i.Flags) || len(out) == mostLinks {
			continue
		}
		addrs, err := i.Addrs()
		if err != nil {
			continue // it went away while we looked
		}
		if l := (link{i, prefixes(addrs)}); len(l.nets) > 0 {
			out = append(out, l)
		}
	}
	return out, nil
}

// carries says whether flags are those of an interface to use.
func carries(flags net.Flags) bool {
	const need, never = net.FlagUp | net.FlagMulticast, net.FlagLoopback | net.FlagPointToPoint
	return flags&need == need && flags&never == 0
}

func prefixes(addrs []net.Addr) []netip.Prefix {
	var out []netip.Prefix
	for _, a := range addrs {
		if p, err := netip.ParsePrefix(a.String()); err == nil {
			out = append(out, netip.PrefixFrom(p.Addr().Unmap(), p.Bits()))
		}
	}
	return out
}

// name tells a link from any other, and from itself with other addresses.
func (l link) name() string { return fmt.Sprint(l.iface.Index, " ", l.iface.Name, " ", l.nets) }

// addrs are the link's own addresses, as many as are announced.
func (l link) addrs() []net.IP {
	var out []net.IP
	for _, p := range l.nets[:min(len(l.nets), mostSaid)] {
		out = append(out, p.Addr().AsSlice())
	}
	return out
}

// near gives the address to call for an answer from this one, with a zone only
// where it needs one. ok is false where the answer does not count: from a port
// other than that of multicast DNS (RFC 6762 §6), or from beyond this link's own
// networks (§11).
func (l link) near(from netip.AddrPort) (addr netip.Addr, ok bool) {
	addr = from.Addr().Unmap()
	if from.Port() != mdnsPort {
		return netip.Addr{}, false
	}
	if addr.Is6() && addr.IsLinkLocalUnicast() {
		return addr, addr.Zone() == l.iface.Name
	}
	addr = addr.WithZone("")
	return addr, slices.ContainsFunc(l.nets, func(p netip.Prefix) bool { return p.Contains(addr) })
}
