package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"sync"
)

// Commands are handed to a serving process over a local socket as frames: one
// byte of kind, four bytes of length (big-endian), and so many bytes.
//
// The caller begins with frameCall, a [call] as JSON. The server answers
// frameTaken, frameRefused (words for the user) or frameNotHere (the site is not
// the one it serves, or it is about to end: do without it). After frameTaken it
// sends what the command prints, in order, and frameExit last, with the exit code
// as one byte.
//
// Meanwhile the server may ask for what only the caller can reach, one question
// at a time: frameAsk, an [ask] as JSON. The caller answers each with frameData,
// frameDone or frameFailed (words). It may send frameStop at any time: the user
// interrupts. A closed connection says the same.
const (
	frameCall    = 'c'
	frameTaken   = 't'
	frameRefused = 'r'
	frameNotHere = 'n'
	frameStdout  = 'o'
	frameStderr  = 'e'
	frameExit    = 'x'
	frameAsk     = 'a'
	frameData    = 'd'
	frameDone    = 'k'
	frameFailed  = 'f'
	frameStop    = 's'
)

const (
	callMost  = 2 << 20  // bytes of a call: the longest argument list there is
	frameMost = 64 << 10 // bytes of any other frame
)

// errGarbled means that whatever is at the other end does not speak these frames.
var errGarbled = errors.New("what came over the local socket is not from this version of pairwalk")

type frame struct {
	kind byte
	body []byte
}

// readFrame reads one frame of at most that many bytes.
func readFrame(r io.Reader, most int) (frame, error) {
	var head [5]byte
	if _, err := io.ReadFull(r, head[:]); err != nil {
		return frame{}, err
	}
	n := binary.BigEndian.Uint32(head[1:])
	if uint64(n) > uint64(most) {
		return frame{}, errGarbled
	}
	f := frame{head[0], make([]byte, n)}
	if _, err := io.ReadFull(r, f.body); err != nil {
		return frame{}, fmt.Errorf("%w: it broke off", errGarbled)
	}
	return f, nil
}

// frames writes frames, whole, from many goroutines.
type frames struct {
	mu sync.Mutex
	to io.Writer
}

func (w *frames) send(kind byte, body []byte) error {
	b := make([]byte, 5, 5+len(body))
	b[0] = kind
	binary.BigEndian.PutUint32(b[1:], uint32(len(body)))
	w.mu.Lock()
	defer w.mu.Unlock()
	_, err := w.to.Write(append(b, body...))
	return err
}

// stream is one of the outputs of a command that runs elsewhere.
type stream struct {
	to   *frames
	kind byte
}

func (s stream) Write(b []byte) (int, error) {
	n := 0
	for n < len(b) {
		part := b[n:min(len(b), n+frameMost)]
		if err := s.to.send(s.kind, part); err != nil {
			return n, err
		}
		n += len(part)
	}
	return n, nil
}
