package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
)

// place is a home with one practice site, and a way to call commands on it.
type place struct {
	t   *testing.T
	dir string
}

func newPlace(t *testing.T) *place {
	p := &place{t, t.TempDir()}
	code, _, complaint := p.call(t.Context(), nil, "init", "Kiln", "--as", "Ann", "--practice")
	require.Equal(t, exitDone, code, complaint)
	return p
}

func (p *place) call(ctx context.Context, stdin io.Reader, args ...string) (code int, said, complaint string) {
	var out, errs bytes.Buffer
	s := process()
	s.stdin, s.stdout, s.stderr = stdin, &out, &errs
	s.env = func(string) string { return "" }
	code = run(ctx, append([]string{"--home", p.dir}, args...), s)
	return code, out.String(), errs.String()
}

func (p *place) folder() string {
	folders, err := filepath.Glob(filepath.Join(p.dir, "sites", "*"))
	require.NoError(p.t, err)
	require.Len(p.t, folders, 1)
	return folders[0]
}

// served holds the site as a serving process does, without a network.
func (p *place) served() *door {
	a := &app{surroundings: process(), ctx: p.t.Context(), cli: &cli{Home: p.dir}}
	a.world.Now = deviceStamp
	h, err := a.home()
	require.NoError(p.t, err)
	m, err := h.Open("")
	require.NoError(p.t, err)
	d, err := openDoor(&host{m: m, world: a.world}, p.folder())
	require.NoError(p.t, err)
	p.t.Cleanup(func() { require.NoError(p.t, errors.Join(d.close(), m.Close())) })
	return d
}

// posed puts somebody else in the serving process's place, while the site is
// locked: it reads the call and says what play has it say.
func (p *place) posed(play func(conn net.Conn, c call)) {
	lock, err := journal.Dir(p.folder()).Lock("lock")
	require.NoError(p.t, err)
	dir, err := os.MkdirTemp("", "pw") // t.TempDir is too long a path for a socket
	require.NoError(p.t, err)
	addr := filepath.Join(dir, "s")
	ln, err := net.Listen("unix", addr)
	require.NoError(p.t, err)
	require.NoError(p.t, os.WriteFile(filepath.Join(p.folder(), servingFile), []byte(addr), 0o600))
	p.t.Cleanup(func() {
		require.NoError(p.t, errors.Join(ln.Close(), os.RemoveAll(dir), lock.Close()))
	})
	go func() {
		for {
			conn, err := ln.Accept()
			if err != nil {
				return
			}
			f, err := readFrame(conn, callMost)
			var c call
			if err == nil && json.Unmarshal(f.body, &c) == nil {
				play(conn, c)
			}
			conn.Close()
		}
	}()
}

// TestInterruptCrossesTheSocket: what waits for its caller's input ends when the
// user interrupts, says so, and records nothing.
func TestInterruptCrossesTheSocket(t *testing.T) {
	p := newPlace(t)
	p.served()
	ctx, interrupt := context.WithCancel(t.Context())
	stdin, typing := io.Pipe()
	defer typing.Close()
	go func() {
		_, _ = typing.Write([]byte("tag,kind,hub\n1-1,dimmer,H1\n")) // taken: the command reads over there
		interrupt()
	}()
	code, said, complaint := p.call(ctx, stdin, "import", "-")
	require.Equal(t, exitFailed, code)
	require.Empty(t, said)
	require.Equal(t, "pairwalk: standard input: interrupted\n", complaint)
	_, said, _ = p.call(t.Context(), nil, "history")
	require.NotContains(t, said, "1-1")
}

// TestOutputThatIsLostOverThere is the caller's failure, as it is without serve.
func TestOutputThatIsLostOverThere(t *testing.T) {
	p := newPlace(t)
	p.served()
	var errs bytes.Buffer
	s := process()
	s.stdout, s.stderr = full{}, &errs
	s.env = func(string) string { return "" }
	require.Equal(t, exitFailed, run(t.Context(), []string{"--home", p.dir, "status"}, s))
	require.Equal(t, "pairwalk: what was printed did not get through: no space left; what was recorded before that stands\n", errs.String())
}

