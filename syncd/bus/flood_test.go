package bus

import (
	"fmt"
	"runtime"
	"sync"
	"testing"

	"github.com/nats-io/nats.go"
	"github.com/stretchr/testify/require"
)

// Who floods waits behind itself. The others get entries through meanwhile and do
// not lose each other, and nothing piles up. Small messages come as fast as the
// server takes them in, large ones without any pause: what is promised ends where
// a device cannot even throw away as fast as the server hands on, and under the
// race detector that is soon.
func TestFlood(t *testing.T) {
	for name, c := range map[string]struct {
		bytes, well int // of each message; how many until it is a flood
		small       bool
	}{
		"small": {1, 10_000, true},
		"large": {newsMost, 300, false},
	} {
		t.Run(name, func(t *testing.T) {
			patient := brisk
			patient.answer = usual.answer
			m := meets(t, patient)
			before := runtime.NumGoroutine()
			stop := m.floods(make([]byte, c.bytes), c.small)
			taken := func() int { return int(counts(t, m.a.hub)[1]) }
			m.a.until("it is a flood", func() bool { return taken() > c.well })
			for range 3 {
				m.unharmed()
			}
			require.Less(t, runtime.NumGoroutine(), before+50)
			amid := taken()
			m.a.until("it still floods", func() bool { return taken() > amid })
			stop()
			require.Zero(t, m.a.count(Left, m.b.id()))
			require.Zero(t, m.b.count(Left, m.a.id()))
			require.Zero(t, m.b.count(Down, m.a.id()))
		})
	}
}

// floods has the imp ask Ann and Ben and tell everybody, from several goroutines.
// Errors are the imp's own trouble.
func (m meeting) floods(piece []byte, small bool) (stop func()) {
	end := make(chan struct{})
	var work sync.WaitGroup
	for g := range 2 {
		work.Go(func() {
			for n := g; ; n++ {
				select {
				case <-end:
					return
				default:
				}
				for _, d := range []*desk{m.a, m.b} {
					_ = m.imp.PublishMsg(&nats.Msg{
						Subject: request(d.id(), m.kim.id(), asked[n%len(asked)]),
						Reply:   inbox(m.kim.id(), d.id(), fmt.Sprint(n)), Data: piece,
					})
				}
				if small && n%50 != 0 {
					continue
				}
				_ = m.imp.Publish(toAll(sayChanged, m.kim.id()), piece)
				_ = m.imp.Publish(toAll(sayHere, m.kim.id()), nil)
				if small {
					_ = m.imp.Flush()
				}
			}
		})
	}
	return func() { close(end); work.Wait() }
}
