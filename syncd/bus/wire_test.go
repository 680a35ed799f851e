package bus

import (
	"bufio"
	"crypto/ed25519"
	"crypto/tls"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// wire is a client that speaks the protocol by hand, and so may say anything.
type wire struct {
	*tls.Conn
	t      *testing.T
	r      *bufio.Reader
	nonce  []byte
	server events.Key
}

// rings connects to a bus and reads its greeting. The curve is chosen for speed
// under the race detector: the usual hybrid one made a thousand calls take 12 s.
func rings(t *testing.T, addr string) *wire {
	t.Helper()
	conn, err := tls.Dial("tcp", addr, &tls.Config{MinVersion: tls.VersionTLS13, InsecureSkipVerify: true, CurvePreferences: []tls.CurveID{tls.CurveP256}})
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	require.NoError(t, conn.SetDeadline(time.Now().Add(patience)))
	w := &wire{Conn: conn, t: t, r: bufio.NewReader(conn)}
	w.server, err = keyShown(conn.ConnectionState())
	require.NoError(t, err)
	var info struct{ Nonce string }
	line, err := w.r.ReadString('\n')
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal([]byte(strings.TrimPrefix(line, "INFO ")), &info))
	require.NoError(t, checkNonce([]byte(info.Nonce)))
	w.nonce = []byte(info.Nonce)
	return w
}

// sign is what an honest client signs on this connection.
func (w *wire) sign(key ed25519.PrivateKey) string {
	return base64.RawURLEncoding.EncodeToString(ed25519.Sign(key, statement(w.server, w.nonce)))
}

// presents sends CONNECT.
func (w *wire) presents(key ed25519.PrivateKey, sig string, joined []byte) {
	w.t.Helper()
	fields := map[string]any{"verbose": false, "protocol": 1, "echo": true, "headers": true}
	if key != nil {
		nkey, err := nkeyOf(publicOf(key))
		require.NoError(w.t, err)
		fields["nkey"], fields["sig"] = nkey, sig
	}
	fields["auth_token"] = base64.StdEncoding.EncodeToString(joined)
	b, err := json.Marshal(fields)
	require.NoError(w.t, err)
	w.writes("CONNECT %s\r\n", b)
}

// writes sends a piece. Who is refused may find the door shut already.
func (w *wire) writes(format string, args ...any) { _, _ = fmt.Fprintf(w.Conn, format, args...) }

// pong is everything the server says up to its next PONG, or to the end.
func (w *wire) pong() (said string, open bool) {
	var b strings.Builder
	for {
		line, err := w.r.ReadString('\n')
		b.WriteString(line)
		if err != nil {
			return b.String(), false
		}
		if line == "PONG\r\n" {
			return b.String(), true
		}
	}
}

// hears is everything the server has said by now.
func (w *wire) hears() (said string, open bool) {
	w.writes("PING\r\n")
	return w.pong()
}

// tries subscribes and publishes on each subject, all in one go and without
// waiting to be let in, and returns what the server makes of it: hear/say.
func (w *wire) tries(subjects []string) []string {
	var b strings.Builder
	for i, s := range subjects {
		fmt.Fprintf(&b, "SUB %s %d\r\nPING\r\nUNSUB %[2]d\r\nPUB %[1]s 2\r\nhi\r\nPING\r\n", s, i+1)
	}
	w.writes("%s", b.String())
	var out []string
	for range subjects {
		sub := w.verdict("Subscription")
		if pub := w.verdict("Publish"); sub != "out" || pub != "out" {
			sub += "/" + pub
		}
		out = append(out, sub)
	}
	return out
}

func (w *wire) verdict(of string) string {
	said, open := w.pong()
	switch {
	case !open:
		return "out"
	case strings.Contains(said, "Permissions Violation for "+of):
		return "no"
	}
	return "yes"
}

// imp is a member's key in the hands of a program that is not ours.
func imp(t *testing.T, h *hand, server *desk) *nats.Conn {
	t.Helper()
	nkey, err := nkeyOf(publicOf(h.key))
	require.NoError(t, err)
	sign := func(nonce []byte) ([]byte, error) { return ed25519.Sign(h.key, statement(server.id(), nonce)), nil }
	nc, err := nats.Connect("nats://"+server.addr(), nats.Secure(&tls.Config{InsecureSkipVerify: true}), nats.TLSHandshakeFirst(),
		nats.Nkey(nkey, sign), nats.Token(base64.StdEncoding.EncodeToString(h.joined)), nats.NoReconnect())
	require.NoError(t, err)
	t.Cleanup(nc.Close)
	return nc
}

// answers has an imp answer one kind of question.
func answers(t *testing.T, nc *nats.Conn, h *hand, what string, f func(data []byte) []byte) {
	t.Helper()
	_, err := nc.Subscribe(request(h.id(), anybody, what), func(m *nats.Msg) {
		if reply := f(m.Data); reply != nil {
			_ = m.Respond(reply)
		}
	})
	require.NoError(t, err)
	require.NoError(t, nc.Flush())
}

// feint is a server that is none: what callers say to it is kept.
type feint struct {
	addr string
	said chan []byte // by each caller, in full
}

// feints answers each caller with these bytes; with a certificate, inside TLS.
func feints(t *testing.T, key ed25519.PrivateKey, greeting string) feint {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	if key != nil {
		cert, err := certificate(key)
		require.NoError(t, err)
		l = tls.NewListener(l, &tls.Config{Certificates: []tls.Certificate{cert}})
	}
	f := feint{l.Addr().String(), make(chan []byte, 64)}
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				_, _ = io.WriteString(conn, greeting)
				_ = conn.SetReadDeadline(time.Now().Add(patience))
				said, _ := io.ReadAll(conn)
				f.said <- said
			}()
		}
	}()
	return f
}
