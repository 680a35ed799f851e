package depot

import (
	"errors"
	"os"
	"slices"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/stretchr/testify/require"
)

// stream is the stream as whoever runs the node has it.
func (n *node) stream() (jetstream.JetStream, jetstream.Stream) {
	n.t.Helper()
	nc, err := nats.Connect(n.server.ClientURL())
	require.NoError(n.t, err)
	n.t.Cleanup(nc.Close)
	js, err := jetstream.New(nc)
	require.NoError(n.t, err)
	s, err := js.Stream(n.t.Context(), streamName)
	require.NoError(n.t, err)
	return js, s
}

// rewrites is what somebody can do who has the cluster's disks: every message is
// shown to change, which may alter it, or leave it out by returning false.
func (n *node) rewrites(change func(i int, m *nats.Msg) bool) {
	n.t.Helper()
	ctx := n.t.Context()
	js, s := n.stream()
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
	_, err := js.CreateStream(ctx, info.Config)
	for tries := 0; noStore(err) && tries < 200; tries++ { // the files of the old one are still cleared away
		_, err = js.CreateStream(ctx, info.Config)
	}
	require.NoError(n.t, err)
	for _, m := range all {
		_, err := js.PublishMsg(ctx, m)
		require.NoError(n.t, err)
	}
}

// forgetsReaders is a node that no longer knows where those who follow the stream are.
func (n *node) forgetsReaders() {
	n.t.Helper()
	_, s := n.stream()
	names := s.ConsumerNames(n.t.Context())
	for name := range names.Name() {
		require.NoError(n.t, s.DeleteConsumer(n.t.Context(), name))
	}
	require.NoError(n.t, names.Err())
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
