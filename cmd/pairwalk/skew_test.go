package main

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

// older is this command as it was before faults were known: built from these very
// sources without one line of the table of kinds.
func older(t *testing.T) string {
	t.Helper()
	kinds, err := filepath.Abs("../../events/kinds.go")
	require.NoError(t, err)
	source, err := os.ReadFile(kinds)
	require.NoError(t, err)
	const line = "\t\"fault.found\":      field[FaultFound](),\n"
	require.Equal(t, 1, strings.Count(string(source), line))
	dir := t.TempDir()
	before, list, built := filepath.Join(dir, "kinds.go"), filepath.Join(dir, "overlay.json"), filepath.Join(dir, "pairwalk")
	require.NoError(t, os.WriteFile(before, []byte(strings.Replace(string(source), line, "", 1)), 0o600))
	b, err := json.Marshal(map[string]map[string]string{"Replace": {kinds: before}})
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(list, b, 0o600))
	out, err := exec.CommandContext(t.Context(), "go", "build", "-overlay", list, "-o", built, ".").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return built
}

// by has somebody's processes run another build of the command.
func by(build string) func(*exec.Cmd) error {
	return func(c *exec.Cmd) error {
		c.Path = build
		return c.Start()
	}
}

// runBy runs a command of another build.
func (d *desk) runBy(build, name string, args ...string) string {
	c := d.command(context.Background(), name, args...)
	c.Path, c.Err = build, nil
	out, err := c.CombinedOutput()
	require.NoError(d.t, err, "%s", out)
	return string(out)
}

// TestAnOlderVersionOnTheWay: a member whose version lacks a kind keeps what it
// does not understand, says so, and passes it on to somebody who does and never
// meets its author. Once it is of today's version it reads what it kept.
func TestAnOlderVersionOnTheWay(t *testing.T) {
	t.Parallel()
	old := older(t)
	d := newDesk(t)
	for _, name := range []string{"Bo", "Cy"} {
		require.NoError(t, d.joins(name).Close())
	}
	require.NoError(t, d.ann.Close())
	ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
	d.runBy(old, "bo", "sync", ann.addr)
	d.run("cy", "sync", ann.addr)
	d.runBy(old, "bo", "sync", ann.addr) // now all know of each other
	ann.stop()

	bo := d.posts("bo", by(old), "--listen", "127.0.0.1:0")
	for _, symptom := range []string{"hums", "flickers"} {
		fault := member.Entry{Payload: events.FaultFound{Of: events.Hub("H1"), Symptom: symptom, Severity: events.Severities[0]}}
		m, err := d.home("ann").Open("")
		require.NoError(t, err)
		_, err = m.Record(t.Context(), fault)
		require.NoError(t, err)
		require.NoError(t, m.Close())
	}
	d.run("ann", "sync", bo.addr)
	require.Contains(t, d.runBy(old, "bo", "status"), "2 entries of a kind this version does not know: kept and passed on.")
	require.NotContains(t, d.runBy(old, "bo", "faults"), "flickers")
	d.runBy(old, "bo", "log", "note", "hub:H1", "what is it")

	d.run("cy", "sync", bo.addr)
	require.Contains(t, d.run("cy", "faults"), "flickers", "by way of somebody who can't read it")
	d.run("ann", "sync", bo.addr)
	d.agree("ann", "cy")
	require.NotEqual(t, d.run("ann", "--json", "status"), d.runBy(old, "bo", "--json", "status"))
	bo.stop()

	require.Contains(t, d.run("bo", "faults"), "flickers", "kept, and read by the version of today")
	d.agree("ann", "bo", "cy")
	require.Contains(t, d.run("bo", "verify"), "every signature checked")
}
