package web_test

import (
	"fmt"
	"net/http"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
)

// A disk that does not write is said to be so, and stays so.
func TestADiskThatDoesNotWrite(t *testing.T) {
	fs := &failing{MemFS: journal.Memory()}
	d := open(t, fs, "UTC")
	x := d.serve()
	note := func(n int) answer {
		return x.post("/api/log", post(once(n), "note.added", `{"of":"site:site","text":"x"}`))
	}
	told[logged](t, note(1))
	require.Empty(t, first(t, x).Broken)
	before := len(d.entries())
	fs.fail()
	for n := range 2 {
		a := note(2 + n)
		require.NotEqual(t, http.StatusOK, a.code)
	}
	refused(t, http.StatusInsufficientStorage, note(4))
	require.Len(t, d.entries(), before)
	require.Contains(t, first(t, x).Broken, "disk")
	require.Equal(t, http.StatusOK, x.get("/api/status").code, "what is held can be read")
	require.True(t, told[logged](t, note(1)).Again, "and what was recorded is known")
}

// failing is a folder whose files stop being written.
type failing struct {
	*journal.MemFS
	mu     sync.Mutex
	broken bool
}

func (f *failing) fail() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.broken = true
}

func (f *failing) failed() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.broken {
		return fmt.Errorf("no space left on device")
	}
	return nil
}

func (f *failing) Append(name string) (journal.File, error) {
	file, err := f.MemFS.Append(name)
	return failingFile{file, f}, err
}

type failingFile struct {
	journal.File
	of *failing
}

func (f failingFile) Sync() error {
	if err := f.of.failed(); err != nil {
		return err
	}
	return f.File.Sync()
}
