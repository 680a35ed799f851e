package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/member"
)

// The page's token stays, unless what is in its file is no token, as after a power
// cut.
func TestTheTokenStaysUnlessItIsNone(t *testing.T) {
	dir := t.TempDir()
	world := member.World{Rand: strings.NewReader(strings.Repeat("some randomness. ", 50))}
	first, err := tokenOf(dir, world, false)
	require.NoError(t, err)
	require.Len(t, first, 32)
	again, err := tokenOf(dir, world, false)
	require.NoError(t, err)
	require.Equal(t, first, again)
	for name, left := range map[string]string{"zeros": strings.Repeat("\x00", 33), "nothing": "", "a part": first[:20], "half zeros": first[:16] + strings.Repeat("\x00", 17)} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, tokenFile), []byte(left), 0o600))
		fresh, err := tokenOf(dir, world, false)
		require.NoError(t, err, name)
		require.Regexp(t, `^[\w-]{32}$`, fresh, name)
		require.NotEqual(t, left, fresh+"\n", name)
	}
}