// TestArgumentsNeedNotBeText: they arrive as the bytes they are.
func TestArgumentsNeedNotBeText(t *testing.T) {
	a := &app{surroundings: process(), args: []string{"import", "b\xfcro.csv", ""}}
	body, err := json.Marshal(a.asCall("/a folder"))
	require.NoError(t, err)
	var c call
	require.NoError(t, json.Unmarshal(body, &c))
	require.Equal(t, a.args, c.args())
}

// TestServerThatLies says what a command makes of whoever answers in the serving
// process's place.
func TestServerThatLies(t *testing.T) {
	send := func(kind byte, body string) func(net.Conn, call) {
		return func(c net.Conn, _ call) { _ = (&frames{to: c}).send(kind, []byte(body)) }
	}
	taken := func(more func(net.Conn, call)) func(net.Conn, call) {
		return func(c net.Conn, x call) {
			send(frameTaken, "")(c, x)
			more(c, x)
		}
	}
	huge := func(c net.Conn, _ call) {
		_, _ = c.Write(binary.BigEndian.AppendUint32([]byte{frameStdout}, 1<<31))
	}
	const wrong = "is not from this version of pairwalk; stop the pairwalk serve"
	for name, row := range map[string]struct {
		play func(net.Conn, call)
		says string
	}{
		"refuses":              {send(frameRefused, "not today"), "pairwalk: not today\n"},
		"speaks otherwise":     {func(c net.Conn, _ call) { _, _ = io.WriteString(c, "HTTP/1.1 400 Bad") }, wrong},
		"another frame":        {send(frameStdout, "hello"), wrong},
		"ends in the middle":   {taken(func(net.Conn, call) {}), "ended before this was done"},
		"breaks off a frame":   {taken(func(c net.Conn, _ call) { _, _ = c.Write([]byte{frameStdout, 0, 0, 0, 9, 'x'}) }), "it broke off; stop the pairwalk serve"},
		"a frame without end":  {taken(huge), wrong},
		"an unknown frame":     {taken(send('?', "")), wrong},
		"a code of two bytes":  {taken(send(frameExit, "12")), wrong},
		"a question not JSON":  {taken(send(frameAsk, "{")), wrong},
		"exits without a word": {taken(send(frameExit, "\x01")), ""},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPlace(t)
			p.posed(row.play)
			code, said, complaint := p.call(t.Context(), nil, "status")
			require.Equal(t, exitFailed, code)
			require.Empty(t, said)
			require.Contains(t, complaint, row.says)
			require.Equal(t, row.says == "", complaint == "")
		})
	}
}

// TestServerThatDiesWhileWriting leaves no half of a file behind.
func TestServerThatDiesWhileWriting(t *testing.T) {
	p := newPlace(t)
	target := filepath.Join(t.TempDir(), "site.pairwalk")
	p.posed(func(conn net.Conn, _ call) {
		out := &frames{to: conn}
		_ = out.send(frameTaken, nil)
		there := newCaller(out)
		go there.hear(conn, func() {})
		d, err := there.create(target, false)
		if err == nil {
			_, _ = d.Write(make([]byte, 100<<10))
		}
	})
	code, _, complaint := p.call(t.Context(), nil, "bundle", "out", target)
	require.Equal(t, exitFailed, code)
	require.Contains(t, complaint, "ended before this was done")
	left, err := os.ReadDir(filepath.Dir(target))
	require.NoError(t, err)
	require.Empty(t, left)
}

