package main

import (
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// relayCmds are what scripts about relays can do besides.
var relayCmds = map[string]func(*testscript.TestScript, bool, []string){
	"relaying": awaitRelaying, "fetch": fetch, "copyhome": copyHome, "private": private,
}

// private fails where anybody but its owner can read what is in a folder.
func private(ts *testscript.TestScript, _ bool, args []string) {
	ts.Check(filepath.WalkDir(ts.MkAbs(args[0]), func(name string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
			ts.Fatalf("%s can be read by others: %s", name, info.Mode())
		}
		return err
	}))
}

// awaitRelaying waits until the relay of a home answers.
func awaitRelaying(ts *testscript.TestScript, _ bool, args []string) {
	for until := time.Now().Add(20 * time.Second); time.Now().Before(until); time.Sleep(10 * time.Millisecond) {
		if atHatch(ts.MkAbs(args[0])) != nil {
			return
		}
	}
	ts.Fatalf("no relay runs in %s", args[0])
}

// fetch puts what is at an address into a file, after its status.
func fetch(ts *testscript.TestScript, _ bool, args []string) {
	r, err := http.Get(args[0])
	ts.Check(err)
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), fmt.Appendf(nil, "%d\n%s", r.StatusCode, b), 0o600))
}

// copyHome copies a home's folder as it is, but for the folder of marks.
func copyHome(ts *testscript.TestScript, _ bool, args []string) {
	from, to := ts.MkAbs(args[0]), ts.MkAbs(args[1])
	ts.Check(os.CopyFS(to, os.DirFS(from)))
	ts.Check(os.RemoveAll(filepath.Join(to, "marks")))
}
