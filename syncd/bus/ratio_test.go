package bus_test

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"math/big"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

// copier serves bytes over TLS 1.3 to whoever calls, and nothing else.
func copier(b *testing.B, content []byte) (addr string) {
	pub, key, err := ed25519.GenerateKey(rand.Reader)
	require.NoError(b, err)
	now := time.Now()
	plain := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: now.Add(-time.Hour), NotAfter: now.Add(time.Hour)}
	cert, err := x509.CreateCertificate(rand.Reader, plain, plain, pub, key)
	require.NoError(b, err)
	ln, err := tls.Listen("tcp", "127.0.0.1:0", &tls.Config{
		Certificates: []tls.Certificate{{Certificate: [][]byte{cert}, PrivateKey: key}}, MinVersion: tls.VersionTLS13,
	})
	require.NoError(b, err)
	b.Cleanup(func() { _ = ln.Close() })
	go func() {
		for {
			c, err := ln.Accept()
			if err != nil {
				return
			}
			_, _ = c.Write(content)
			_ = c.Close()
		}
	}()
	return ln.Addr().String()
}

// copied fetches all that a copier has into a file, durably.
func copied(b *testing.B, addr string) int64 {
	c, err := tls.Dial("tcp", addr, &tls.Config{InsecureSkipVerify: true})
	require.NoError(b, err)
	defer c.Close()
	f, err := os.Create(filepath.Join(b.TempDir(), "copy"))
	require.NoError(b, err)
	defer f.Close()
	n, err := io.Copy(f, c)
	require.NoError(b, err)
	require.NoError(b, f.Sync())
	return n
}

// fetched is how long somebody who just joined takes until they hold all of a
// site: verified, folded in, and on disk.
func fetched(b *testing.B, job lodged.Job, from *bus.Bus, key events.Key, n int) time.Duration {
	addr := from.Addrs()[0]
	_, m, err := job.Join(b.TempDir(), fmt.Sprintf("Reader %d", n), invite.Meeting{Addr: addr, Key: key})
	require.NoError(b, err)
	defer func() { require.NoError(b, m.Close()) }()
	same := make(chan struct{}, 1)
	began := time.Now()
	there, err := bus.Open(b.Context(), m, bus.Options{Notice: func(x bus.Notice) {
		if x.Kind == bus.Same {
			select {
			case same <- struct{}{}:
			default:
			}
		}
	}})
	require.NoError(b, err)
	there.Call(addr)
	<-same
	took := time.Since(began)
	require.NoError(b, there.Close())
	require.GreaterOrEqual(b, m.Now().Entries, job.Count)
	return took
}

// serving is a member's bus, in this process.
func serving(b *testing.B, m *member.Member) (*bus.Bus, events.Key) {
	s, err := bus.Open(context.Background(), m, bus.Options{Listen: "127.0.0.1:0"})
	require.NoError(b, err)
	b.Cleanup(func() {
		require.NoError(b, s.Close())
		require.NoError(b, m.Close())
	})
	return s, events.KeyOf(m.BusKey().Public().(ed25519.PublicKey))
}

// BenchmarkRatioColdSync sets a newcomer's first sync of 20,000 entries, with two
// members at work in one process, beside a copy of the same bytes over TLS into a
// file that is synced once.
func BenchmarkRatioColdSync(b *testing.B) {
	job := lodged.Of(invent.History(1, 4, 20_000))
	home, err := job.In(b.TempDir(), "Ann")
	require.NoError(b, err)
	ann, err := home.Open("")
	require.NoError(b, err)
	from, key := serving(b, ann)
	var content []byte
	for _, v := range job.Lines {
		content = append(append(content, v.Line()...), '\n')
	}
	addr := copier(b, content)
	n := 0
	median := beside.Limit{
		Rounds: 5,
		Limit:  beside.Timed(func() { require.EqualValues(b, len(content), copied(b, addr)) }),
		Ours: func() time.Duration {
			n++
			return fetched(b, job, from, key, n)
		},
	}.Report(b)
	b.ReportMetric(float64(job.Count)/median.Seconds(), "events/s")
}
