package main

import (
	"context"
	"io"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// throughServe is set where every command is to find its site served.
const throughServe = "PAIRWALK_TEST_SERVED"

// TestScriptsServed tells the same stories with each command's site held by a
// serving process: nothing that they look at may differ.
func TestScriptsServed(t *testing.T) {
	p := scripts()
	p.Files = storiesOf(t, func(name string) bool { return !several(name) })
	setup := p.Setup
	p.Setup = func(e *testscript.Env) error {
		e.Setenv(throughServe, "1")
		return setup(e)
	}
	testscript.Run(t, p)
}

// runServed runs a command while the site it is about is served, if it is about
// one that is open here.
func runServed(ctx context.Context, args []string) int {
	var site []string
	for i := 0; i < len(args) && strings.HasPrefix(args[i], "--"); i++ {
		if args[i] == "--home" || args[i] == "--site" {
			site = append(site, args[i], args[i+1])
			i++
		}
	}
	serving, stop := context.WithCancel(ctx)
	r, w := io.Pipe()
	s := process()
	s.stdout, s.stderr, s.tty = w, io.Discard, false
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		run(serving, append(site, "serve", "--listen", "none"), s)
		_ = w.Close()
	}()
	_, _ = r.Read(make([]byte, 1)) // it is up, or it is no site to serve
	go io.Copy(io.Discard, r)
	code := run(ctx, args, process())
	stop()
	<-ended
	return code
}

// awaitServing waits until so many sites of a home are served, one unless told.
func awaitServing(ts *testscript.TestScript, _ bool, args []string) {
	want := 1
	if len(args) > 1 {
		n, err := strconv.Atoi(args[1])
		ts.Check(err)
		want = n
	}
	for until := time.Now().Add(20 * time.Second); time.Now().Before(until); time.Sleep(10 * time.Millisecond) {
		if served(ts, args[0]) == want {
			return
		}
	}
	ts.Fatalf("nobody serves %s", args[0])
}

func served(ts *testscript.TestScript, home string) int {
	folders, err := filepath.Glob(ts.MkAbs(home) + "/sites/*")
	ts.Check(err)
	n := 0
	for _, folder := range folders {
		if conn, err := dialServing(folder); err == nil {
			ts.Check(conn.Close())
			n++
		}
	}
	return n
}

var drawn = regexp.MustCompile(`\b[0-9A-Z]{26}\b|\(([0-9A-Z]{6})\)|[0-9a-z]{20,}|\d\d:\d\d:\d\d(\.\d+)?|"at": "[^"]*"|(\d+ min )?\d+ s more`)

// alike compares two files but for ids, keys and seconds, which are drawn anew or
// run on.
func alike(ts *testscript.TestScript, neg bool, args []string) {
	mask := func(name string) string { return drawn.ReplaceAllString(ts.ReadFile(name), "#") }
	if x, y := mask(args[0]), mask(args[1]); (x == y) == neg {
		ts.Fatalf("%s:\n%s\n%s:\n%s", args[0], x, args[1], y)
	}
}

// shout says garbage at the local socket of a home's one site, and reads what
// comes back into a file.
func shout(ts *testscript.TestScript, _ bool, args []string) {
	folders, err := filepath.Glob(ts.MkAbs(args[0]) + "/sites/*")
	ts.Check(err)
	conn, err := dialServing(folders[0])
	ts.Check(err)
	defer conn.Close()
	_, err = conn.Write([]byte(args[1]))
	ts.Check(err)
	ts.Check(conn.(*net.UnixConn).CloseWrite())
	b, err := io.ReadAll(conn)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[2]), b, 0o600))
}
