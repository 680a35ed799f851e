package main

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/member"
)

// These tests hold what a home keeps from others on the same machine, and what it
// asks of its owner.

// asked calls a command whose user is at a terminal with these answers.
func (p *place) asked(answers []string, args ...string) (code int, said, complaint string) {
	var out, errs bytes.Buffer
	s := process()
	s.stdin, s.stdout, s.stderr = strings.NewReader(""), &out, &errs
	s.env = func(string) string { return "" }
	s.secret = func(_ context.Context, prompt string) (string, error) {
		errs.WriteString(prompt + "\n")
		if len(answers) == 0 {
			return "", errNoTerminal
		}
		text := answers[0]
		answers = answers[1:]
		return text, nil
	}
	code = run(p.t.Context(), append([]string{"--home", p.dir}, args...), s)
	return code, out.String(), errs.String()
}

func (p *place) locked(passphrase string) {
	code, _, complaint := p.asked([]string{passphrase, passphrase}, "passphrase", "set", "--work", "15")
	require.Equal(p.t, exitDone, code, complaint)
}

// Whoever may not ask is told what to do, and so is whoever has nobody to ask.
func TestWithoutATerminalALockedSiteSaysWhatToDo(t *testing.T) {
	p := newPlace(t)
	p.locked("four words by lot")
	for _, args := range [][]string{{"status"}, {"log", "note", "site", "x"}, {"sync", "127.0.0.1:1"}, {"serve", "--listen", "none"}, {"bundle", "out", filepath.Join(t.TempDir(), "x")}, {"passphrase", "remove"}, {"passphrase", "set", "--work", "15"}} {
		code, said, complaint := p.asked(nil, args...)
		require.Equal(t, exitFailed, code, args)
		require.Empty(t, said, args)
		require.Contains(t, complaint, "PAIRWALK_PASSPHRASE_FILE", args)
	}
	code, _, complaint := p.asked([]string{"four words by lot"}, "status")
	require.Equal(t, exitDone, code, complaint)
	require.Equal(t, 1, strings.Count(complaint, "Passphrase for the keys of Kiln"), "asked once")
}

// The passphrase opens nothing from where other processes see it.
func TestAPassphraseIsTakenFromNoArgumentAndNoValue(t *testing.T) {
	p := newPlace(t)
	p.locked("four words by lot")
	s := process()
	var out, errs bytes.Buffer
	s.stdin, s.stdout, s.stderr, s.secret = strings.NewReader("four words by lot\n"), &out, &errs, nil
	s.env = func(key string) string {
		if key == passphraseFile {
			return ""
		}
		return "four words by lot"
	}
	require.Equal(t, exitFailed, run(t.Context(), []string{"--home", p.dir, "status"}, surroundingsWithClock(s)))
	require.Contains(t, errs.String(), "there is no terminal to ask")
	for _, flag := range []string{"--passphrase", "--password"} {
		code, _, _ := p.asked(nil, flag, "four words by lot", "status")
		require.Equal(t, exitUse, code, flag)
	}
}

// surroundingsWithClock leaves out the one value that would stop any command.
func surroundingsWithClock(s surroundings) surroundings {
	env := s.env
	s.env = func(key string) string {
		if key == "PAIRWALK_CLOCK" || key == "COMP_LINE" {
			return ""
		}
		return env(key)
	}
	return s
}

