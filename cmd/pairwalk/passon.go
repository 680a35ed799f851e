package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"pairwalk/events/journal"
	"pairwalk/syncd/member"
)

const callVersion = 1

// call is a command on its way to the serving process.
type call struct {
	V      int               `json:"v"`
	Build  string            `json:"build"`
	Folder []byte            `json:"folder"` // of the site, as the caller sees it
	Args   [][]byte          `json:"args"`   // bytes: a file's name need not be text
	Env    map[string]string `json:"env"`
	Name   string            `json:"name"` // how the command was called
	TTY    bool              `json:"tty"`
}

// envPassed are the environment values that a command on an open site may read.
var envPassed = [...]string{"PAIRWALK_CLOCK", "NO_COLOR", "TZ"}

// build tells one build of this command from another, as far as the toolchain
// knows.
func build() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	words := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" || s.Key == "vcs.modified" {
			words += " " + s.Value
		}
	}
	return words
}

// passedOn says that another process ran the command, and is its exit code.
type passedOn int

func (passedOn) Error() string { return "a serving process did it" }

// errNobody means that no serving process took the command.
var errNobody = errors.New("nobody serves this site")

// Waits of a caller.
const (
	lockPatience   = 5 * time.Second  // for another command on the same site
	answerPatience = 10 * time.Second // for the serving process to take a command
)

// open opens the site. Where a serving process has it, the command is passed on
// to it and the error is passedOn; another command is waited for a little. Nobody is
// asked for a passphrase where a serving process has given it already.
func (a *app) open(h *member.Home) (*member.Member, error) {
	if info, err := h.Find(a.cli.Site); err == nil && info.Locked {
		if err := a.passOn(h); !errors.Is(err, errNobody) {
			return nil, err
		}
	}
	ctx, cancel := context.WithTimeout(a.ctx, lockPatience)
	defer cancel()
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for {
		m, locked := h.OpenAbout(a.cli.Site, a.about...)
		if !errors.Is(locked, journal.ErrLocked) {
			return m, locked
		}
		if err := a.passOn(h); !errors.Is(err, errNobody) {
			return nil, err
		}
		select {
		case <-ctx.Done():
			return nil, locked
		case <-again.C:
		}
	}
}

// passOn lets the serving process of the site run this command: the error is
// passedOn then. It is errNobody where the command may as well do it by itself.
func (a *app) passOn(h *member.Home) error {
	folder, err := a.siteFolder(h)
	if err != nil {
		return err
	}
	conn, err := dialServing(folder)
	if err != nil {
		return errNobody
	}
	defer conn.Close()
	body, err := json.Marshal(a.asCall(folder))
	if err != nil {
		return err
	}
	if len(body) > callMost {
		return errors.New("the arguments are too long to pass on to pairwalk serve")
	}
	to := &frames{to: conn}
	_ = conn.SetDeadline(time.Now().Add(answerPatience))
	_ = to.send(frameCall, body) // if that fails, there may yet be a word why
	if err := taken(conn); err != nil {
		return err
	}
	_ = conn.SetDeadline(time.Time{})
	code, err := a.follow(conn, to)
	if err != nil {
		return err
	}
	return code
}

func (a *app) asCall(folder string) call {
	c := call{V: callVersion, Build: build(), Folder: []byte(folder), Env: map[string]string{}, Name: a.name, TTY: a.tty}
	for _, arg := range a.args {
		c.Args = append(c.Args, []byte(arg))
	}
	for _, key := range envPassed {
		c.Env[key] = a.env(key)
	}
	return c
}

func (c call) args() []string {
	out := make([]string, len(c.Args))
	for i, arg := range c.Args {
		out[i] = string(arg)
	}
	return out
}

// siteFolder is the folder of the site that the command is about.
func (a *app) siteFolder(h *member.Home) (string, error) {
	info, err := h.Find(a.cli.Site)
	if err != nil {
		return "", err
	}
	dir, err := a.homeDir()
	if err != nil {
		return "", err
	}
	return filepath.Abs(filepath.Join(dir, "sites", string(info.ID)))
}

// dialServing calls the serving process that the site's folder names.
func dialServing(folder string) (net.Conn, error) {
	f, err := os.Open(filepath.Join(folder, servingFile))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, 4<<10))
	if err != nil {
		return nil, err
	}
	return net.DialTimeout("unix", string(bytes.TrimSpace(b)), answerPatience)
}

// taken reads whether the serving process takes the command.
func taken(conn net.Conn) error {
	f, err := readFrame(conn, frameMost)
	switch {
	case errors.Is(err, os.ErrDeadlineExceeded):
		return errors.New("pairwalk serve has this site open and does not answer; stop it and start it again")
	case errors.Is(err, errGarbled):
		return garbled(err)
	case err != nil:
		return errNobody // it ended just now
	}
	switch f.kind {
	case frameTaken:
		return nil
	case frameRefused:
		return errors.New(string(f.body))
	case frameNotHere:
		return errNobody
	}
	return garbled(errGarbled)
}

func garbled(err error) error {
	return fmt.Errorf("%w; stop the pairwalk serve that has this site open, and start it again with this version", err)
}

// follow prints what the command prints over there, answers what it asks for, and
// returns its exit code.
func (a *app) follow(conn net.Conn, to *frames) (passedOn, error) {
	stop := context.AfterFunc(a.ctx, func() { _ = to.send(frameStop, nil) })
	defer stop()
	asks, end := a.attend(to)
	defer end()
	for {
		f, err := readFrame(conn, frameMost)
		if errors.Is(err, errGarbled) {
			return 0, garbled(err)
		}
		if err != nil {
			return 0, fmt.Errorf("pairwalk serve ended before this was done; %s history --last 5 shows what was recorded", a.name)
		}
		switch f.kind {
		case frameStdout:
			_, _ = a.stdout.Write(f.body) // remembers its failure
		case frameStderr:
			_, _ = a.stderr.Write(f.body)
		case frameExit:
			if len(f.body) == 1 {
				return passedOn(f.body[0]), nil
			}
			return 0, garbled(errGarbled)
		case frameAsk:
			var q ask
			if json.Unmarshal(f.body, &q) != nil {
				return 0, garbled(errGarbled)
			}
			select {
			case asks <- q:
			default: // two questions at a time
				return 0, garbled(errGarbled)
			}
		default:
			return 0, garbled(errGarbled)
		}
	}
}

// attend answers questions one by one until end is called.
func (a *app) attend(to *frames) (asks chan<- ask, end func()) {
	ctx, cancel := context.WithCancel(a.ctx)
	queue, done := make(chan ask, 1), make(chan struct{})
	t := newAttendant(a.files, &input{ctx: ctx, from: a.stdin})
	go func() {
		defer close(done)
		defer t.leave()
		for q := range queue {
			f := t.answer(q)
			_ = to.send(f.kind, f.body) // who is gone is missed by the reader
		}
	}()
	return queue, func() {
		cancel()
		close(queue)
		<-done
	}
}
