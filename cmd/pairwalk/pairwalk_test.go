package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"pairwalk": func() {
		ctx, stop := untilStopped()
		defer stop()
		if os.Getenv(throughServe) != "" {
			os.Exit(runServed(ctx, os.Args[1:]))
		}
		os.Exit(run(ctx, os.Args[1:], process()))
	}})
}

// TestScripts runs the command as a user would, by the stories in
// testdata/script. Under the race detector it tells those of several processes at
// work; a command by itself has nothing to race, and TestScriptsServed has each of
// the other stories told by a serving process.
func TestScripts(t *testing.T) {
	p := scripts()
	p.Dir = "testdata/script"
	if underRace {
		p.Dir, p.Files = "", storiesOf(t, several)
	}
	testscript.Run(t, p)
}

// several says whether a story is of several processes, by the name of its file.
func several(name string) bool {
	return slices.ContainsFunc([]string{"serve", "sync", "relay"}, func(first string) bool { return strings.HasPrefix(name, first) })
}

// storiesOf lists the scripts of some names.
func storiesOf(t *testing.T, these func(name string) bool) []string {
	all, err := filepath.Glob("testdata/script/*.txtar")
	require.NoError(t, err)
	some := slices.DeleteFunc(all, func(name string) bool { return !these(filepath.Base(name)) })
	require.NotEmpty(t, some)
	return some
}

func scripts() testscript.Params {
	p := testscript.Params{
		Setup: func(e *testscript.Env) error {
			e.Setenv("PAIRWALK_HOME", e.WorkDir+"/home")
			e.Setenv("PAIRWALK_CLOCK", "2026-03-02T09:00:00Z")
			e.Setenv("TZ", "UTC")
			e.Setenv("GORACE", os.Getenv("GORACE")) // under the race detector every process lingers for as long as it says
			e.Setenv("FORGED", "ok\nABC123  2026-03-02 09:00  Ann  paired 9-9")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"entry": takeEntry, "token": takeToken, "cut": cut, "latin": latin, "workbook": makeWorkbook,
			"serving": awaitServing, "alike": alike, "shout": shout, "freeaddr": takeAddr, "spoil": spoil, "otherlead": takeOtherLead,
		},
	}
	maps.Copy(p.Cmds, packCmds)
	maps.Copy(p.Cmds, relayCmds)
	return p
}

// spoil flips a bit in every picture below a folder.
func spoil(ts *testscript.TestScript, _ bool, args []string) {
	found, err := filepath.Glob(filepath.Join(ts.MkAbs(args[0]), "*", "pictures", "*"))
	ts.Check(err)
	if len(found) == 0 {
		ts.Fatalf("no picture in %s", args[0])
	}
	for _, name := range found {
		b, err := os.ReadFile(name)
		ts.Check(err)
		b[len(b)/2] ^= 1
		ts.Check(os.WriteFile(name, b, 0o600))
	}
}

// takeEntry puts the id of the last entry printed into a variable.
func takeEntry(ts *testscript.TestScript, _ bool, args []string) {
	var doc struct {
		Entries []struct{ ID string }
	}
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &doc))
	ts.Setenv(args[0], doc.Entries[len(doc.Entries)-1].ID)
}

// takeToken puts the invite printed into a variable.
func takeToken(ts *testscript.TestScript, _ bool, args []string) {
	var doc struct{ Token string }
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &doc))
	ts.Setenv(args[0], doc.Token)
}

// takeOtherLead puts the name of the first other lead printed into a variable.
func takeOtherLead(ts *testscript.TestScript, _ bool, args []string) {
	var doc struct {
		OtherLeads []string `json:"other_leads"`
	}
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &doc))
	if len(doc.OtherLeads) == 0 {
		ts.Fatalf("no other lead was named")
	}
	ts.Setenv(args[0], doc.OtherLeads[0])
}

// cut takes the last quarter off a file.
func cut(ts *testscript.TestScript, _ bool, args []string) {
	name := ts.MkAbs(args[0])
	b, err := os.ReadFile(name)
	ts.Check(err)
	ts.Check(os.WriteFile(name, b[:len(b)*3/4], 0o600))
}

