package events_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// These tests hold the shape of the whole module, not of this package: they live
// here because everything else stands on it.

const (
	module    = "pairwalk"
	moduleDir = ".."
)

// row lets a part of the module stand on others.
type row struct {
	part string
	on   []string
}

// house says of each part of the module which of our packages it may stand on,
// at whatever depth. The first matching row counts; a pattern that ends in /...
// means the packages below too. A part with no row is an error: give it one.
var house = []row{
	{"events", nil},
	{"events/seal", []string{"events"}},
	{"events/label", nil},
	{"events/...", []string{"events/..."}},
	{"projection", []string{"events"}},
	{"projection/radio", nil},
	{"projection/mesh/graph", nil},
	{"projection/handover/asbuilt", []string{"events", "events/intake", "events/label", "projection/..."}}, // writes what intake reads
	{"projection/handover/cobie/...", []string{"events", "events/label", "projection/..."}},                // a bar code is no place for a secret
	{"projection/handover/press", []string{"events", "events/intake", "events/label", "projection/..."}},   // the two, and the rest of a pack
	{"projection/...", []string{"events", "projection/..."}},
	{"syncd", []string{"events", "events/seal"}},
	{"syncd/member/...", []string{"events/...", "projection/...", "syncd/..."}},  // the joiner
	{"syncd/simtest/...", []string{"events/...", "projection/...", "syncd/..."}}, // runs whole members
	{"syncd/relay", []string{"events/...", "projection/...", "syncd/..."}},       // ties many members to one server, as cmd ties one
	{"syncd/depot", []string{"events/...", "projection/...", "syncd/..."}},       // makes members for the last
	{"syncd/...", []string{"events/...", "syncd", "syncd/bus/..."}},
	{"cmd/...", []string{"..."}},
}

// nats is where the NATS modules may be named.
var nats = []string{"syncd/bus/...", "syncd/depot/..."}

// touches says which parts may use what of the world outside: files and
// processes, and the clock and the environment.
var touches = []struct {
	what  string
	names map[string][]string // package: its names, or * for all
	by    []string
}{
	{"files and processes", map[string][]string{"os": {"*"}, "os/exec": {"*"}, "os/signal": {"*"}, "syscall": {"*"}}, []string{"cmd/...", "events/journal/..."}},
	{"the environment", map[string][]string{"os": {"Getenv", "LookupEnv", "Environ", "ExpandEnv", "Args", "Hostname", "UserHomeDir"}}, []string{"cmd/..."}},
	{"the clock", map[string][]string{"time": {"Now", "Since", "Until"}}, []string{"cmd/..."}},
}

// concurrent is what may start goroutines.
var concurrent = []string{
	"cmd/...", "syncd/bus/...",
	"syncd/relay",    // waits for a drain that may take too long
	"syncd/depot",    // follows a cluster
	"events/journal", // reads and decodes lines on all processors, and returns when that is done
}

// browser is what also builds for a browser.
var browser = []string{"events", "events/seal", "events/label", "syncd", "syncd/member", "syncd/member/checkup", "projection/..."}

// topLevel is all there is at the top, besides dot files.
var topLevel = []string{
	"cmd", "events", "projection", "syncd", "testdata",
	"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "docker-compose.yml", "LICENSE",
}

// matches says whether a part, such as events/seal, is one of the patterns.
func matches(part string, patterns ...string) bool {
	return slices.ContainsFunc(patterns, func(p string) bool {
		stem, below := strings.CutSuffix(p, "...")
		return p == part || below && (stem == "" || strings.HasPrefix(part+"/", stem))
	})
}

// room is one of our packages, as the go command sees it.
type room struct {
	ImportPath     string
	Dir            string
	Imports        []string
	Deps           []string
	GoFiles        []string
	IgnoredGoFiles []string
}

func (r room) part() string { return strings.TrimPrefix(r.ImportPath, module+"/") }

// ours lists the parts of the module that the room stands on.
func (r room) ours() []string {
	var out []string
	for _, d := range r.Deps {
		if part, ok := strings.CutPrefix(d, module+"/"); ok {
			out = append(out, part)
		}
	}
	return out
}

func rooms(t *testing.T) []room {
	t.Helper()
	var out []room
	d := json.NewDecoder(bytes.NewReader(command(t, nil, "go", "list", "-e", "-json=ImportPath,Dir,Imports,Deps,GoFiles,IgnoredGoFiles", "./...")))
	for {
		var r room
		err := d.Decode(&r)
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		if len(r.GoFiles)+len(r.IgnoredGoFiles) > 0 {
			out = append(out, r)
		}
	}
	require.NotEmpty(t, out)
	return out
}

func command(t *testing.T, env []string, name string, args ...string) []byte {
	t.Helper()
	c := exec.Command(name, args...)
	c.Dir, c.Env = moduleDir, append(os.Environ(), env...)
	var complaint bytes.Buffer
	c.Stderr = &complaint
	out, err := c.Output()
	require.NoError(t, err, complaint.String())
	return out
}