// A home that was copied with everything in it, while it was served too.
func TestACopiedHomeIsOfNoUseWithoutThePassphrase(t *testing.T) {
	p := newPlace(t)
	p.locked("four words by lot")
	taken := &place{t, t.TempDir()}
	s := process()
	s.env = func(string) string { return "" }
	s.secret = func(context.Context, string) (string, error) { return "four words by lot", nil }
	a := &app{surroundings: s, ctx: t.Context(), cli: &cli{Home: p.dir}}
	a.world.Now, a.world.Passphrase = deviceStamp, a.passphrase
	h, err := a.home()
	require.NoError(t, err)
	m, err := h.Open("")
	require.NoError(t, err)
	d, err := openDoor(&host{m: m, world: a.world}, p.folder())
	require.NoError(t, err)
	defer func() { require.NoError(t, errors.Join(d.close(), m.Close())) }()
	require.NoError(t, os.CopyFS(taken.dir, os.DirFS(p.dir)))
	code, _, complaint := p.asked(nil, "status")
	require.Equal(t, exitDone, code, "the serving process has the passphrase: %s", complaint)
	for _, args := range [][]string{{"status"}, {"log", "note", "site", "by the thief"}, {"invite"}} {
		code, said, complaint := taken.asked([]string{"a good guess"}, args...)
		require.Equal(t, exitFailed, code, args)
		require.Empty(t, said)
		require.Contains(t, complaint, member.ErrPassphrase.Error())
	}
}

// Nobody else on the machine reads a home: not the keys, nor the page's token, nor
// what the log says.
func TestNobodyElseReadsAHome(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("files have no such modes there")
	}
	p := newPlace(t)
	photo := filepath.Join(t.TempDir(), "p.jpg")
	require.NoError(t, os.WriteFile(photo, []byte("\xff\xd8\xff\xe0 a photo"), 0o644))
	code, _, complaint := p.call(t.Context(), nil, "log", "photo", "site", photo)
	require.Equal(t, exitDone, code, complaint)
	p.locked("four words by lot")
	ctx, stop := context.WithCancel(t.Context())
	up := &watched{seen: make(chan struct{})}
	s := process()
	s.stdout, s.stderr = up, up
	s.env = func(string) string { return "" }
	s.secret = func(context.Context, string) (string, error) { return "four words by lot", nil }
	done := make(chan int)
	go func() {
		done <- run(ctx, []string{"--home", p.dir, "serve", "--listen", "none", "--page", "0.0.0.0:0"}, s)
	}()
	<-up.seen
	require.NoError(t, filepath.WalkDir(p.dir, func(name string, e fs.DirEntry, err error) error {
		require.NoError(t, err)
		info, err := e.Info()
		require.NoError(t, err)
		if name != p.dir { // which the test made, and not the command
			require.Zero(t, info.Mode().Perm()&0o077, "%s is %s", name, info.Mode())
		}
		return nil
	}))
	for _, name := range []string{"keys.json", tokenFile, certKeyFile, servingFile} {
		require.FileExists(t, filepath.Join(p.folder(), name))
	}
	stop()
	require.Equal(t, exitDone, <-done)
}

// watched is closed when a process said its last line of opening.
type watched struct {
	mu   sync.Mutex
	text bytes.Buffer
	seen chan struct{}
	told bool
}

func (w *watched) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.text.Write(b)
	if !w.told && strings.Contains(w.text.String(), "Stop with Ctrl-C") {
		w.told = true
		close(w.seen)
	}
	return len(b), nil
}

// A page's address that somebody saw is changed, and opens nothing any more.
func TestAPagesAddressIsMadeAnew(t *testing.T) {
	p := newPlace(t)
	a := &app{surroundings: process(), ctx: t.Context(), cli: &cli{Home: p.dir}}
	a.world = member.World{Now: deviceStamp, Rand: strings.NewReader(strings.Repeat("0123456789abcdefghijklmn", 3))}
	folder := p.folder()
	seen, err := tokenOf(folder, a.world, false)
	require.NoError(t, err)
	again, err := tokenOf(folder, a.world, false)
	require.NoError(t, err)
	require.Equal(t, seen, again, "a bookmark outlives a restart")
	a.world.Rand = strings.NewReader(strings.Repeat("another draw of bytes.. ", 3))
	fresh, err := tokenOf(folder, a.world, true)
	require.NoError(t, err)
	require.NotEqual(t, seen, fresh)
	kept, err := tokenOf(folder, a.world, false)
	require.NoError(t, err)
	require.Equal(t, fresh, kept)
}
