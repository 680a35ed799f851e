package depot

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"log/slog"
	"os"
	"testing"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// node is one real server with its store on disk, in this process.
type node struct {
	t      testing.TB
	dir    string
	port   int
	server *server.Server
}

func newNode(t testing.TB) *node {
	n := &node{t: t, dir: t.TempDir(), port: server.RANDOM_PORT}
	n.start()
	t.Cleanup(n.stop)
	return n
}

func (n *node) start() {
	n.t.Helper()
	s, err := server.NewServer(&server.Options{Host: "127.0.0.1", Port: n.port, JetStream: true, StoreDir: n.dir, NoSigs: true, NoLog: true})
	require.NoError(n.t, err)
	s.Start()
	require.True(n.t, s.ReadyForConnections(10*time.Second))
	n.server, n.port = s, addrOf(s)
}

func (n *node) stop() {
	n.server.Shutdown()
	n.server.WaitForShutdown()
}

func (n *node) options() Options {
	log := slog.New(slog.DiscardHandler)
	if testing.Verbose() && os.Getenv("PAIRWALK_TEST_LOG") != "" {
		log = slog.New(slog.NewTextHandler(os.Stderr, nil))
	}
	return Options{URLs: []string{n.server.ClientURL()}, Name: n.t.Name(), Replicas: 1, Patience: 5 * time.Second, Log: log}
}

// line is a relay's connection to the node.
func (n *node) line(change ...func(*Options)) *cluster {
	n.t.Helper()
	o := n.options()
	for _, c := range change {
		c(&o)
	}
	c, err := dial(n.t.Context(), o)
	require.NoError(n.t, err)
	n.t.Cleanup(c.close)
	return c
}

// clock is 2026-03-02 09:00 UTC, in one boot.
func clock() events.Stamp {
	return events.Stamp{Wall: events.Wall{At: 1_772_442_000_000}, Mono: events.Mono{Boot: "relay", Ms: 1}}
}

func opened(t testing.TB, c *cluster, self events.Key) *Store {
	t.Helper()
	s, err := openStore(t.Context(), c, journaltest.Site(), self, clock)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

// texts is all that a store holds, in its order and byte for byte, as digests.
func texts(t testing.TB, s *Store) []string {
	t.Helper()
	var out []string
	for v, err := range s.All() {
		require.NoError(t, err)
		out = append(out, shorts(v)...)
	}
	return out
}

// shorts are lines as digests of all their bytes.
func shorts(lines ...seal.Verified) []string {
	var out []string
	for _, v := range lines {
		out = append(out, fmt.Sprintf("%d %x", v.Seq(), sha256.Sum256(v.Line())))
	}
	return out
}

func took(t testing.TB, s *Store, lines ...seal.Verified) int {
	t.Helper()
	taken, err := s.Take(t.Context(), lines)
	require.NoError(t, err)
	return len(taken.Fresh)
}

// until waits for something that the cluster brings about.
func until(t testing.TB, what string, ok func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	for !ok() {
		if pause(ctx, 5*time.Millisecond) != nil {
			t.Fatal("never came: " + what)
		}
	}
}

type dice byte

func (d dice) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(d) + byte(i)
	}
	return len(b), nil
}

var _ io.Reader = dice(0)
