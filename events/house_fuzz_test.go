package events_test

import (
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// decoders read bytes that may come from outside. They are known by their names;
// readers of our own writing are called by one of these, or stand in the table.
var decoders = map[string][]string{
	"encoding/json":                   {"Unmarshal", "NewDecoder"},
	"encoding/csv":                    {"NewReader"},
	"archive/tar":                     {"NewReader"},
	"archive/zip":                     {"NewReader", "OpenReader"},
	"compress/gzip":                   {"NewReader"},
	"encoding/base64":                 {"StdEncoding", "RawURLEncoding"},
	"encoding/binary":                 {"Uvarint", "BigEndian", "LittleEndian"},
	"image":                           {"Decode", "DecodeConfig"},
	"github.com/miekg/dns":            {"Msg"},
	"github.com/xuri/excelize/v2":     {"OpenReader"},
	"github.com/tyler-smith/go-bip39": {"EntropyFromMnemonic"},
	"github.com/nats-io/nkeys":        {"Decode"},
}

// unread packages use those names for what they wrote themselves.
var unread = []string{
	"syncd/simtest",                   // the makings of chance
	"events/journal/journaltest",      // the same
	"projection/tale/...",             // the same
	"projection/handover/cobie/...",   // writes
	"projection/handover/asbuilt/...", // writes
}

var fuzzFunc = regexp.MustCompile(`(?m)^func (Fuzz\w+)\(`)

// fuzzTargets are the targets of the module, by the part they are in.
func fuzzTargets(t *testing.T) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	err := fs.WalkDir(os.DirFS(moduleDir), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && strings.HasPrefix(d.Name(), "node_modules") {
			return fs.SkipDir
		}
		if !strings.HasSuffix(name, "_test.go") {
			return nil
		}
		b, err := os.ReadFile(filepath.Join(moduleDir, filepath.FromSlash(name)))
		for _, m := range fuzzFunc.FindAllSubmatch(b, -1) {
			out[path.Dir(name)] = append(out[path.Dir(name)], string(m[1]))
		}
		return err
	})
	require.NoError(t, err)
	return out
}

// TestWhatDecodesIsFuzzed: a package that decodes bytes has a target.
func TestWhatDecodesIsFuzzed(t *testing.T) {
	targets := fuzzTargets(t)
	found := 0
	for _, r := range rooms(t) {
		if matches(r.part(), unread...) {
			continue
		}
		for _, file := range r.GoFiles {
			used := usedNames(t, filepath.Join(moduleDir, filepath.FromSlash(r.part()), file))
			for pkg, names := range decoders {
				if slices.ContainsFunc(names, func(n string) bool { return slices.Contains(used[pkg], n) }) {
					found++
					require.NotEmpty(t, targets[r.part()], "%s/%s decodes with %s, and its package has no fuzz target", r.part(), file, pkg)
				}
			}
		}
	}
	require.Greater(t, found, 20)
}

// TestEveryFuzzTargetStandsInTheTable of DEVELOPERS.md, and there are no others.
func TestEveryFuzzTargetStandsInTheTable(t *testing.T) {
	b, err := os.ReadFile(filepath.Join(moduleDir, "DEVELOPERS.md"))
	require.NoError(t, err)
	_, table, ok := strings.Cut(string(b), "\n## Bytes from outside\n")
	require.True(t, ok)
	table, _, _ = strings.Cut(table, "\n## ")
	told := map[string][]string{}
	row := regexp.MustCompile("^\\| [^|]+ \\| `([^`]+)` \\| (.+) \\|$")
	name := regexp.MustCompile("`(Fuzz[A-Za-z0-9]+)`")
	for line := range strings.Lines(table) {
		m := row.FindStringSubmatch(strings.TrimSpace(line))
		if m == nil {
			continue
		}
		for _, n := range name.FindAllStringSubmatch(m[2], -1) {
			told[m[1]] = append(told[m[1]], n[1])
		}
	}
	is := fuzzTargets(t)
	for _, names := range []map[string][]string{told, is} {
		for part := range names {
			slices.Sort(names[part])
		}
	}
	require.Equal(t, is, told)
}
