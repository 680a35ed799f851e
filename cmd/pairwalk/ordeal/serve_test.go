package ordeal

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// serving is a serve process that said where it is.
type serving struct {
	cmd   *exec.Cmd
	addrs []string // where others call
	page  string   // the page's address
	token string
	ended chan struct{}

	mu    sync.Mutex
	lines []string // what it said since
	heard chan struct{}
	errs  bytes.Buffer
}

// serves starts a serving process, of a crew if it may be struck. It is nil where
// the process ended before it was up.
func (d *desk) serves(w *crew, listen string) *serving {
	d.t.Helper()
	if w == nil {
		w = &crew{}
	}
	s := &serving{cmd: d.command("--json", "serve", "--listen", listen, "--page", "127.0.0.1:0"), ended: make(chan struct{}), heard: make(chan struct{}, 1)}
	out, err := s.cmd.StdoutPipe()
	require.NoError(d.t, err)
	s.cmd.Stderr = &s.errs
	if !w.begins(s.cmd) {
		return nil
	}
	said := bufio.NewScanner(out)
	var doc struct{ Addrs, Pages []string }
	if !said.Scan() || json.Unmarshal(said.Bytes(), &doc) != nil {
		_, _ = io.Copy(io.Discard, out)
		_ = s.cmd.Wait()
		w.ends(s.cmd)
		return nil
	}
	s.addrs = doc.Addrs
	s.page, s.token, _ = strings.Cut(doc.Pages[0], "/#t=")
	require.Regexp(d.t, `^[\w-]{32}$`, s.token)
	go func() {
		defer close(s.ended)
		for said.Scan() {
			s.hears(said.Text())
		}
		_ = s.cmd.Wait()
		w.ends(s.cmd)
	}()
	return s
}

func (s *serving) hears(line string) {
	s.mu.Lock()
	s.lines = append(s.lines, line)
	s.mu.Unlock()
	select {
	case s.heard <- struct{}{}:
	default:
	}
}

// says waits until the process has said a line with these words.
func (s *serving) says(t *testing.T, words string) {
	t.Helper()
	s.saysTimes(t, words, 1)
}

// patience ends a wait that would never end by itself, on the slowest machine.
const patience = 2 * time.Minute

// saysTimes waits until it has said them so many times.
func (s *serving) saysTimes(t *testing.T, words string, times int) {
	t.Helper()
	never := time.After(patience)
	for {
		s.mu.Lock()
		said := strings.Count(strings.Join(s.lines, "\n"), words)
		s.mu.Unlock()
		if said >= times {
			return
		}
		select {
		case <-s.heard:
		case <-never:
			require.Fail(t, "serve never said "+words, "%s", strings.Join(s.lines, "\n"))
		case <-s.ended:
			require.Fail(t, "serve ended", "%s", &s.errs)
		}
	}
}

func (s *serving) kill() {
	_ = s.cmd.Process.Kill()
	<-s.ended
}

func (s *serving) stop() {
	_ = s.cmd.Process.Signal(os.Interrupt)
	<-s.ended
}

// eachAnew asks on a connection of its own each time: one that a process which is
// gone had open is no word about the next.
var eachAnew = http.Client{Transport: &http.Transport{DisableKeepAlives: true}}

// posts hands so many notes to the page at once. It returns what the page
// acknowledged, or its refusal.
func (s *serving) posts(once uint64, texts ...string) (said, error) {
	entries := make([]string, len(texts))
	for i, text := range texts {
		body, err := json.Marshal(text)
		if err != nil {
			return said{}, err
		}
		entries[i] = fmt.Sprintf(`{"kind":"note.added","body":{"of":"site:site","text":%s},"when":""}`, body)
	}
	ask := fmt.Sprintf(`{"once":"%020x","by":"","entries":[%s]}`, once, strings.Join(entries, ","))
	r, err := http.NewRequest(http.MethodPost, s.page+"/api/log", strings.NewReader(ask))
	if err != nil {
		return said{}, err
	}
	r.Header.Set("Authorization", "Bearer "+s.token)
	r.Header.Set("Content-Type", "application/json")
	got, err := eachAnew.Do(r)
	if err != nil {
		return said{}, err
	}
	defer got.Body.Close()
	b, err := io.ReadAll(got.Body)
	if err != nil {
		return said{}, err
	}
	if got.StatusCode != http.StatusOK {
		return said{}, fmt.Errorf("the page refused: %s: %s", got.Status, b)
	}
	var doc said
	return doc, json.Unmarshal(b, &doc)
}
