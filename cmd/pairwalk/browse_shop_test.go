package main

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// shop is a site whose members run real processes, each with a page.
type shop struct {
	t   testing.TB
	dir string
}

func newShop(t testing.TB) *shop { return &shop{t, t.TempDir()} }

func (s *shop) command(who string, env []string, args ...string) *exec.Cmd {
	c := exec.Command("pairwalk", append([]string{"--home", filepath.Join(s.dir, who)}, args...)...)
	c.Env = append(append(os.Environ(), "TZ=UTC"), env...)
	return c
}

// runs runs a command to its end and returns what it printed.
func (s *shop) runs(who string, args ...string) string {
	s.t.Helper()
	c := s.command(who, nil, args...)
	var complaint bytes.Buffer
	c.Stderr = &complaint
	out, err := c.Output()
	require.NoError(s.t, err, "%s%s", &complaint, out)
	return string(out)
}

// bench is a running pairwalk serve.
type bench struct {
	cmd  *exec.Cmd
	page string // its address, with the token
	bus  string // where others can call
	done chan struct{}
}

// serves starts serving somebody's site. Clock is for PAIRWALK_CLOCK, "" for the
// real one.
func (s *shop) serves(who, clock string, args ...string) *bench {
	s.t.Helper()
	b := &bench{done: make(chan struct{})}
	var env []string
	if clock != "" {
		env = []string{"PAIRWALK_CLOCK=" + clock}
	}
	b.cmd = s.command(who, env, append([]string{"--json", "serve"}, args...)...)
	out, err := b.cmd.StdoutPipe()
	require.NoError(s.t, err)
	var complaint bytes.Buffer
	b.cmd.Stderr = &complaint
	require.NoError(s.t, b.cmd.Start())
	lines := bufio.NewScanner(out)
	var said struct {
		Kind         string
		Addrs, Pages []string
	}
	require.True(s.t, lines.Scan(), "serve ended before it was ready: %s", &complaint)
	require.NoError(s.t, json.Unmarshal(lines.Bytes(), &said))
	require.NotEmpty(s.t, said.Pages)
	b.page = said.Pages[0]
	if len(said.Addrs) > 0 {
		b.bus = said.Addrs[0]
	}
	go func() {
		defer close(b.done)
		for lines.Scan() {
		}
		_ = b.cmd.Wait()
	}()
	s.t.Cleanup(b.stop)
	return b
}

func (b *bench) stop() {
	_ = b.cmd.Process.Signal(os.Interrupt)
	<-b.done
}

// at is the port of the page, to serve it there again.
func (b *bench) at() string {
	u, _ := url.Parse(b.page)
	return u.Host
}

// stops stops the process behind a page; that the page can't reach it is no error
// meanwhile.
func (p *tab) stops(b *bench) {
	p.isAway(true)
	b.stop()
}

func (p *tab) isAway(away bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.away = away
}

// startsAgain serves a page again where it was.
func (p *tab) startsAgain(s *shop, was *bench, who, clock, listen string) *bench {
	p.t.Helper()
	b := s.serves(who, clock, "--page", was.at(), "--listen", listen)
	p.holds(`!document.body.innerText.includes('does not answer')`, "the process to be back")
	p.isAway(false)
	return b
}

// takes imports a file of these rows.
func (s *shop) takes(who string, rows [][]string, args ...string) {
	s.t.Helper()
	var text bytes.Buffer
	require.NoError(s.t, csv.NewWriter(&text).WriteAll(rows))
	file := filepath.Join(s.t.TempDir(), "rows.csv")
	require.NoError(s.t, os.WriteFile(file, text.Bytes(), 0o600))
	s.runs(who, append([]string{"import", file}, args...)...)
}

// opens makes the site of a small job with its hub ready, and serves its page.
func (s *shop) opens(args ...string) *bench {
	s.t.Helper()
	s.runs("ann", "init", "Kiln Lane", "--as", "Ann", "--practice")
	rows, err := csv.NewReader(strings.NewReader(smallJob)).ReadAll()
	require.NoError(s.t, err)
	s.takes("ann", rows)
	s.runs("ann", "log", "loaded", "H1", "--program", "r1")
	s.runs("ann", "log", "ready", "H1")
	if len(args) == 0 {
		args = []string{"--page", "127.0.0.1:0"}
	}
	return s.serves("ann", "", append([]string{"--listen", "none"}, args...)...)
}

type entry struct {
	Kind string
	By   string
	Body map[string]any
}

// log is what a member's history says of a subject by the command.
func (s *shop) log(who, subject string) []entry {
	s.t.Helper()
	var doc struct{ Entries []entry }
	out := s.runs(who, "--json", "history", subject)
	require.NoError(s.t, json.Unmarshal([]byte(out), &doc), out)
	return doc.Entries
}

func only(list []entry, kind string) []entry {
	var out []entry
	for _, e := range list {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// carries brings what one holds to another by a file.
func (s *shop) carries(from, to string) {
	s.t.Helper()
	file := filepath.Join(s.t.TempDir(), "all.bundle")
	s.runs(from, "bundle", "out", file)
	s.runs(to, "bundle", "in", file)
}
