package main

import (
	"encoding/json"
	"errors"
	"io"
	"sync"
)

// ask is a question for what only the caller of a command that was passed on can reach.
// The answer is done or failed, and data for stdin and read; done after those
// means their end.
type ask struct {
	Op    string `json:"op"`             // stdin; open, read, shut; create, write, keep, drop; shelve, begin
	File  int    `json:"file,omitempty"` // numbered by who asks
	Name  []byte `json:"name,omitempty"` // bytes: it need not be text
	Force bool   `json:"force,omitempty"`
	Most  int    `json:"most,omitempty"` // bytes that are wanted at most
	Data  []byte `json:"data,omitempty"`
}

const askMost = 32 << 10 // bytes of data in one ask, which JSON makes a third longer

// errGone means that the caller is not there any more.
var errGone = errors.New("whoever called this command is gone")

// caller is the process that passed a command on: its standard input and its
// files.
type caller struct {
	to      *frames
	answers chan frame
	gone    chan struct{}

	mu   sync.Mutex // one question at a time
	last int        // the newest file's number
}

func newCaller(to *frames) *caller {
	return &caller{to: to, answers: make(chan frame, 1), gone: make(chan struct{})}
}

// hear takes in what the caller sends until it is gone or talks nonsense.
func (c *caller) hear(from io.Reader, stop func()) {
	defer close(c.gone)
	defer stop()
	for {
		f, err := readFrame(from, frameMost)
		if err != nil {
			return
		}
		switch f.kind {
		case frameStop:
			stop()
		case frameData, frameDone, frameFailed:
			select {
			case c.answers <- f:
			default: // nobody asked
				return
			}
		default:
			return
		}
	}
}

// ask puts a question and waits for its answer.
func (c *caller) ask(q ask) (frame, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.put(q)
}

func (c *caller) put(q ask) (frame, error) {
	body, err := json.Marshal(q)
	if err != nil {
		return frame{}, err
	}
	if err := c.to.send(frameAsk, body); err != nil {
		return frame{}, errGone
	}
	select {
	case f := <-c.answers:
		if f.kind == frameFailed {
			return f, errors.New(string(f.body))
		}
		return f, nil
	case <-c.gone:
		return frame{}, errGone
	}
}

// begin asks for a file and numbers it.
func (c *caller) begin(q ask) (callerFile, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last++
	q.File = c.last
	_, err := c.put(q)
	return callerFile{c, "read", q.File}, err
}

func (c *caller) stdin() io.Reader { return callerFile{c, "stdin", 0} }

func (c *caller) open(name string) (io.ReadCloser, error) {
	f, err := c.begin(ask{Op: "open", Name: []byte(name)})
	if err != nil {
		return nil, err
	}
	return f, nil
}

func (c *caller) create(name string, force bool) (draft, error) {
	f, err := c.begin(ask{Op: "create", Name: []byte(name), Force: force})
	if err != nil {
		return nil, err
	}
	return f, nil
}

func (c *caller) shelve(name string, force bool) (shelf, error) {
	f, err := c.begin(ask{Op: "shelve", Name: []byte(name), Force: force})
	if err != nil {
		return nil, err
	}
	return callerShelf{f}, nil
}

// callerShelf is a folder that the caller fills. It is numbered like a file.
type callerShelf struct{ callerFile }

func (s callerShelf) begin(name string) error {
	_, err := s.of.ask(ask{Op: "begin", File: s.file, Name: []byte(name)})
	return err
}

// callerFile is a file that the caller has open.
type callerFile struct {
	of   *caller
	read string // how to ask for more of it
	file int
}

func (f callerFile) Read(b []byte) (int, error) {
	got, err := f.of.ask(ask{Op: f.read, File: f.file, Most: len(b)})
	switch {
	case err != nil:
		return 0, err
	case got.kind == frameDone:
		return 0, io.EOF
	case len(got.body) > len(b):
		return 0, errGarbled
	}
	return copy(b, got.body), nil
}

func (f callerFile) Write(b []byte) (int, error) {
	n := 0
	for n < len(b) {
		part := b[n:min(len(b), n+askMost)]
		if _, err := f.of.ask(ask{Op: "write", File: f.file, Data: part}); err != nil {
			return n, err
		}
		n += len(part)
	}
	return n, nil
}

func (f callerFile) Close() error {
	_, err := f.of.ask(ask{Op: "shut", File: f.file})
	return err
}

func (f callerFile) keep() error {
	_, err := f.of.ask(ask{Op: "keep", File: f.file})
	return err
}

func (f callerFile) drop() { _, _ = f.of.ask(ask{Op: "drop", File: f.file}) }
