package nearby

import (
	"context"
	"net"
	"testing"

	"github.com/stretchr/testify/require"
)

// heard is a socket on this machine alone, and one to send to it from.
func heard(t *testing.T) (conn, sender *net.UDPConn) {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	sender, err = net.DialUDP("udp4", nil, conn.LocalAddr().(*net.UDPAddr))
	require.NoError(t, err)
	t.Cleanup(func() { _ = sender.Close() })
	return conn, sender
}

// Whoever sends without end is not read without end, though ctx goes on.
func TestASocketIsReadForSoManyPacketsARound(t *testing.T) {
	conn, sender := heard(t)
	done := make(chan struct{})
	go func() {
		defer close(done)
		listen(t.Context(), linkOf(1, "lo", "127.0.0.1/8"), conn, make(chan answer))
	}()
	for n := 0; ; n++ {
		select {
		case <-done:
			require.GreaterOrEqual(t, n, mostPackets)
			_, err := conn.Write(nil)
			require.ErrorIs(t, err, net.ErrClosed)
			return
		default:
			_, _ = sender.Write([]byte("noise")) // refused once the socket is closed
		}
	}
}

func TestTheEndOfARoundClosesItsSockets(t *testing.T) {
	conn, _ := heard(t)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		listen(ctx, linkOf(1, "lo", "127.0.0.1/8"), conn, make(chan answer))
	}()
	cancel()
	<-done
	_, err := conn.Write(nil)
	require.ErrorIs(t, err, net.ErrClosed)
}

// A packet is handed over as its own copy, since the buffer is used again.
func TestAnAnswerOutlivesTheBuffer(t *testing.T) {
	buf, answers := []byte("first"), make(chan answer, 1)
	require.True(t, hand(t.Context(), answers, from("192.0.2.9"), buf))
	copy(buf, "after")
	require.Equal(t, answer{from("192.0.2.9"), []byte("first")}, <-answers)

	over, cancel := context.WithCancel(t.Context())
	cancel()
	require.False(t, hand(over, make(chan answer), from("192.0.2.9"), buf), "nobody reads after the round")
}
