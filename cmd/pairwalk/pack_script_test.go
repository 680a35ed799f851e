package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"pairwalk/projection/handover"
)

// packCmds are what stories about packs say besides commands.
var packCmds = map[string]func(*testscript.TestScript, bool, []string){
	"swap": swapText, "resum": sumAnew, "moment": takeMoment, "samebut": samePack, "leftovers": noLeftovers,
}

// swapText changes the first of some words in a file.
func swapText(ts *testscript.TestScript, _ bool, args []string) {
	name := ts.MkAbs(args[0])
	b, err := os.ReadFile(name)
	ts.Check(err)
	if !bytes.Contains(b, []byte(args[1])) {
		ts.Fatalf("%s has no %q", args[0], args[1])
	}
	ts.Check(os.WriteFile(name, bytes.Replace(b, []byte(args[1]), []byte(args[2]), 1), 0o644))
}

// sumAnew writes SHA256SUMS as somebody would who changed a file of a pack.
func sumAnew(ts *testscript.TestScript, _ bool, args []string) {
	var lines []string
	for name, content := range packAt(ts, args[0]) {
		if name != handover.SumsFile {
			lines = append(lines, fmt.Sprintf("%s  %s\n", handover.File{Content: content}.Sum(), name))
		}
	}
	slices.SortFunc(lines, func(a, b string) int { return strings.Compare(a[64:], b[64:]) })
	ts.Check(os.WriteFile(filepath.Join(ts.MkAbs(args[0]), handover.SumsFile), []byte(strings.Join(lines, "")), 0o644))
}

// packAt reads every file of a folder.
func packAt(ts *testscript.TestScript, folder string) map[string][]byte {
	out := map[string][]byte{}
	at := os.DirFS(ts.MkAbs(folder))
	ts.Check(fs.WalkDir(at, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		out[name], err = fs.ReadFile(at, name)
		return err
	}))
	return out
}

// takeMoment puts the moment of a pack into a variable.
func takeMoment(ts *testscript.TestScript, _ bool, args []string) {
	var m handover.Manifest
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(filepath.Join(args[0], handover.MarkFile))), &m))
	ts.Setenv(args[1], m.Moment)
}

// samePack holds that two folders have the same files, all the same but for some.
func samePack(ts *testscript.TestScript, _ bool, args []string) {
	a, b := packAt(ts, args[0]), packAt(ts, args[1])
	if len(a) != len(b) {
		ts.Fatalf("%d files and %d", len(a), len(b))
	}
	for name, content := range a {
		if !slices.Contains(args[2:], name) && !bytes.Equal(content, b[name]) {
			ts.Fatalf("%s differs", name)
		}
	}
}

// noLeftovers holds that no half-written folder is left.
func noLeftovers(ts *testscript.TestScript, _ bool, _ []string) {
	left, err := filepath.Glob(ts.MkAbs(".pairwalk-*"))
	ts.Check(err)
	if len(left) > 0 {
		ts.Fatalf("left behind: %v", left)
	}
}
