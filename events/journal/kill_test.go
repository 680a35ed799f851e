package journal_test

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// appendIn makes the test binary a process that appends in the folder it names,
// until it is killed.
const appendIn = "JOURNAL_TEST_APPEND_IN"

func TestMain(m *testing.M) {
	if dir := os.Getenv(appendIn); dir != "" {
		if err := appendForever(dir, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

func openIn(dir string) (*journal.Journal, error) {
	env := journal.Env{Now: func() events.Stamp { return morning(0, monday) }}
	return journal.Open(journal.Dir(filepath.Join(dir, "site")), journal.Dir(filepath.Join(dir, "marks")), journaltest.Site(), env)
}

// appendForever appends from four goroutines, and says what is acknowledged.
func appendForever(dir string, out io.Writer) error {
	j, err := openIn(dir)
	if err != nil {
		return err
	}
	a := newAuthor(1)
	if own := j.Own(); own.Replace != "" {
		return fmt.Errorf("the feed can't go on: %s: %v", own.Replace, j.Problems())
	} else if a.Head = own.Head; own.Feed == "" {
		if err := j.Begin(ctx, a.says(1, "first")[0]); err != nil {
			return err
		}
	}
	var sealing, saying sync.Mutex
	errs := make(chan error)
	for n := range 4 {
		go func() {
			for {
				sealing.Lock()
				v := a.says(1, fmt.Sprintf("process %d, part %d, event", os.Getpid(), n))[0]
				wait, err := j.Queue(v)
				sealing.Unlock()
				if err == nil {
					err = wait()
				}
				if err != nil {
					errs <- err
					return
				}
				saying.Lock()
				_, _ = fmt.Fprintln(out, v.Seq(), v.Hash()) // nobody reads any more once the kill is on its way
				saying.Unlock()
			}
		}()
	}
	return <-errs
}

// Kill -9, a hundred times, in mid-append: this process is the ledger of what
// was acknowledged, and none of that is ever lost or changed.
func TestKilledAHundredTimesInMidAppend(t *testing.T) {
	dir := t.TempDir()
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 0))
	ledger := map[events.Seq]string{}
	for range 100 {
		killAfter(t, dir, random.IntN(12), ledger)
		j, err := openIn(dir)
		require.NoError(t, err)
		require.Empty(t, j.Own().Replace, "after a kill in the same boot the feed goes on: %v", j.Problems())
		held := map[events.Seq]string{}
		for _, v := range have(t, j.Lines(j.Own().Feed, 1)) {
			held[v.Seq()] = v.Hash().String()
		}
		for q, hash := range ledger {
			require.Equal(t, hash, held[q], "event %d was acknowledged", q)
		}
		require.NoError(t, j.Close())
	}
	require.Greater(t, len(ledger), 300)
}

// killAfter runs a process that appends, and kills it after so many more events
// than it takes to see it at work. What it still said goes into the ledger too.
func killAfter(t *testing.T, dir string, n int, ledger map[events.Seq]string) {
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), appendIn+"="+dir)
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	said := bufio.NewScanner(out)
	for i := 0; said.Scan(); i++ {
		var q events.Seq
		var hash string
		_, err := fmt.Sscan(said.Text(), &q, &hash)
		require.NoError(t, err)
		if was, twice := ledger[q]; twice {
			require.Equal(t, was, hash, "number %d was used twice", q)
		}
		ledger[q] = hash
		if i == n {
			require.NoError(t, child.Process.Kill())
		}
	}
	require.Error(t, child.Wait(), "it was killed")
}
