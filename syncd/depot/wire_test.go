package depot

import (
	"bufio"
	"io"
	"net"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// wire is a way to the node that can swallow what the node says, and what it is asked.
type wire struct {
	t    testing.TB
	l    net.Listener
	to   string
	work sync.WaitGroup

	mu     sync.Mutex
	deaf   bool
	losing bool   // the next consumer that is asked for
	lost   string // its name
	conns  []net.Conn
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
		w.work.Go(func() { w.carry(out, bufio.NewReader(in)); _ = out.Close() })
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

// loseOne has the next consumer that is asked for be on a server that does not answer.
func (w *wire) loseOne() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.losing = true
}

// findAgain has that server answer from now on, and says whether it was asked before.
func (w *wire) findAgain() (asked bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	asked = w.lost != ""
	w.losing, w.lost = false, ""
	return asked
}

// carry takes what a client says to the node, but for what it asks of a consumer that
// is lost.
func (w *wire) carry(out io.Writer, in *bufio.Reader) {
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			return
		}
		message := []byte(line)
		words := strings.Fields(line)
		if len(words) > 2 && (words[0] == "PUB" || words[0] == "HPUB") {
			n, err := strconv.Atoi(words[len(words)-1])
			if err != nil {
				return
			}
			body := make([]byte, n+len("\r\n"))
			if _, err := io.ReadFull(in, body); err != nil {
				return
			}
			if w.loses(words[1]) {
				continue
			}
			message = append(message, body...)
		}
		if _, err := out.Write(message); err != nil {
			return
		}
	}
}

// loses says whether a request never arrives, by its subject.
func (w *wire) loses(subject string) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	named, asked := strings.CutPrefix(subject, "$JS.API.CONSUMER.CREATE."+streamName+".")
	if asked && w.losing {
		w.lost, _, _ = strings.Cut(named, ".")
		w.losing = false
	}
	return w.lost != "" && strings.Contains(subject, "."+w.lost)
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
