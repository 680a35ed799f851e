package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	mathrand "math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/syncd"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// These tests run the command in processes of its own, and kill them.

// desk is a made-up practice site with a lead, in folders on disk.
type desk struct {
	t    testing.TB
	dir  string
	ann  *member.Member
	opts member.World
}

func newDesk(t testing.TB) *desk {
	d := &desk{t: t, dir: t.TempDir(), opts: member.World{Now: deviceStamp, Rand: rand.Reader}}
	m, _, err := d.home("ann").Init(context.Background(), member.Opening{Name: "Kiln", Person: "Ann", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	d.ann = m
	return d
}

func (d *desk) folder(name string) string { return filepath.Join(d.dir, name) }

func (d *desk) home(name string) *member.Home {
	require.NoError(d.t, os.MkdirAll(d.folder(name), 0o700))
	return member.NewHome(journal.Dir(d.folder(name)), d.opts)
}

// joins lets somebody join by an invite, and meet nobody yet.
func (d *desk) joins(name string) *member.Member {
	token, err := d.ann.Invite(events.Tech, time.Hour, "")
	require.NoError(d.t, err)
	token, err = invite.Parse(token.String())
	require.NoError(d.t, err)
	m, err := d.home(strings.ToLower(name)).Join(context.Background(), token, name, "")
	require.NoError(d.t, err)
	return m
}

// writes logs n notes of about so many bytes.
func (d *desk) writes(m *member.Member, n, size int) {
	text := strings.Repeat("x", size)
	for n > 0 {
		var batch []member.Entry
		for range min(n, 500) {
			batch = append(batch, member.Entry{Payload: events.NoteAdded{Of: events.Hub("H1"), Text: fmt.Sprintf("%s %d", text, n)}})
			n--
		}
		_, err := m.Record(context.Background(), batch...)
		require.NoError(d.t, err)
	}
}

// command is a pairwalk process for somebody's home.
func (d *desk) command(ctx context.Context, name string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, "pairwalk", append([]string{"--home", d.folder(name)}, args...)...)
	c.Env = append(os.Environ(), "TZ=UTC")
	return c
}

func (d *desk) run(name string, args ...string) string {
	c := d.command(context.Background(), name, args...)
	var complaint bytes.Buffer
	c.Stderr = &complaint
	out, err := c.Output()
	require.NoError(d.t, err, "%s%s", complaint.String(), out)
	return string(out)
}

// serving is a serve process that said it is ready.
type serving struct {
	cmd  *exec.Cmd
	addr string
	done chan struct{}
}

func (d *desk) serves(name, addr string) *serving {
	s := &serving{cmd: d.command(context.Background(), name, "serve", "--listen", addr), addr: addr, done: make(chan struct{})}
	out, err := s.cmd.StdoutPipe()
	require.NoError(d.t, err)
	var complaint bytes.Buffer
	s.cmd.Stderr = &complaint
	require.NoError(d.t, s.cmd.Start())
	lines := bufio.NewScanner(out)
	ready := false
	for !ready && lines.Scan() {
		ready = strings.Contains(lines.Text(), addr)
	}
	require.True(d.t, ready, "serve ended before it was ready: %s", &complaint)
	go func() {
		defer close(s.done)
		for lines.Scan() {
		}
		_ = s.cmd.Wait()
	}()
	return s
}

func (s *serving) kill() {
	_ = s.cmd.Process.Kill()
	<-s.done
}

func (s *serving) stop() {
	_ = s.cmd.Process.Signal(os.Interrupt)
	<-s.done
}

// counting is a member that counts what passes, and says when so many more bytes
// have.
type counting struct {
	*member.Member
	mu     sync.Mutex
	bytes  int
	target int
	hit    chan struct{}
}

func (c *counting) passed(b []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.bytes += len(b)
	if c.target > 0 && c.bytes >= c.target {
		c.target = 0
		c.hit <- struct{}{}
	}
}

// after gives a signal once n more bytes of lines have passed.
func (c *counting) after(n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.hit, c.target = make(chan struct{}, 1), c.bytes+n
}

// outgoing counts what a member hands out, incoming what it gets.
type (
	outgoing struct{ *counting }
	incoming struct{ *counting }
)

func (s outgoing) Answer(pull, room []byte) []byte {
	reply := s.Member.Answer(pull, room)
	s.passed(reply)
	return reply
}

func (f incoming) Answered(ctx context.Context, ask syncd.Ask, reply []byte) (syncd.Got, error) {
	f.passed(reply)
	return f.Member.Answered(ctx, ask, reply)
}

func TestTwoProcessesSyncOnce(t *testing.T) {
	d := newDesk(t)
	bo := d.joins("Bo")
	d.writes(d.ann, 1000, 40)
	d.writes(bo, 1000, 40)
	require.NoError(t, d.ann.Close())
	require.NoError(t, bo.Close())
	s := d.serves("ann", freeAddr(t))
	defer s.kill()
	require.NotEqual(t, d.run("ann", "--json", "status"), d.run("bo", "--json", "status"))
	out := d.run("bo", "sync", s.addr)
	require.Regexp(t, `^1\d\d\d from Ann, 1\d\d\d to them; the same now`, out)
	require.Equal(t, d.run("ann", "--json", "status"), d.run("bo", "--json", "status"))
	require.Equal(t, d.run("ann", "--json", "history"), d.run("bo", "--json", "history"))
	s.stop()
	require.Equal(t, d.run("ann", "--json", "status"), d.run("bo", "--json", "status"), "and without serve")
}

// kills is how often a process is killed, and killEntries how long a log that takes:
// at each kill a reply's worth has come across.
func kills() int {
	if underRace {
		return 8
	}
	return 50
}

func killEntries() int {
	if underRace {
		return 5_000
	}
	return 20_000
}

// TestTheAskerKilled kills the process that fetches a long log, again and again.
func TestTheAskerKilled(t *testing.T) {
	d := newDesk(t)
	require.NoError(t, d.joins("Bo").Close())
	d.writes(d.ann, killEntries(), 500)
	ann := outgoing{&counting{Member: d.ann}}
	b, err := bus.Open(t.Context(), ann, bus.Options{Listen: "127.0.0.1:0"})
	require.NoError(t, err)
	defer b.Close()
	seed := mathrand.Uint64()
	t.Logf("seed %d", seed)
	r := mathrand.New(mathrand.NewPCG(seed, 1))
	killed := 0
	for range kills() {
		ann.after(1 + r.IntN(syncd.MaxReply))
		c := d.command(t.Context(), "bo", "sync", b.Addrs()[0])
		require.NoError(t, c.Start())
		ended := make(chan error, 1)
		go func() { ended <- c.Wait() }()
		select {
		case <-ann.hit:
			require.NoError(t, c.Process.Kill())
			require.Error(t, <-ended, "killed")
			killed++
		case err := <-ended:
			require.NoError(t, err)
		}
	}
	d.run("bo", "sync", b.Addrs()[0])
	require.Equal(t, kills(), killed, "the log was long enough for every kill")
	bo, err := d.home("bo").Open("")
	require.NoError(t, err)
	defer bo.Close()
	require.True(t, bo.Have().Same(d.ann.Have()))
	once := d.weigh("ann")
	t.Logf("%d kills; %d bytes served for %d bytes of log", killed, ann.bytes, once)
	require.LessOrEqual(t, ann.bytes-once, (killed+1)*(syncd.MaxAhead+framing), "nothing twice but what was not kept yet")
}

// framing is what replies may add to their lines between two kills.
const framing = 4 << 10

// weigh is how many bytes of lines a home holds.
func (d *desk) weigh(name string) int {
	files, err := filepath.Glob(filepath.Join(d.folder(name), "sites", "*", "feeds", "*.ndjson"))
	require.NoError(d.t, err)
	n := 0
	for _, f := range files {
		info, err := os.Stat(f)
		require.NoError(d.t, err)
		n += int(info.Size())
	}
	return n
}

// TestTheServerKilled kills the process that is asked for a long log, again and
// again; the other finds it again by itself.
func TestTheServerKilled(t *testing.T) {
	d := newDesk(t)
	bo := d.joins("Bo")
	defer bo.Close()
	d.writes(d.ann, killEntries(), 500)
	once := d.weigh("ann")
	require.NoError(t, d.ann.Close())
	me := incoming{&counting{Member: bo}}
	news := make(chan struct{}, 1)
	b, err := bus.Open(t.Context(), me, bus.Options{Notice: func(bus.Notice) {
		select {
		case news <- struct{}{}:
		default:
		}
	}})
	require.NoError(t, err)
	defer b.Close()
	seed := mathrand.Uint64()
	t.Logf("seed %d", seed)
	r := mathrand.New(mathrand.NewPCG(seed, 1))
	addr := freeAddr(t)
	for range kills() {
		me.after(1 + r.IntN(syncd.MaxReply))
		s := d.serves("ann", addr)
		b.Call(addr)
		<-me.hit
		s.kill()
	}
	s := d.serves("ann", addr)
	b.Call(addr)
	for {
		if peers := b.Peers(); len(peers) == 1 && peers[0].Same {
			break
		}
		<-news
	}
	t.Logf("%d kills; %d bytes fetched for %d bytes of log", kills(), me.bytes, once)
	require.LessOrEqual(t, me.bytes-once, (kills()+1)*(syncd.MaxReply+framing))
	s.stop()
	require.NoError(t, b.Close())
	require.NoError(t, bo.Close())
	require.Equal(t, d.run("ann", "--json", "status"), d.run("bo", "--json", "status"))
}