func TestImportsPointDown(t *testing.T) {
	for _, r := range rooms(t) {
		i := slices.IndexFunc(house, func(w row) bool { return matches(r.part(), w.part) })
		require.GreaterOrEqual(t, i, 0, "%s stands nowhere in the house: give it a row", r.part())
		for _, d := range r.ours() {
			require.True(t, matches(d, house[i].on...), "%s must not stand on %s", r.part(), d)
		}
		for _, d := range r.Imports {
			if strings.HasPrefix(d, "github.com/nats-io/") {
				require.True(t, matches(r.part(), nats...), "%s must leave NATS (%s) to %v", r.part(), d, nats)
			}
		}
	}
}

// The clock, the environment and files come in at the top and are passed down.
// Files of every platform are read, not only of this one.
func TestOnlyTheTopTouchesTheWorld(t *testing.T) {
	for _, r := range rooms(t) {
		for _, file := range slices.Concat(r.GoFiles, r.IgnoredGoFiles) {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			used := usedNames(t, filepath.Join(moduleDir, filepath.FromSlash(r.part()), file))
			for _, w := range touches {
				if matches(r.part(), w.by...) {
					continue
				}
				for pkg, names := range w.names {
					for _, name := range used[pkg] {
						require.False(t, names[0] == "*" || slices.Contains(names, name), "%s/%s touches %s: %s.%s", r.part(), file, w.what, path.Base(pkg), name)
					}
				}
			}
		}
	}
}

// The pure rooms start no goroutine, so the race detector has nothing to find in
// them by themselves.
func TestWhoStartsGoroutines(t *testing.T) {
	found := false
	for _, r := range rooms(t) {
		for _, file := range slices.Concat(r.GoFiles, r.IgnoredGoFiles) {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(moduleDir, filepath.FromSlash(r.part()), file), nil, parser.SkipObjectResolution)
			require.NoError(t, err)
			ast.Inspect(f, func(n ast.Node) bool {
				_, starts := n.(*ast.GoStmt)
				if call, ok := n.(*ast.CallExpr); ok { // a WaitGroup's, say
					sel, ok := call.Fun.(*ast.SelectorExpr)
					starts = ok && sel.Sel.Name == "Go"
				}
				found = found || starts
				require.False(t, starts && !matches(r.part(), concurrent...), "%s/%s starts a goroutine", r.part(), file)
				return true
			})
		}
	}
	require.True(t, found)
}

// usedNames maps the path of each imported package to the names a file uses of
// it, and the empty one for the import itself.
func usedNames(t *testing.T, file string) map[string][]string {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.SkipObjectResolution)
	require.NoError(t, err)
	paths, used := map[string]string{}, map[string][]string{}
	for _, spec := range f.Imports {
		p, err := strconv.Unquote(spec.Path.Value)
		require.NoError(t, err)
		name := path.Base(p)
		if spec.Name != nil {
			name = spec.Name.Name
		}
		require.NotEqual(t, ".", name, "%s: a dot import hides where names are from", file)
		paths[name] = p
		used[p] = append(used[p], "")
	}
	ast.Inspect(f, func(n ast.Node) bool {
		if sel, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := sel.X.(*ast.Ident); ok && paths[x.Name] != "" {
				used[paths[x.Name]] = append(used[paths[x.Name]], sel.Sel.Name)
			}
		}
		return true
	})
	return used
}

func TestNothingElseAtTheTop(t *testing.T) {
	entries, err := os.ReadDir(moduleDir)
	require.NoError(t, err)
	built, err := os.ReadFile(filepath.Join(moduleDir, ".gitignore"))
	require.NoError(t, err)
	for _, e := range entries {
		known := strings.HasPrefix(e.Name(), ".") || slices.Contains(topLevel, e.Name())
		for pattern := range strings.FieldsSeq(string(built)) { // what a build may leave
			ignored, err := path.Match(strings.TrimPrefix(pattern, "/"), e.Name())
			require.NoError(t, err)
			known = known || ignored
		}
		require.True(t, known, "%s has no place at the top level", e.Name())
	}
}

// What a phone's browser will run is built for it every time.
func TestThePureRoomsBuildForABrowser(t *testing.T) {
	args := []string{"build"}
	for _, r := range rooms(t) {
		if matches(r.part(), browser...) {
			args = append(args, r.ImportPath)
		}
	}
	require.Greater(t, len(args), 2)
	command(t, []string{"GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0"}, "go", args...)
}

// The patterns themselves, so that a rule which matches nothing can't hide.
func TestHousePatterns(t *testing.T) {
	require.True(t, matches("events", "events"))
	require.False(t, matches("events/seal", "events"))
	require.True(t, matches("events/seal", "events/..."))
	require.True(t, matches("events", "events/..."))
	require.False(t, matches("eventsome", "events/..."))
	require.True(t, matches("cmd/pairwalk/web", "..."))
}