// latin writes a schedule in another encoding than UTF-8.
func latin(ts *testscript.TestScript, _ bool, args []string) {
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte("tag,kind,hub\n1-1,dimmer,B\xfcro\n"), 0o600))
}

// TestEveryCommandShowsAnExample holds for each log verb and every other command
// that takes arguments.
func TestEveryCommandShowsAnExample(t *testing.T) {
	parser, err := kong.New(&cli{}, groups)
	require.NoError(t, err)
	verbs := 0
	for _, leaf := range parser.Model.Leaves(true) {
		if len(leaf.Positional) == 0 && !strings.HasPrefix(leaf.FullPath(), "log ") {
			continue
		}
		t.Run(leaf.FullPath(), func(t *testing.T) {
			require.Contains(t, leaf.Detail, "Example: pairwalk ")
		})
		verbs++
	}
	require.Greater(t, verbs, 40)
}

// TestDemoHolds plays the whole made-up job.
func TestDemoHolds(t *testing.T) {
	var out, errs bytes.Buffer
	s := process()
	s.stdout, s.stderr, s.tty = &out, &errs, false
	s.env = func(string) string { return "" }
	require.Equal(t, exitDone, run(t.Context(), []string{"demo", "--dir", t.TempDir()}, s), errs.String())
	require.Contains(t, out.String(), "Every step above was checked, and held.")
	require.Contains(t, out.String(), notPermit)
	require.Equal(t, 4, strings.Count(out.String(), " --home "), "four commands to paste")
}

// TestLostOutputIsAFailure: somebody may rely on reading what was printed, such as
// a recovery sheet that is shown once.
func TestLostOutputIsAFailure(t *testing.T) {
	var errs bytes.Buffer
	s := process()
	s.stdout, s.stderr = full{}, &errs
	s.env = func(string) string { return "" }
	code := run(t.Context(), []string{"--home", t.TempDir(), "init", "Kiln", "--as", "Ann", "--practice"}, s)
	require.Equal(t, exitFailed, code)
	require.Contains(t, errs.String(), "did not get through: no space left")
}

// full is an output with no room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// TestDemoFailsLoudly makes one thing that the demo shows untrue.
func TestDemoFailsLoudly(t *testing.T) {
	var out bytes.Buffer
	s := &stage{app: &app{surroundings: surroundings{stdout: &out, env: func(string) string { return "" }}}}
	s.hold(true, "fine")
	require.NoError(t, s.err)
	s.hold(false, "%s", "the sky is green")
	s.hold(false, "and more")
	require.ErrorContains(t, s.err, "does not hold: the sky is green")
}

// TestFlagsHaveHelp keeps --help worth reading.
func TestFlagsHaveHelp(t *testing.T) {
	parser, err := kong.New(&cli{}, groups)
	require.NoError(t, err)
	for _, leaf := range parser.Model.Leaves(false) {
		require.NotEmpty(t, leaf.Help, leaf.FullPath())
		for _, flag := range leaf.Flags {
			require.NotEmpty(t, flag.Help, "%s --%s", leaf.FullPath(), flag.Name)
		}
		for _, arg := range leaf.Positional {
			require.NotEmpty(t, arg.Help, "%s %s", leaf.FullPath(), arg.Name)
		}
	}
}

// TestArgumentsAreText: what is typed in another encoding must not go into the log
// as something else. A file may be called anything.
func TestArgumentsAreText(t *testing.T) {
	home := t.TempDir()
	call := func(args ...string) (int, string) {
		var out, errs bytes.Buffer
		s := process()
		s.stdout, s.stderr = &out, &errs
		s.env = func(string) string { return "" }
		return run(t.Context(), append([]string{"--home", home}, args...), s), errs.String()
	}
	code, errs := call("init", "Kiln", "--as", "Ann", "--practice")
	require.Equal(t, exitDone, code, errs)
	code, errs = call("log", "note", "site", "b\xfcro")
	require.Equal(t, exitUse, code)
	require.Contains(t, errs, "is not valid UTF-8 text")
	code, errs = call("bundle", "out", home+"/b\xfcro")
	require.Equal(t, exitDone, code, errs)
}
