package depot

import (
	"errors"
	"io"
	"net"
	"os"
	"slices"
	"sync"
	"testing"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/stretchr/testify/require"
)

// rewrites is what somebody can do who has the cluster's disks: every message is
// shown to change, which may alter it, or leave it out by returning false.
func (n *node) rewrites(change func(i int, m *nats.Msg) bool) {
	n.t.Helper()
	ctx := n.t.Context()
	nc, err := nats.Connect(n.server.ClientURL())
	require.NoError(n.t, err)
	defer nc.Close()
	js, err := jetstream.New(nc)
	require.NoError(n.t, err)
	s, err := js.Stream(ctx, streamName)
	require.NoError(n.t, err)
	info := s.CachedInfo()
	var all []*nats.Msg
	seen := 0
	for q := info.State.FirstSeq; q <= info.State.LastSeq && q > 0; q++ {
		raw, err := s.GetMsg(ctx, q)
		require.NoError(n.t, err)
		m := nats.NewMsg(raw.Subject)
		m.Data, m.Header = slices.Clone(raw.Data), raw.Header
		for _, h := range []string{jetstream.MsgIDHeader, jetstream.ExpectedLastSubjSeqHeader, jetstream.ExpectedStreamHeader} {
			m.Header.Del(h)
		}
		if change(seen, m) {
			all = append(all, m)
		}
		seen++
	}
	require.NoError(n.t, js.DeleteStream(ctx, streamName))
	_, err = js.CreateStream(ctx, info.Config)
	for tries := 0; noStore(err) && tries < 200; tries++ { // the files of the old one are still cleared away
		_, err = js.CreateStream(ctx, info.Config)
	}
	require.NoError(n.t, err)
	for _, m := range all {
		_, err := js.PublishMsg(ctx, m)
		require.NoError(n.t, err)
	}
}

// noStore says whether a stream was not made because its files could not be.
func noStore(err error) bool {
	var api *jetstream.APIError
	return errors.As(err, &api) && api.ErrorCode == 10049
}

// backup is the node's disk as it is now. The node is stopped for it.
func (n *node) backup() (restore func()) {
	n.t.Helper()
	n.stop()
	copied := n.t.TempDir()
	require.NoError(n.t, os.CopyFS(copied, os.DirFS(n.dir)))
	n.start()
	return func() {
		n.stop()
		require.NoError(n.t, os.RemoveAll(n.dir))
		require.NoError(n.t, os.CopyFS(n.dir, os.DirFS(copied)))
		n.start()
	}
}

// loses is a node whose disk is gone.
func (n *node) loses() {
	n.stop()
	require.NoError(n.t, os.RemoveAll(n.dir))
	n.start()
}

// wire is a way to the node that can swallow what the node says.
type wire struct {
	t    testing.TB
	l    net.Listener
	to   string
	work sync.WaitGroup

	mu    sync.Mutex
	deaf  bool
	conns []net.Conn
}

func newWire(n *node) *wire {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(n.t, err)
	w := &wire{t: n.t, l: l, to: n.server.Addr().String()}
	w.work.Go(w.serve)
	n.t.Cleanup(func() { require.NoError(w.t, l.Close()); w.cut(); w.work.Wait() })
	return w
}

func (w *wire) url() string { return "nats://" + w.l.Addr().String() }

func (w *wire) serve() {
	for {
		in, err := w.l.Accept()
		if err != nil {
			return
		}
		out, err := net.Dial("tcp", w.to)
		if err != nil {
			_ = in.Close()
			continue
		}
		w.mu.Lock()
		w.conns = append(w.conns, in, out)
		w.mu.Unlock()
		w.work.Go(func() { _, _ = io.Copy(out, in); _ = out.Close() })
		w.work.Go(func() { _, _ = io.Copy(swallow{w, in}, out); _ = in.Close() })
	}
}

// cut ends every connection there is.
func (w *wire) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, c := range w.conns {
		_ = c.Close()
	}
	w.conns = nil
}

// deafen swallows what the node says from now on, or stops doing so for connections
// made anew.
func (w *wire) deafen(deaf bool) {
	w.mu.Lock()
	w.deaf = deaf
	w.mu.Unlock()
	if !deaf {
		w.cut()
	}
}

type swallow struct {
	w  *wire
	to net.Conn
}

func (s swallow) Write(b []byte) (int, error) {
	s.w.mu.Lock()
	deaf := s.w.deaf
	s.w.mu.Unlock()
	if deaf {
		return len(b), nil
	}
	return s.to.Write(b)
}
