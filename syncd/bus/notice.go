package bus

import "sync"

// noticesMost bounds what waits to be told.
const noticesMost = 1024

// crier tells notices one at a time and in order, so that whoever listens may
// take their time without holding up the exchange.
type crier struct {
	f    func(Notice)
	wake chan struct{}
	done chan struct{}

	mu    sync.Mutex
	queue []Notice
	ended bool
}

func newCrier(f func(Notice)) *crier {
	c := &crier{f: f, wake: make(chan struct{}, 1), done: make(chan struct{})}
	if f == nil {
		c.f = func(Notice) {}
	}
	go c.run()
	return c
}

func (c *crier) cry(n Notice) {
	c.mu.Lock()
	if !c.ended && len(c.queue) < noticesMost {
		c.queue = append(c.queue, n)
	}
	c.mu.Unlock()
	c.rouse()
}

func (c *crier) rouse() {
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

func (c *crier) run() {
	defer close(c.done)
	for range c.wake {
		c.mu.Lock()
		queue, ended := c.queue, c.ended
		c.queue = nil
		c.mu.Unlock()
		for _, n := range queue {
			c.f(n)
		}
		if ended {
			return
		}
	}
}

// stop tells what is left and ends.
func (c *crier) stop() {
	c.mu.Lock()
	c.ended = true
	c.mu.Unlock()
	c.rouse()
	<-c.done
}
