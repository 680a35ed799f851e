package cable

import (
	"net"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Fate is what befalls a connection.
type Fate int

const (
	Nothing Fate = iota
	Severed      // both ends learn at once that it is gone
	Stalled      // nothing passes any more, and nobody is told
	Flipped      // one bit is another than was sent
)

// Weather is how a connection fares.
type Weather struct {
	After int64         // bytes that come back from the server before Then befalls it
	Then  Fate          //
	Piece int           // at most so many bytes are passed on at a time; 0: as they come
	Delay time.Duration // what comes back takes so much longer for each piece
}

// Cable is a way to a server.
type Cable struct {
	Addr   string       // where to call
	Struck chan Fate    // one for each connection that Weather struck
	to     string       // the server
	back   atomic.Int64 // bytes that came back over all connections

	mu      sync.Mutex
	whole   chan struct{} // closed while it is
	coming  []Weather
	carried map[net.Conn]bool
	calls   int
}

// Lay lays a cable to a server. The connections ahead have the weather given, in
// order, and those after them a fair one.
func Lay(t testing.TB, to string, ahead ...Weather) *Cable {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	c := &Cable{
		Addr: l.Addr().String(), to: to, Struck: make(chan Fate, len(ahead)),
		whole: make(chan struct{}), coming: ahead, carried: map[net.Conn]bool{},
	}
	close(c.whole)
	var work sync.WaitGroup
	work.Go(func() { c.answer(l, &work) })
	t.Cleanup(func() { // after both ends have closed
		l.Close()
		c.Mend()
		c.Sever()
		work.Wait()
	})
	return c
}

func (c *Cable) answer(l net.Listener, work *sync.WaitGroup) {
	for {
		near, err := l.Accept()
		if err != nil {
			return
		}
		far, err := net.Dial("tcp", c.to)
		if err != nil {
			near.Close()
			continue
		}
		w := c.taken(near, far)
		over := make(chan struct{}) // closed when either end hangs up
		var once sync.Once
		end := func() { once.Do(func() { close(over); near.Close(); far.Close(); c.gone(near, far) }) }
		work.Go(func() { defer end(); c.carry(near, far, Weather{}, over, nil) })
		work.Go(func() { defer end(); c.carry(far, near, w, over, &c.back) })
	}
}

// taken is the weather of a connection that was just made.
func (c *Cable) taken(ends ...net.Conn) (w Weather) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, e := range ends {
		c.carried[e] = true
	}
	c.calls++
	if len(c.coming) > 0 {
		w, c.coming = c.coming[0], c.coming[1:]
	}
	return w
}

func (c *Cable) gone(ends ...net.Conn) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, e := range ends {
		delete(c.carried, e)
	}
}

// carry carries one direction until an end hangs up or fate strikes.
func (c *Cable) carry(from, to net.Conn, w Weather, over <-chan struct{}, count *atomic.Int64) {
	size := 64 << 10
	if w.Piece > 0 {
		size = w.Piece
	}
	piece := make([]byte, size)
	left := w.After
	for {
		n, err := from.Read(piece)
		b := piece[:n]
		c.passes()
		if w.Delay > 0 {
			time.Sleep(w.Delay) // this is the link, not a test that waits
		}
		strikes := w.Then != Nothing && int64(n) >= left && n > 0
		if strikes {
			b = b[:left]
		}
		if strikes && w.Then == Flipped {
			b = piece[:n]
			b[max(left-1, 0)] ^= 0x10
		}
		_, bad := to.Write(b)
		left -= int64(len(b))
		if count != nil {
			count.Add(int64(len(b)))
		}
		if strikes {
			fate := w.Then
			w.Then = Nothing
			c.Struck <- fate
			if fate == Severed {
				return
			}
			if fate == Stalled {
				<-over
			}
		}
		if err != nil || bad != nil {
			return
		}
	}
}

// passes returns once the cable is whole.
func (c *Cable) passes() {
	c.mu.Lock()
	whole := c.whole
	c.mu.Unlock()
	<-whole
}

// Cut lets nothing pass from now on, not even that somebody hung up, and nobody
// is told.
func (c *Cable) Cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.whole = make(chan struct{})
}

// Mend undoes Cut: what was on its way arrives.
func (c *Cable) Mend() {
	c.mu.Lock()
	defer c.mu.Unlock()
	select {
	case <-c.whole:
	default:
		close(c.whole)
	}
}

// Sever ends all connections, as a device does that resets its network.
func (c *Cable) Sever() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for conn := range c.carried {
		conn.Close()
	}
}

// Back is how many bytes came back from the server, over all connections.
func (c *Cable) Back() int { return int(c.back.Load()) }

// Calls is how often a connection was made.
func (c *Cable) Calls() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.calls
}
