package main

import (
	"crypto/tls"
	"crypto/x509"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/stretchr/testify/require"
)

// requireDoors holds the servers to whom they let in and what each may do. The
// streams are there and hold something.
func requireDoors(t testing.TB, c *cluster) {
	url := "tls://" + c.nodes[2].client
	ca, err := os.ReadFile(filepath.Join(c.creds, "relay-1", "ca.pem"))
	require.NoError(t, err)
	pool := x509.NewCertPool()
	require.True(t, pool.AppendCertsFromPEM(ca))
	safe := nats.Secure(&tls.Config{RootCAs: pool})
	key := func(folder string) nats.Option {
		o, err := nats.NkeyOptionFromSeed(filepath.Join(c.creds, folder, "user.nk"))
		require.NoError(t, err)
		return o
	}
	other := filepath.Join(t.TempDir(), "others")
	c.credentials(other)
	stranger, err := nats.NkeyOptionFromSeed(filepath.Join(other, "relay-1", "user.nk"))
	require.NoError(t, err)
	for name, settings := range map[string][]nats.Option{
		"without a key":              {safe},
		"with another cluster's key": {safe, stranger},
		"without trusting it":        {key("relay-1")},
		"with a password":            {safe, nats.UserInfo("relay", "relay")},
	} {
		nc, err := nats.Connect(url, settings...)
		require.Error(t, err, name)
		require.Nil(t, nc, name)
	}

	refused := make(chan error, 16)
	nc, err := nats.Connect(url, safe, key("relay-2"), nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { refused <- err }))
	require.NoError(t, err)
	defer nc.Close()
	asks := func(subject string) string {
		r, err := nc.Request(subject, nil, 5*time.Second)
		require.NoError(t, err)
		return string(r.Data)
	}
	require.Contains(t, asks("$JS.API.STREAM.INFO.PAIRWALK"), `"name":"PAIRWALK"`)
	for _, forbidden := range []string{
		"$JS.API.STREAM.DELETE.PAIRWALK", "$JS.API.STREAM.PURGE.PAIRWALK", "$JS.API.STREAM.MSG.DELETE.PAIRWALK", "$JS.API.STREAM.UPDATE.PAIRWALK",
		"$JS.API.STREAM.CREATE.OTHER", "$JS.API.STREAM.SNAPSHOT.PAIRWALK", "$JS.API.STREAM.NAMES", "$SYS.REQ.SERVER.PING",
	} {
		require.NoError(t, nc.PublishRequest(forbidden, nats.NewInbox(), nil))
		require.NoError(t, nc.Flush())
		select {
		case err := <-refused:
			require.ErrorIs(t, err, nats.ErrPermissionViolation)
			require.Contains(t, err.Error(), forbidden)
		case <-time.After(10 * time.Second):
			t.Fatalf("a relay may %s", forbidden)
		}
	}
	require.Contains(t, asks("$JS.API.STREAM.INFO.PAIRWALK"), `"deny_delete":true`)

	keeper, err := nats.Connect(url, safe, key("keeper"))
	require.NoError(t, err)
	defer keeper.Close()
	r, err := keeper.Request("$JS.API.STREAM.PURGE.PAIRWALK", nil, 5*time.Second)
	require.NoError(t, err)
	require.True(t, strings.Contains(string(r.Data), `"error"`), "not even the keeper empties the stream: %s", r.Data)
}
