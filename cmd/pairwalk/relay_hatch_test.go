package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// A hatch closes without a fault and leaves nothing behind, however far it has come with
// opening.
func TestAHatchClosesOnce(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	for range 500 {
		home := t.TempDir()
		h, err := openHatch(home)
		require.NoError(t, err)
		dir := filepath.Dir(h.ln.Addr().String())
		h.serve(nil)
		require.NoError(t, h.close())
		require.NoFileExists(t, filepath.Join(home, relayingFile))
		_, err = os.Stat(dir)
		require.ErrorIs(t, err, fs.ErrNotExist)
	}
}
