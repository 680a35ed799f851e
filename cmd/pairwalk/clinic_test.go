package main

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd/member/checkup"
)

// clinic makes homes to be spoilt, by a clock of its own.
type clinic struct {
	t    *testing.T
	dir  string
	wall events.Instant
	mono int64
}

// newClinic skips under the race detector: a look has one goroutine, and the stories
// of the doctor are told beside a serving process.
func newClinic(t *testing.T) *clinic {
	if underRace {
		t.Skip("what is looked at here is looked at by one goroutine")
	}
	c := &clinic{t: t, dir: t.TempDir(), mono: 1_000_000, wall: events.InstantOf(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))}
	c.do("ann", "init", "Kiln", "--as", "Ann", "--zone", "UTC")
	c.do("ann", "import", c.write("list.csv", "tag,kind,hub\n1-1,dimmer,H1\n1-2,driver,H1\n"))
	c.do("bo", "join", c.invite(), "--as", "Bo")
	c.carry("ann", "bo")
	c.carry("bo", "ann")
	c.do("ann", "log", "note", "site", "one")
	c.do("ann", "log", "note", "site", "two")
	c.carry("ann", "bo")
	c.do("bo", "log", "note", "site", "heard")
	c.carry("bo", "ann")
	return c
}

func (c *clinic) home(name string) string { return filepath.Join(c.dir, name) }

// site is the folder of a home's one site.
func (c *clinic) site(name string) string {
	c.t.Helper()
	found, err := filepath.Glob(filepath.Join(c.home(name), "sites", "*"))
	require.NoError(c.t, err)
	require.Len(c.t, found, 1)
	return found[0]
}

// call runs a command, a minute later.
func (c *clinic) call(name string, env map[string]string, args ...string) (code int, out, errs string) {
	c.t.Helper()
	c.wall, c.mono = c.wall.Add(time.Minute), c.mono+60_000
	var o, e bytes.Buffer
	s := process()
	s.stdout, s.stderr, s.tty = &o, &e, false
	s.env = func(key string) string { return env[key] }
	s.now = func() events.Stamp {
		return events.Stamp{Wall: events.Wall{At: c.wall}, Mono: events.Mono{Boot: "monday", Ms: c.mono}}
	}
	code = run(c.t.Context(), append([]string{"--home", c.home(name)}, args...), s)
	return code, o.String(), e.String()
}

func (c *clinic) do(name string, args ...string) string {
	c.t.Helper()
	code, out, errs := c.call(name, nil, args...)
	require.Equal(c.t, exitDone, code, errs)
	return out
}

func (c *clinic) invite() string {
	c.t.Helper()
	var doc struct{ Token string }
	require.NoError(c.t, json.Unmarshal([]byte(c.do("ann", "--json", "invite")), &doc))
	return doc.Token
}

// carry brings one's log to another by a file.
func (c *clinic) carry(from, to string) {
	c.t.Helper()
	file := filepath.Join(c.dir, "carried")
	c.do(from, "bundle", "out", file, "--force")
	c.do(to, "bundle", "in", file)
}

func (c *clinic) write(name, text string) string {
	c.t.Helper()
	name = filepath.Join(c.dir, name)
	require.NoError(c.t, os.WriteFile(name, []byte(text), 0o600))
	return name
}

// change rewrites the one file of a name in a home.
func (c *clinic) change(home, glob string, by func([]byte) []byte) {
	c.t.Helper()
	found, err := filepath.Glob(filepath.Join(c.home(home), glob))
	require.NoError(c.t, err)
	require.NotEmpty(c.t, found, glob)
	for _, name := range found {
		b, err := os.ReadFile(name)
		require.NoError(c.t, err)
		if b = by(b); b == nil {
			require.NoError(c.t, os.Remove(name))
			continue
		}
		require.NoError(c.t, os.WriteFile(name, b, 0o600))
	}
}

// own is the feed file of Ann's home that her entries are in.
func (c *clinic) own(by func([]byte) []byte) {
	c.t.Helper()
	found, err := filepath.Glob(filepath.Join(c.site("ann"), "feeds", "*.ndjson"))
	require.NoError(c.t, err)
	slices.SortFunc(found, func(a, b string) int { return int(sizeOf(c.t, b) - sizeOf(c.t, a)) }) // she said the most
	c.change("ann", strings.TrimPrefix(found[0], c.home("ann")), by)
}

func sizeOf(t *testing.T, name string) int64 {
	info, err := os.Stat(name)
	require.NoError(t, err)
	return info.Size()
}

// copied is the clinic with homes of its own, to be spoilt.
func (c *clinic) copied(t *testing.T) *clinic {
	x := &clinic{t: t, dir: t.TempDir(), wall: c.wall, mono: c.mono}
	require.NoError(t, os.CopyFS(x.dir, os.DirFS(c.dir)))
	require.NoError(t, filepath.WalkDir(x.dir, func(name string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			return os.Chmod(name, 0o700) // which CopyFS does not carry over
		}
		if err == nil {
			return os.Chmod(name, 0o600)
		}
		return err
	}))
	return x
}

// looked asks the doctor, and holds that it left everything as it was.
func (c *clinic) looked(home string, env map[string]string, args ...string) (checkup.Answer, int) {
	c.t.Helper()
	before := c.files()
	code, out, errs := c.call(home, env, append([]string{"--json", "doctor"}, args...)...)
	require.Equal(c.t, before, c.files(), "the doctor changes nothing")
	var a checkup.Answer
	require.NoError(c.t, json.Unmarshal([]byte(out), &a), errs)
	return a, code
}

func (c *clinic) files() map[string]string {
	out := map[string]string{}
	require.NoError(c.t, filepath.WalkDir(c.dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && !d.IsDir() {
			var b []byte
			b, err = os.ReadFile(name)
			out[name] = info.Mode().String() + " " + string(b)
		} else if err == nil {
			out[name] = info.Mode().String()
		}
		return err
	}))
	return out
}
