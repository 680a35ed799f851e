package events_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What the guides say they say once: a paragraph that stands twice was merged twice.
func TestHouseSaysNothingTwice(t *testing.T) {
	for _, name := range []string{"../README.md", "../DEVELOPERS.md"} {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		said := map[string]bool{}
		for paragraph := range strings.SplitSeq(string(text), "\n\n") {
			if len(paragraph) > 60 {
				require.False(t, said[paragraph], "%s says twice: %.80s", name, paragraph)
				said[paragraph] = true
			}
		}
		require.Greater(t, len(said), 10, name)
	}
}
