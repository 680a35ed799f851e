package nearby

import (
	"net"
	"net/netip"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWhichInterfacesAreUsed(t *testing.T) {
	const plain = net.FlagUp | net.FlagMulticast | net.FlagBroadcast
	for _, c := range []struct {
		name  string
		flags net.Flags
		used  bool
	}{
		{"wired or wireless", plain, true},
		{"down", plain &^ net.FlagUp, false},
		{"no multicast", plain &^ net.FlagMulticast, false},
		{"loopback", plain | net.FlagLoopback, false},
		{"a tunnel", plain | net.FlagPointToPoint, false},
		{"none", 0, false},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.used, carries(c.flags)) })
	}
}

// RFC 6762 §11: an answer counts only from the local link (seen in texts that
// quote it). §6: and only from port 5353 (value from memory).
func TestAnswersCountOnlyFromTheLinkThatWasAsked(t *testing.T) {
	l := linkOf(2, "wlan0", "192.0.2.7/24", "2001:db8:1::7/64", "fe80::7/64")
	for _, c := range []struct{ name, from, near string }{
		{"IPv4 on the network", "192.0.2.9", "192.0.2.9"},
		{"our own", "192.0.2.7", "192.0.2.7"},
		{"IPv4 written as IPv6", "::ffff:192.0.2.9", "192.0.2.9"},
		{"IPv4 on another network", "198.51.100.9", ""},
		{"link-local on the link", "fe80::9%wlan0", "fe80::9%wlan0"},
		{"link-local on another link", "fe80::9%eth0", ""},
		{"link-local on no link", "fe80::9", ""},
		{"global on the network", "2001:db8:1::9", "2001:db8:1::9"},
		{"global, with a zone it does not need", "2001:db8:1::9%wlan0", "2001:db8:1::9"},
		{"global on another network", "2001:db8:2::9", ""},
		{"loopback", "127.0.0.1", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			addr, ok := l.near(netip.AddrPortFrom(from(c.from), mdnsPort))
			require.Equal(t, c.near != "", ok)
			_, other := l.near(netip.AddrPortFrom(from(c.from), 4222))
			require.False(t, other, "from another port")
			if ok {
				require.Equal(t, c.near, addr.String())
			}
		})
	}
}

func TestALinkSaysOnlySoManyAddresses(t *testing.T) {
	l := wlan()
	for range 30 {
		l.nets = append(l.nets, l.nets[0])
	}
	require.Len(t, l.addrs(), mostSaid)
	require.Len(t, wlan().addrs(), 2)
}

func TestAddressesOfTheSystemAreRead(t *testing.T) {
	read := prefixes([]net.Addr{
		&net.IPNet{IP: net.ParseIP("192.0.2.7"), Mask: net.CIDRMask(24, 32)},
		&net.IPNet{IP: net.ParseIP("fe80::7"), Mask: net.CIDRMask(64, 128)},
		&net.UnixAddr{Name: "nonsense"},
	})
	require.Equal(t, wlan().nets, read)
}
