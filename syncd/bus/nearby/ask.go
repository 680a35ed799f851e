package nearby

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"sync"

	"github.com/miekg/dns"
	"golang.org/x/net/ipv4"
)

// The port and the groups of multicast DNS (RFC 6762 §3).
const (
	mdnsPort = 5353
	group4   = "224.0.0.251"
	group6   = "ff02::fb"
)

// askAll asks once on every link. It gives what comes back until the window
// closes or ctx ends; then the channel is closed. The error is ErrNoMulticast
// (with the reasons) where the question could be sent nowhere.
func askAll(ctx context.Context) (<-chan answer, error) {
	on, err := links()
	if err != nil {
		return nil, noMulticast(err)
	}
	question, err := new(dns.Msg).SetQuestion(meeting, dns.TypePTR).Pack()
	if err != nil {
		return nil, fmt.Errorf("write question: %w", err)
	}
	ctx, cancel := context.WithTimeout(ctx, window)
	answers := make(chan answer)
	var asked sync.WaitGroup
	var errs []error
	sent := 0
	for _, l := range on {
		for _, send := range []func(link, []byte) (*net.UDPConn, error){send4, send6} {
			conn, err := send(l, question)
			if err != nil {
				errs = append(errs, fmt.Errorf("ask on %s: %w", l.iface.Name, err))
				continue
			}
			sent++
			asked.Go(func() { listen(ctx, l, conn, answers) })
		}
	}
	if sent == 0 {
		cancel()
		return nil, noMulticast(errors.Join(errs...))
	}
	go func() {
		asked.Wait()
		cancel()
		close(answers)
	}()
	return answers, nil
}

// send4 asks over IPv4 from a new socket, which is where answers come back.
func send4(l link, question []byte) (*net.UDPConn, error) {
	conn, err := net.ListenUDP("udp4", nil)
	if err != nil {
		return nil, err
	}
	err = ipv4.NewPacketConn(conn).SetMulticastInterface(&l.iface)
	if err == nil {
		_, err = conn.WriteToUDP(question, &net.UDPAddr{IP: net.ParseIP(group4), Port: mdnsPort})
	}
	if err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	return conn, nil
}

// send6 does the same over IPv6, where the zone of the group picks the link.
func send6(l link, question []byte) (*net.UDPConn, error) {
	conn, err := net.ListenUDP("udp6", nil)
	if err != nil {
		return nil, err
	}
	to := &net.UDPAddr{IP: net.ParseIP(group6), Port: mdnsPort, Zone: l.iface.Name}
	if _, err := conn.WriteToUDP(question, to); err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	return conn, nil
}

// listen hands over what comes to one socket from the link it asked on, until
// ctx ends or the round has had its share of packets.
func listen(ctx context.Context, l link, conn *net.UDPConn, answers chan<- answer) {
	stop := context.AfterFunc(ctx, func() { _ = conn.Close() }) // ends the read below
	defer func() {
		if stop() {
			_ = conn.Close()
		}
	}()
	buf := make([]byte, mostBytes+1) // by one more, meets knows what was too long
	for range mostPackets {
		n, from, err := conn.ReadFromUDPAddrPort(buf)
		if err != nil {
			if ctx.Err() != nil || errors.Is(err, net.ErrClosed) {
				return
			}
			continue // such as word that one answer was longer than the buffer, on some systems
		}
		addr, ok := l.near(from)
		if ok && !hand(ctx, answers, addr, buf[:n]) {
			return
		}
	}
}

// hand gives a copy of the packet to the reader, or says that the round is over.
func hand(ctx context.Context, answers chan<- answer, from netip.Addr, packet []byte) bool {
	select {
	case answers <- answer{from, append([]byte(nil), packet...)}:
		return true
	case <-ctx.Done():
		return false
	}
}
