package journal_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// A journal on an overlay is a journal.
func TestContractOnAnOverlay(t *testing.T) {
	journaltest.Run(t, func(t *testing.T) journaltest.Fixture {
		at, marks := t.TempDir(), t.TempDir()
		t.Cleanup(func() { require.Empty(t, filesUnder(t, at, marks), "nothing came to the folder") })
		return fixture(t, journal.Overlay(journal.Dir(at)), journal.Overlay(journal.Dir(marks)))
	})
}

// What the folder held can be read and changed, and stays as it was.
func TestOverlayLeavesTheFolderAlone(t *testing.T) {
	at := t.TempDir()
	base := journal.Dir(at)
	require.NoError(t, base.Mkdir("d"))
	for _, name := range []string{"d/kept", "d/grown", "d/cut", "d/moved", "d/gone"} {
		require.NoError(t, journal.Replace(base, name, []byte(name)))
	}
	before := filesUnder(t, at)
	o := journal.Overlay(base)

	f, err := o.Append("d/grown")
	require.NoError(t, err)
	_, err = f.Write([]byte(" more"))
	require.NoError(t, err)
	require.NoError(t, f.Close())
	require.NoError(t, o.Truncate("d/cut", 3))
	require.NoError(t, o.Rename("d/moved", "d/here"))
	require.NoError(t, o.Remove("d/gone"))
	require.NoError(t, journal.Replace(o, "e/new", []byte("new")))
	require.NoError(t, journal.Replace(o, "d/kept", []byte("d/kept")))

	require.Equal(t, "d/grown more", text(t, o, "d/grown"))
	require.Equal(t, "d/c", text(t, o, "d/cut"))
	require.Equal(t, "d/moved", text(t, o, "d/here"))
	require.Equal(t, "new", text(t, o, "e/new"))
	for _, name := range []string{"d/moved", "d/gone", "d/none"} {
		_, err := o.Read(name)
		require.ErrorIs(t, err, fs.ErrNotExist, name)
		require.ErrorIs(t, o.Remove(name), fs.ErrNotExist, name)
	}
	names, err := o.List("d")
	require.NoError(t, err)
	require.Equal(t, []string{"cut", "grown", "here", "kept"}, names)
	require.Equal(t, []string{"d/cut", "d/gone", "d/grown", "d/here", "d/moved", "e/new"}, o.Changed(), "and not what was written anew just as it was")
	require.Equal(t, before, filesUnder(t, at))
}

// The lock of the folder is not asked for: another process may have it.
func TestOverlayTakesNoLock(t *testing.T) {
	at := journal.Dir(t.TempDir())
	lock, err := at.Lock("lock")
	require.NoError(t, err)
	o := journal.Overlay(at)
	mine, err := o.Lock("lock")
	require.NoError(t, err)
	_, err = o.Lock("lock")
	require.ErrorIs(t, err, journal.ErrLocked, "but two journals on one overlay are kept apart")
	require.NoError(t, mine.Close())
	require.NoError(t, lock.Close())
}

func text(t *testing.T, at journal.FS, name string) string {
	b, err := at.Read(name)
	require.NoError(t, err)
	return string(b)
}

// filesUnder reads all files below folders.
func filesUnder(t *testing.T, folders ...string) map[string]string {
	out := map[string]string{}
	for _, folder := range folders {
		require.NoError(t, filepath.WalkDir(folder, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			b, err := os.ReadFile(name)
			out[name] = string(b)
			return err
		}))
	}
	return out
}
