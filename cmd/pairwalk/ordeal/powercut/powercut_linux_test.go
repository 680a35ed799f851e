package powercut

import (
	"bytes"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// mounted shows a disk at a folder until it is taken off, or the test ends.
func mounted(t *testing.T, d *Disk) (dir string, off func()) {
	t.Helper()
	dir = t.TempDir()
	unmount, err := d.Mount(dir)
	if err != nil {
		t.Skipf("a FUSE mount is not permitted here: %v", err)
	}
	done := false
	off = func() {
		if !done {
			done = true
			d.Release()
			require.NoError(t, unmount())
		}
	}
	t.Cleanup(off)
	return dir, off
}

// survives does something to a disk, takes the power, and returns what is found.
func survives(t *testing.T, f Fate, does func(t *testing.T, dir string)) map[string]string {
	t.Helper()
	d := New()
	dir, off := mounted(t, d)
	does(t, dir)
	d.Cut()
	off()
	dir, off = mounted(t, d.After(f))
	defer off()
	found := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		b, err := os.ReadFile(name)
		rel, _ := filepath.Rel(dir, name)
		found[rel] = string(b)
		return err
	}))
	return found
}

func syncs(t *testing.T, name string) {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	require.NoError(t, f.Sync())
	require.NoError(t, f.Close())
}

func puts(t *testing.T, name, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
}

func TestWhatACutLeaves(t *testing.T) {
	for name, c := range map[string]struct {
		does        func(t *testing.T, dir string)
		least, most map[string]string
	}{
		"nothing synced": {
			func(t *testing.T, dir string) { puts(t, dir+"/a", "one") },
			map[string]string{}, map[string]string{"a": "one"},
		},
		"bytes without their name": {
			func(t *testing.T, dir string) { puts(t, dir+"/a", "one"); syncs(t, dir+"/a") },
			map[string]string{}, map[string]string{"a": "one"},
		},
		"a name without its bytes": {
			func(t *testing.T, dir string) { puts(t, dir+"/a", "one"); syncs(t, dir) },
			map[string]string{"a": ""}, map[string]string{"a": "one"},
		},
		"both": {
			func(t *testing.T, dir string) { puts(t, dir+"/a", "one"); syncs(t, dir+"/a"); syncs(t, dir) },
			map[string]string{"a": "one"}, map[string]string{"a": "one"},
		},
		"a folder that is not kept": {
			func(t *testing.T, dir string) {
				require.NoError(t, os.Mkdir(dir+"/f", 0o700))
				puts(t, dir+"/f/a", "one")
				syncs(t, dir+"/f/a")
				syncs(t, dir+"/f")
			},
			map[string]string{}, map[string]string{"f/a": "one"},
		},
		"a move over another": {
			func(t *testing.T, dir string) {
				puts(t, dir+"/a", "old")
				syncs(t, dir+"/a")
				syncs(t, dir)
				puts(t, dir+"/b", "new")
				syncs(t, dir+"/b")
				require.NoError(t, os.Rename(dir+"/b", dir+"/a"))
			},
			map[string]string{"a": "old"}, map[string]string{"a": "new"},
		},
		"a file cut short": {
			func(t *testing.T, dir string) {
				puts(t, dir+"/a", "one two")
				syncs(t, dir+"/a")
				syncs(t, dir)
				require.NoError(t, os.Truncate(dir+"/a", 3))
			},
			map[string]string{"a": "one two"}, map[string]string{"a": "one"},
		},
		"a file removed": {
			func(t *testing.T, dir string) {
				puts(t, dir+"/a", "one")
				syncs(t, dir+"/a")
				syncs(t, dir)
				require.NoError(t, os.Remove(dir+"/a"))
			},
			map[string]string{"a": "one"}, map[string]string{},
		},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, c.least, survives(t, Fate{}, c.does), "the least that was promised")
			require.Equal(t, c.most, survives(t, Fate{All: true}, c.does), "everything")
		})
	}
}

// TestACutTearsAtSectors appends to a synced file: every sector of what follows is
// whole, or zeros, or not there.
func TestACutTearsAtSectors(t *testing.T) {
	old := bytes.Repeat([]byte("o"), 700)
	fresh := bytes.Repeat([]byte("n"), 5*sector)
	lengths, zeros := map[int]bool{}, 0
	for seed := range uint64(30) {
		found := survives(t, Fate{Chance: rand.New(rand.NewPCG(seed, 1))}, func(t *testing.T, dir string) {
			puts(t, dir+"/a", string(old))
			syncs(t, dir+"/a")
			syncs(t, dir)
			f, err := os.OpenFile(dir+"/a", os.O_WRONLY|os.O_APPEND, 0)
			require.NoError(t, err)
			_, err = f.Write(fresh)
			require.NoError(t, err)
			require.NoError(t, f.Close())
		})
		got := []byte(found["a"])
		require.True(t, bytes.HasPrefix(got, old), "what was synced stays")
		lengths[len(got)] = true
		whole := append(bytes.Clone(old), fresh...)
		for at := len(old); at < len(got); at++ {
			end := min((at/sector+1)*sector, len(got))
			part := got[at:end]
			if !bytes.Equal(part, whole[at:end]) {
				require.Equal(t, make([]byte, len(part)), part, "sector at %d", at)
				zeros++
			}
			at = end - 1
		}
	}
	require.Greater(t, len(lengths), 3)
	require.Positive(t, zeros)
}

// TestTheCallInTheMiddleNeverReturns: nobody hears of a write that the power
// interrupted, nor of a sync, and the sync did nothing.
func TestTheCallInTheMiddleNeverReturns(t *testing.T) {
	d := New()
	dir, off := mounted(t, d)
	f, err := os.Create(dir + "/a")
	require.NoError(t, err)
	syncs(t, dir)
	_, err = f.WriteString("one")
	require.NoError(t, err)
	d.GoesAfter(1)
	heard := make(chan error, 1)
	go func() { heard <- f.Sync() }()
	<-d.Gone()
	require.Empty(t, heard)
	d.Release()
	require.Error(t, <-heard)
	_ = f.Close() // which is in the dark, too
	off()
	dir, off = mounted(t, d.After(Fate{}))
	defer off()
	b, err := os.ReadFile(dir + "/a")
	require.NoError(t, err)
	require.Empty(t, b)
}
