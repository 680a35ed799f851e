package invite

import (
	"errors"
	"fmt"
	"net/netip"
	"strconv"
	"strings"

	"pairwalk/events"
)

const (
	meetMost = 8
	addrMost = 253 + len(":65535") // the longest DNS name, and a port
)

// Meeting is a place where members of the site meet: a bus server's address,
// host:port, and the bus key that its TLS certificate must carry.
type Meeting struct {
	Addr string
	Key  events.Key
}

func (m Meeting) check() error {
	if err := checkAddr(m.Addr); err != nil {
		return fmt.Errorf("meeting point %q: %w", m.Addr, err)
	}
	if _, err := m.Key.Public(); err != nil {
		return fmt.Errorf("meeting point %q: %w", m.Addr, err)
	}
	return nil
}

// checkAddr takes a DNS name, an IPv4 address or a bracketed IPv6 address, and a
// port.
func checkAddr(addr string) error {
	if len(addr) > addrMost {
		return errors.New("address is too long")
	}
	i := strings.LastIndexByte(addr, ':')
	if i < 0 {
		return errors.New("address has no port; write it as host:port")
	}
	host, port := addr[:i], addr[i+1:]
	if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 || strconv.FormatUint(n, 10) != port {
		return errors.New("port is not a number from 1 to 65535")
	}
	if strings.HasPrefix(host, "[") {
		if _, err := netip.ParseAddrPort(addr); err != nil {
			return errors.New("not an IPv6 address in brackets, and a port")
		}
		return nil
	}
	for _, label := range strings.Split(host, ".") {
		if label == "" || strings.Trim(strings.ToLower(label), "abcdefghijklmnopqrstuvwxyz0123456789-_") != "" {
			return errors.New("host is neither a name nor an address")
		}
	}
	return nil
}

// packed is the address as 4 bytes of IPv4 and 2 of port, if that says it all.
func packed(addr string) ([]byte, bool) {
	ap, err := netip.ParseAddrPort(addr)
	if err != nil || !ap.Addr().Is4() {
		return nil, false
	}
	ip, port := ap.Addr().As4(), ap.Port()
	return append(ip[:], byte(port>>8), byte(port)), true
}

func unpacked(b []byte) string {
	port := uint16(b[4])<<8 | uint16(b[5])
	return netip.AddrPortFrom(netip.AddrFrom4([4]byte(b[:4])), port).String()
}
