package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"pairwalk/syncd/member"
)

const (
	servingFile  = "serving"         // in the site's folder: the address of the local socket
	socketPrefix = "pairwalk-serve-" // of the private folder that holds it
	socketMost   = 100               // bytes of a socket's path that every system takes

	callsMost   = 64 // commands passed on at a time; more wait
	callWait    = 10 * time.Second
	finishWait  = 5 * time.Second // for running commands when serving ends
	servingMode = 0o600
)

// host is what a serving process shares with the commands that it runs for
// others.
type host struct {
	m     *member.Member
	world member.World
	clock string // its PAIRWALK_CLOCK
	meet  *meeting
}

// door is where other commands come in: a local socket in a folder that is its
// user's alone.
type door struct {
	host   *host
	folder string // of the site
	ln     net.Listener
	ctx    context.Context // of the connections
	cut    context.CancelFunc
	calls  sync.WaitGroup
}

// openDoor begins to listen, says where in the site's folder, and lets commands
// in.
func openDoor(h *host, folder string) (*door, error) {
	clearStale(folder)
	dir, err := os.MkdirTemp("", socketPrefix) // 0700
	if err != nil {
		return nil, fmt.Errorf("make socket folder: %w", err)
	}
	addr := filepath.Join(dir, "s")
	if len(addr) > socketMost {
		_ = os.Remove(dir)
		return nil, fmt.Errorf("listen for commands: the path of the folder for temporary files, %s, is too long; set TMPDIR to a shorter one", os.TempDir())
	}
	ln, err := net.Listen("unix", addr)
	if err != nil {
		_ = os.Remove(dir)
		return nil, fmt.Errorf("listen for commands: %w", err)
	}
	d := &door{host: h, folder: folder, ln: ln}
	d.ctx, d.cut = context.WithCancel(context.Background())
	if err := d.sign(addr); err != nil {
		return nil, errors.Join(err, d.close())
	}
	d.calls.Go(d.accept)
	return d, nil
}

// clearStale removes the socket of a serving process that was killed. Nobody else
// serves: this process has the site open.
func clearStale(folder string) {
	b, err := os.ReadFile(filepath.Join(folder, servingFile))
	if err != nil {
		return
	}
	addr := strings.TrimSpace(string(b))
	dir := filepath.Dir(addr)
	if filepath.Dir(dir) == filepath.Clean(os.TempDir()) && strings.HasPrefix(filepath.Base(dir), socketPrefix) {
		_ = os.Remove(addr)
		_ = os.Remove(dir) // fails if anything else is in it
	}
}

// sign puts the address where other commands look for it.
func (d *door) sign(addr string) error {
	name := filepath.Join(d.folder, servingFile)
	if err := os.WriteFile(name+".new", []byte(addr+"\n"), servingMode); err != nil {
		return fmt.Errorf("say where commands are taken: %w", err)
	}
	if err := os.Rename(name+".new", name); err != nil {
		return fmt.Errorf("say where commands are taken: %w", err)
	}
	return nil
}

// close takes no more commands, waits a little for those that run, and then cuts
// them off.
func (d *door) close() error {
	_ = os.Remove(filepath.Join(d.folder, servingFile))
	addr := d.ln.Addr().String()
	err := d.ln.Close()
	late := time.AfterFunc(finishWait, d.cut)
	d.calls.Wait()
	late.Stop()
	d.cut()
	_ = os.Remove(filepath.Dir(addr))
	return err
}

func (d *door) accept() {
	room := make(chan struct{}, callsMost)
	for {
		room <- struct{}{}
		conn, err := d.ln.Accept()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil {
			<-room
			select { // out of file handles, say
			case <-d.ctx.Done():
				return
			case <-time.After(100 * time.Millisecond):
			}
			continue
		}
		d.calls.Go(func() {
			defer func() { <-room }()
			d.answer(conn)
		})
	}
}

// answer takes one command and runs it.
func (d *door) answer(conn net.Conn) {
	defer conn.Close()
	defer context.AfterFunc(d.ctx, func() { _ = conn.Close() })()
	_ = conn.SetDeadline(time.Now().Add(callWait))
	f, err := readFrame(conn, callMost)
	if err != nil && !errors.Is(err, errGarbled) {
		return
	}
	out := &frames{to: conn}
	c, kind, words := d.judge(f)
	if err := out.send(kind, []byte(words)); err != nil {
		return
	}
	if kind != frameTaken {
		drain(conn)
		return
	}
	_ = conn.SetDeadline(time.Time{})
	d.run(conn, out, c)
}

// drain reads what is still on its way: closing over it could take the refusal
// with it.
func drain(conn net.Conn) {
	if c, ok := conn.(*net.UnixConn); ok {
		_ = c.CloseWrite()
	}
	_ = conn.SetDeadline(time.Now().Add(time.Second))
	_, _ = io.Copy(io.Discard, io.LimitReader(conn, callMost))
}

// judge decides whether a command is taken.
func (d *door) judge(f frame) (c call, kind byte, words string) {
	if f.kind != frameCall || json.Unmarshal(f.body, &c) != nil || c.V != callVersion || c.Build != build() {
		return c, frameRefused, "pairwalk serve has this site open, and is of another version than this command; stop it and start it again"
	}
	ours, errOurs := os.Stat(d.folder)
	theirs, errTheirs := os.Stat(string(c.Folder))
	if errOurs != nil || errTheirs != nil || !os.SameFile(ours, theirs) {
		return c, frameNotHere, "" // the folder was copied, with our address in it
	}
	if clock := c.Env["PAIRWALK_CLOCK"]; clock != d.host.clock {
		return c, frameRefused, fmt.Sprintf("pairwalk serve has this site open with PAIRWALK_CLOCK=%q, and this command has %q; set it to the same, or stop serving", d.host.clock, clock)
	}
	return c, frameTaken, ""
}

func (d *door) run(conn net.Conn, out *frames, c call) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	from := newCaller(out)
	go from.hear(conn, cancel)
	code := run(ctx, c.args(), surroundings{
		stdin: from.stdin(), stdout: stream{out, frameStdout}, stderr: stream{out, frameStderr},
		env: func(key string) string { return c.Env[key] }, now: d.host.world.Now,
		name: c.Name, tty: c.TTY, files: from, host: d.host,
	})
	_ = out.send(frameExit, []byte{byte(code)})
}