// TestDoorJudgesWhoCalls: another build is told so, and the owner of a copied
// folder is left to do without.
func TestDoorJudgesWhoCalls(t *testing.T) {
	p := newPlace(t)
	d := p.served()
	good := call{V: callVersion, Build: build(), Folder: []byte(p.folder()), Args: [][]byte{[]byte("status")}}
	for name, row := range map[string]struct {
		change func(*call)
		kind   byte
	}{
		"as it should be": {func(*call) {}, frameTaken},
		"another version": {func(c *call) { c.V++ }, frameRefused},
		"another build":   {func(c *call) { c.Build += " modified" }, frameRefused},
		"another folder":  {func(c *call) { c.Folder = []byte(t.TempDir()) }, frameNotHere},
		"no such folder":  {func(c *call) { c.Folder = []byte(filepath.Join(p.dir, "none")) }, frameNotHere},
		"another clock":   {func(c *call) { c.Env = map[string]string{"PAIRWALK_CLOCK": "+3m"} }, frameRefused},
	} {
		t.Run(name, func(t *testing.T) {
			c := good
			row.change(&c)
			body, err := json.Marshal(c)
			require.NoError(t, err)
			_, kind, _ := d.judge(frame{frameCall, body})
			require.Equal(t, string(row.kind), string(kind))
		})
	}
}

// TestCallerThatIsGone ends what it called: its context, and whatever waits for an
// answer.
func TestCallerThatIsGone(t *testing.T) {
	for name, row := range map[string]struct {
		says   []byte
		unread int // bytes that nobody listens to any more
	}{
		"hung up":           {nil, 0},
		"broke off":         {[]byte{frameData, 0, 0, 0, 9, 'x'}, 0},
		"an answer unasked": {bytes.Repeat(doneFrame(), 3), 5}, // the first is kept for a question on its way
		"not a frame":       {[]byte("GET / HTTP/1.1\r\n\r\n"), 13},
		"another frame":     {append([]byte{frameStdout, 0, 0, 0, 0}, doneFrame()...), 5},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			c, from := newCaller(&frames{to: io.Discard}), bytes.NewReader(row.says)
			c.hear(from, cancel)
			require.Error(t, ctx.Err())
			require.Equal(t, row.unread, from.Len())
			select {
			case <-c.answers:
			default:
			}
			_, err := c.open("list.csv")
			require.ErrorIs(t, err, errGone)
		})
	}
}

// TestCallerThatInterrupts stops what it called, and stays to hear the end of it.
func TestCallerThatInterrupts(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	r, w := io.Pipe()
	defer w.Close()
	c := newCaller(&frames{to: io.Discard})
	go c.hear(r, cancel)
	_, err := w.Write([]byte{frameStop, 0, 0, 0, 0})
	require.NoError(t, err)
	<-ctx.Done()
	_, err = w.Write(doneFrame()) // it is still heard
	require.NoError(t, err)
	select {
	case <-c.gone:
		t.Fatal("the caller was given up")
	case f := <-c.answers:
		require.Equal(t, string(rune(frameDone)), string(f.kind))
	}
}

func doneFrame() []byte { return []byte{frameDone, 0, 0, 0, 0} }

// TestDoorIsPrivate: nobody else can come in, and nothing is left behind.
func TestDoorIsPrivate(t *testing.T) {
	p := newPlace(t)
	sign := filepath.Join(p.folder(), servingFile)
	var room string
	t.Run("while it serves", func(t *testing.T) {
		(&place{t, p.dir}).served()
		addr, err := os.ReadFile(sign)
		require.NoError(t, err)
		room = filepath.Dir(strings.TrimSpace(string(addr)))
		for name, want := range map[string]os.FileMode{sign: 0o600, room: 0o700} {
			info, err := os.Stat(name)
			require.NoError(t, err)
			require.Equal(t, want, info.Mode().Perm(), name)
		}
	})
	require.NoFileExists(t, sign)
	require.NoDirExists(t, room)
}

// FuzzReadFrame reads any bytes: within bounds, and what is read writes back.
func FuzzReadFrame(f *testing.F) {
	f.Add([]byte{frameExit, 0, 0, 0, 1, 0})
	f.Add([]byte{frameStdout, 0xff, 0xff, 0xff, 0xff})
	f.Add([]byte{frameCall, 0, 0, 0, 2, '{'})
	f.Add([]byte("GET / HTTP/1.1\r\n\r\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		got, err := readFrame(bytes.NewReader(b), 16)
		if err != nil {
			return
		}
		require.LessOrEqual(t, len(got.body), 16)
		var again bytes.Buffer
		require.NoError(t, (&frames{to: &again}).send(got.kind, got.body))
		require.True(t, bytes.HasPrefix(b, again.Bytes()))
	})
}
