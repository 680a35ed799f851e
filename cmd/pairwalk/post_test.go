package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"slices"
	"sync"

	"github.com/stretchr/testify/require"
)

// post is a serving process that is followed by the lines it prints for programs.
type post struct {
	desk *desk
	name string
	addr string // where it is called, if it is
	cmd  *exec.Cmd
	errs bytes.Buffer
	done chan struct{}

	mu    sync.Mutex
	more  *sync.Cond
	lines []postLine
	over  bool
}

// postLine is a line of serve --json, as far as tests look at it.
type postLine struct {
	Kind    string
	Member  string
	Entries int
	Words   string
	Addrs   []string
}

// posts starts a serving process by start, which may do so elsewhere than here,
// and returns once it is ready.
func (d *desk) posts(name string, start func(*exec.Cmd) error, args ...string) *post {
	p := &post{desk: d, name: name, done: make(chan struct{})}
	p.more = sync.NewCond(&p.mu)
	p.cmd = d.command(context.Background(), name, append([]string{"--json", "serve", "--page", "none"}, args...)...)
	p.cmd.Stderr = &p.errs
	out, err := p.cmd.StdoutPipe()
	require.NoError(d.t, err)
	require.NoError(d.t, start(p.cmd))
	go func() {
		defer close(p.done)
		for lines := json.NewDecoder(out); ; {
			var l postLine
			err := lines.Decode(&l)
			p.mu.Lock()
			if p.over = err != nil; err == nil {
				p.lines = append(p.lines, l)
			}
			p.more.Broadcast()
			p.mu.Unlock()
			if err != nil {
				break
			}
		}
		_ = p.cmd.Wait()
	}()
	d.t.Cleanup(p.stop)
	if addrs := p.await("serving", 1).Addrs; len(addrs) > 0 {
		p.addr = addrs[0]
	}
	return p
}

// here starts a process in the ordinary way.
func here(c *exec.Cmd) error { return c.Start() }

// await returns the n-th line of a kind, once it is there.
func (p *post) await(kind string, n int) postLine {
	p.desk.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for seen, i := 0, 0; ; i++ {
		for i == len(p.lines) && !p.over {
			p.more.Wait()
		}
		require.Less(p.desk.t, i, len(p.lines), "%s's process ended before it said %q for the %d. time; it said %v", p.name, kind, n, p.lines)
		if p.lines[i].Kind == kind {
			if seen++; seen == n {
				return p.lines[i]
			}
		}
	}
}

// missesWhoWasHere waits until it has said that the other left; whom it had not heard
// of yet when the line broke can't leave.
func (p *post) missesWhoWasHere() {
	p.desk.t.Helper()
	if p.said("here") > 0 {
		p.await("left", 1)
	}
}

// said is how often it has said a line of that kind so far.
func (p *post) said(kind string) (n int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, l := range p.lines {
		if l.Kind == kind {
			n++
		}
	}
	return n
}

// all is everything it has said so far.
func (p *post) all() []postLine {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.lines)
}

func (p *post) stop() {
	_ = p.cmd.Process.Signal(os.Interrupt)
	<-p.done
}
