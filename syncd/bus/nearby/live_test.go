package nearby

import (
	"context"
	"net"
	"net/netip"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Two laptops of one site and one of another, all on the network of this
// machine, where it has one that carries multicast back to itself.
func TestTwoLaptopsOfASiteFindEachOther(t *testing.T) {
	on := echoing(t)
	for _, said := range []struct{ site, port int }{{1, 42221}, {1, 42222}, {2, 42223}} {
		c, err := Announce(siteOf(byte(said.site)), said.port, dice(byte(said.port)), quiet())
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, c.Close()) })
	}
	ctx, cancel := context.WithTimeout(t.Context(), window)
	defer cancel()
	ports := map[uint16]bool{}
	err := Look(ctx, siteOf(1), quiet(), func(addr string) {
		at, err := netip.ParseAddrPort(addr)
		require.NoError(t, err)
		require.True(t, isOurs(on, at.Addr()), "%s is no address of this machine", addr)
		t.Log("found", addr)
		ports[at.Port()] = true
		if ports[42221] && ports[42222] {
			cancel()
		}
	})
	require.NoError(t, err)
	require.Equal(t, map[uint16]bool{42221: true, 42222: true}, ports)
}

func isOurs(on []link, addr netip.Addr) bool {
	for _, l := range on {
		for _, p := range l.nets {
			if p.Addr() == addr.WithZone("") {
				return true
			}
		}
	}
	return false
}

// echoing gives the links of this machine, or skips the test where a packet to
// the group of multicast DNS does not come back over any of them. It asks the
// system itself, with nothing of this package but the list.
func echoing(t *testing.T) []link {
	t.Helper()
	on, err := links()
	require.NoError(t, err)
	for _, l := range on {
		if comesBack(t, l) {
			return on
		}
	}
	t.Skipf("no live test: none of %d interfaces of this machine carries multicast back to it", len(on))
	return nil
}

func comesBack(t *testing.T, l link) bool {
	t.Helper()
	in, err := net.ListenMulticastUDP("udp4", &l.iface, &net.UDPAddr{IP: net.ParseIP(group4), Port: mdnsPort})
	if err != nil {
		return false
	}
	defer func() { require.NoError(t, in.Close()) }()
	out, err := send4(l, []byte("is anybody there"))
	if err != nil {
		return false
	}
	defer func() { require.NoError(t, out.Close()) }()
	require.NoError(t, in.SetReadDeadline(time.Now().Add(time.Second)))
	b := make([]byte, mostBytes)
	for {
		n, err := in.Read(b)
		if err != nil {
			return false
		}
		if string(b[:n]) == "is anybody there" {
			return true
		}
	}
}
