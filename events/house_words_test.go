package events_test

import (
	"os"
	"path/filepath"
	"regexp"
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

// namedTest is a test as the guide names it: package and name, and the script behind a
// slash where it is one.
var namedTest = regexp.MustCompile("`([a-z/]+) (Test[A-Za-z0-9]+)(?:/([a-z_]+))?`")

// Each threat of the guide names the tests that hold it, and each is there to be run.
func TestHouseHoldsEveryThreatByATest(t *testing.T) {
	guide, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	_, section, ok := strings.Cut(string(guide), "\n## Threat model\n")
	require.True(t, ok)
	section, _, _ = strings.Cut(section, "\n## ")
	threats, sources := 0, map[string]string{}
	for line := range strings.Lines(section) {
		if !strings.HasPrefix(line, "| ") || strings.HasPrefix(line, "| who ") {
			continue
		}
		threats++
		named := namedTest.FindAllStringSubmatch(line, -1)
		require.NotEmpty(t, named, "no test holds: %.60s", line)
		require.Equal(t, strings.Count(line, " Test"), len(named), "a test that can't be read in: %.60s", line)
		for _, n := range named {
			require.True(t, strings.Contains(testsOf(t, n[1], sources), "\nfunc "+n[2]+"(t *testing.T)"), "%s has no test %s", n[1], n[2])
			if n[3] != "" {
				require.FileExists(t, filepath.Join("..", n[1], "testdata", "script", n[3]+".txtar"))
			}
		}
	}
	require.GreaterOrEqual(t, threats, 15)
}

// testsOf are the sources of a package's tests.
func testsOf(t *testing.T, pkg string, known map[string]string) string {
	if text, ok := known[pkg]; ok {
		return text
	}
	files, err := filepath.Glob(filepath.Join("..", filepath.FromSlash(pkg), "*_test.go"))
	require.NoError(t, err)
	var all strings.Builder
	for _, name := range files {
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		all.Write(b)
	}
	known[pkg] = all.String()
	return known[pkg]
}
