package main

import (
	"bytes"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
	"pairwalk/syncd/member/checkup"
)

// has says whether a kind is told in a state.
func has(a checkup.Answer, kind checkup.Kind, state checkup.State) bool {
	return slices.ContainsFunc(a.Findings, func(f checkup.Finding) bool { return f.Kind == kind && f.State == state })
}

// wreck is a home that something happened to, and what must be told of it.
type wreck struct {
	name string
	by   func(c *clinic)
	home string
	tell []string // kind=state
}

func flip(at func(int) int) func([]byte) []byte {
	return func(b []byte) []byte { b[at(len(b))] ^= 4; return b }
}

// spoilSecond flips a bit in the second line, in what it says.
func spoilSecond(b []byte) []byte {
	return flip(func(int) int { return bytes.IndexByte(b, '\n') + 30 })(b)
}

func gone([]byte) []byte { return nil }

func lessOne(b []byte) []byte { return b[:bytes.LastIndexByte(b[:len(b)-1], '\n')+1] }

func early(n int) int { return n / 3 }

func wrecks() []wreck {
	return slices.Concat(wreckedLogs(), wreckedMarks(), wreckedKeys(), wreckedHomes(), wreckedTeams())
}

func wreckedLogs() []wreck {
	return []wreck{
		{"nothing", func(*clinic) {}, "ann", []string{"journal.lines=well", "mark.copies=well", "keys.join=well", "peers.unsent=well", "keys.leads=look", "clock.steady=well"}},
		{"a flipped byte", func(c *clinic) { c.own(spoilSecond) }, "ann", []string{"journal.damaged=wrong", "journal.own=well"}},
		{"a flipped byte, and opened since", func(c *clinic) { c.own(spoilSecond); c.do("ann", "status") }, "ann", []string{"journal.damaged=wrong", "journal.holes=look"}},
		{"the last line lost", func(c *clinic) { c.own(lessOne) }, "ann", []string{"journal.missing=wrong", "journal.behind-mark=wrong", "journal.own=wrong"}},
		{"half a line at the end", func(c *clinic) { c.own(func(b []byte) []byte { return b[:len(b)-30] }) }, "ann", []string{"journal.torn-end=look", "journal.own=wrong", "journal.mends=look"}},
		{"half a line, and opened since", func(c *clinic) {
			c.own(func(b []byte) []byte { return b[:len(b)-30] })
			c.do("ann", "log", "note", "site", "on")
		}, "ann", []string{"journal.missing=wrong", "journal.aside=look", "journal.own=well"}},
		{"receipts spoilt", func(c *clinic) { c.change("ann", "sites/*/receipts", flip(early)) }, "ann", []string{"journal.bad-receipt=look"}},
		{"a feed gone", func(c *clinic) { c.change("ann", "sites/*/feeds/*", gone) }, "ann", []string{"journal.missing=wrong", "journal.own=wrong", "keys.join=wrong"}},
		{"feeds is no folder", func(c *clinic) {
			c.change("ann", "sites/*/feeds/*", gone)
			require.NoError(c.t, os.Remove(c.site("ann")+"/feeds"))
			require.NoError(c.t, os.WriteFile(c.site("ann")+"/feeds", nil, 0o600))
		}, "ann", []string{"journal.lines=wrong", "keys.open=wrong"}},
	}
}

func wreckedMarks() []wreck {
	return []wreck{
		{"inner mark gone", func(c *clinic) { c.change("ann", "sites/*/mark", gone) }, "ann", []string{"mark.copies=look", "journal.own=well"}},
		{"inner mark spoilt", func(c *clinic) { c.change("ann", "sites/*/mark", flip(early)) }, "ann", []string{"mark.copies=look", "journal.own=well"}},
		{"outer mark gone", func(c *clinic) { c.change("ann", "marks/*", gone) }, "ann", []string{"mark.copies=wrong", "journal.own=wrong"}},
		{"both marks gone", func(c *clinic) { c.change("ann", "marks/*", gone); c.change("ann", "sites/*/mark", gone) }, "ann", []string{"mark.copies=wrong", "journal.own=wrong"}},
		{"the site's folder copied into a new home", func(c *clinic) {
			require.NoError(c.t, os.CopyFS(c.home("new")+"/sites", os.DirFS(c.home("ann")+"/sites")))
		}, "new", []string{"mark.copies=wrong", "journal.behind-mark=wrong", "journal.own=wrong"}},
		{"put back from a backup", func(c *clinic) {
			require.NoError(c.t, os.CopyFS(c.dir+"/backup", os.DirFS(c.site("ann"))))
			c.do("ann", "log", "note", "site", "since")
			c.do("ann", "status")
			folder := c.site("ann")
			require.NoError(c.t, os.RemoveAll(folder))
			require.NoError(c.t, os.CopyFS(folder, os.DirFS(c.dir+"/backup")))
		}, "ann", []string{"mark.copies=wrong", "journal.own=wrong"}},
		{"two installations of one home", func(c *clinic) {
			require.NoError(c.t, os.CopyFS(c.home("twin"), os.DirFS(c.home("ann"))))
			c.do("twin", "log", "note", "site", "here")
			c.do("ann", "log", "note", "site", "there")
			c.carry("twin", "ann")
		}, "ann", []string{"journal.forks=wrong", "journal.own=wrong"}},
	}
}

func wreckedKeys() []wreck {
	return []wreck{
		{"keys gone", func(c *clinic) { c.change("ann", "sites/*/keys.json", gone) }, "ann", []string{"keys.read=wrong", "journal.lines=well"}},
		{"keys spoilt", func(c *clinic) { c.change("ann", "sites/*/keys.json", func(b []byte) []byte { return b[:40] }) }, "ann", []string{"keys.read=wrong", "journal.lines=well"}},
		{"keys are a folder", func(c *clinic) {
			c.change("ann", "sites/*/keys.json", gone)
			require.NoError(c.t, os.Mkdir(c.site("ann")+"/keys.json", 0o700))
		}, "ann", []string{"keys.read=wrong"}},
		{"keys of a colleague", func(c *clinic) {
			b, err := os.ReadFile(c.site("bo") + "/keys.json")
			require.NoError(c.t, err)
			c.change("ann", "sites/*/keys.json", func([]byte) []byte { return b })
		}, "ann", []string{"keys.feed=wrong"}},
		{"keys of another site", func(c *clinic) {
			c.do("lime", "init", "Lime", "--as", "Ann", "--zone", "UTC")
			b, err := os.ReadFile(c.site("lime") + "/keys.json")
			require.NoError(c.t, err)
			c.change("ann", "sites/*/keys.json", func([]byte) []byte { return b })
		}, "ann", []string{"keys.read=wrong"}},
		{"keys for all to read", func(c *clinic) { require.NoError(c.t, os.Chmod(c.site("ann")+"/keys.json", 0o644)) }, "ann", []string{"disk.private=wrong"}},
		{"folder for all to look into", func(c *clinic) { require.NoError(c.t, os.Chmod(c.site("ann"), 0o755)) }, "ann", []string{"disk.private=look"}},
	}
}

func wreckedHomes() []wreck {
	return []wreck{
		{"sites is no folder", func(c *clinic) {
			require.NoError(c.t, os.RemoveAll(c.home("ann")+"/sites"))
			c.write("ann/sites", "")
		}, "ann", []string{"keys.sites=wrong"}},
		{"the home is a file", func(c *clinic) { c.write("file", "") }, "file", []string{"disk.folder=wrong"}},
		{"no home", func(*clinic) {}, "none", []string{"disk.folder=well", "keys.sites=look"}},
		{"an empty home", func(c *clinic) { require.NoError(c.t, os.Mkdir(c.home("empty"), 0o700)) }, "empty", []string{"disk.write=well", "keys.sites=look"}},
		{"files of another program", func(c *clinic) {
			require.NoError(c.t, os.WriteFile(c.site("ann")+"/feeds/x (copy).txt", nil, 0o600))
		}, "ann", []string{"disk.others=look"}},
	}
}

func wreckedTeams() []wreck {
	return []wreck{
		{"clock set back", func(c *clinic) { c.wall = c.wall.Add(-5 * time.Hour) }, "ann", []string{"clock.past=wrong", "clock.steady=look"}},
		{"clock set forward", func(c *clinic) { c.wall = c.wall.Add(5 * time.Hour) }, "ann", []string{"clock.past=well", "clock.steady=look"}},
		{"a colleague's clock ahead", func(c *clinic) {
			c.wall = c.wall.Add(5 * time.Hour)
			c.do("bo", "log", "note", "site", "late")
			c.wall = c.wall.Add(-5 * time.Hour)
			c.carry("bo", "ann")
		}, "ann", []string{"clock.past=look"}},
		{"revoked", func(c *clinic) { c.do("ann", "members", "revoke", "Bo", "--why", "phone lost"); c.carry("ann", "bo") }, "bo", []string{"keys.join=wrong"}},
		{"not heard of yet", func(c *clinic) { c.do("cy", "join", c.invite(), "--as", "Cy") }, "cy", []string{"keys.join=look", "peers.unsent=look"}},
		{"not heard of, and too late", func(c *clinic) {
			c.do("cy", "join", c.invite(), "--as", "Cy")
			c.wall, c.mono = c.wall.Add(72*time.Hour), c.mono+72*3600_000
		}, "cy", []string{"keys.join=wrong"}},
		{"an invite used twice", func(c *clinic) {
			token := c.invite()
			for _, name := range []string{"cy", "dee"} {
				c.do(name, "join", token, "--as", name)
				c.carry(name, "ann")
			}
			c.carry("ann", "dee")
		}, "dee", []string{"keys.join=wrong"}},
		{"entries that nobody has", func(c *clinic) { c.do("ann", "log", "note", "site", "alone") }, "ann", []string{"peers.unsent=look"}},
		{"a picture spoilt", func(c *clinic) {
			c.do("ann", "log", "photo", "1-1", c.write("dot.gif", "GIF89a"))
			c.change("ann", "sites/*/pictures/*", flip(early))
		}, "ann", []string{"journal.pictures=wrong"}},
		{"a picture elsewhere", func(c *clinic) {
			c.do("ann", "log", "photo", "1-1", c.write("dot.gif", "GIF89a"))
			c.carry("ann", "bo")
		}, "bo", []string{"journal.pictures=look"}},
	}
}

// TestDoctorFindsEveryWreck spoils a real home in every way one can think of. The
// doctor says so by kind and exit code, and leaves it as it is.
func TestDoctorFindsEveryWreck(t *testing.T) {
	whole := newClinic(t)
	for _, w := range wrecks() {
		t.Run(w.name, func(t *testing.T) {
			t.Parallel()
			c := whole.copied(t)
			w.by(c)
			a, code := c.looked(w.home, nil)
			for _, tell := range w.tell {
				kind, state, _ := strings.Cut(tell, "=")
				require.True(t, has(a, checkup.Kind(kind), checkup.State(state)), "%s\n%+v", tell, a.Findings)
			}
			bad := strings.Contains(strings.Join(w.tell, " "), "=wrong")
			require.Equal(t, bad, a.Count(checkup.Wrong) > 0, "%+v", a.Findings)
			require.Equal(t, bad, code == exitFailed)
			text, out, _ := c.call(w.home, nil, "doctor", "--all")
			require.Equal(t, code, text)
			require.Equal(t, len(a.Findings), strings.Count(out, "  well ")+strings.Count(out, "  look ")+strings.Count(out, "  wrong  "), out)
		})
	}
}

// TestDoctorOnTheClockItself: the one setting that keeps every other command from
// running.
func TestDoctorOnTheClockItself(t *testing.T) {
	c := newClinic(t)
	a, code := c.looked("ann", map[string]string{"PAIRWALK_CLOCK": "soon"})
	require.Equal(t, exitFailed, code)
	require.True(t, has(a, "clock.made-up", checkup.Wrong))
	require.True(t, has(a, "journal.lines", checkup.Well), "and goes on")
	a, code = c.looked("ann", map[string]string{"PAIRWALK_CLOCK": "+11m"})
	require.Equal(t, exitFailed, code)
	require.True(t, has(a, "clock.made-up", checkup.Wrong), "Kiln is a real site")
	require.True(t, has(a, "journal.lines", checkup.Well))

	c.do("lime", "init", "Lime", "--as", "Ann", "--practice", "--zone", "UTC")
	a, code = c.looked("lime", map[string]string{"PAIRWALK_CLOCK": "+11m"})
	require.Equal(t, exitDone, code)
	require.True(t, has(a, "clock.made-up", checkup.Look))
}

// TestDoctorOnSeveralSites: all of them, or the one that is asked for.
func TestDoctorOnSeveralSites(t *testing.T) {
	c := newClinic(t)
	c.do("ann", "init", "Lime", "--as", "Ann", "--zone", "UTC")
	a, _ := c.looked("ann", nil)
	require.Len(t, a.Sites, 2)
	a, _ = c.looked("ann", nil, "--site", "lime")
	require.Len(t, a.Sites, 1)
	require.Equal(t, "Lime", a.Sites[0].Name)
	for _, f := range a.Findings {
		if strings.HasPrefix(f.Run, "pairwalk") {
			require.Contains(t, f.Run, "pairwalk --site Lime ")
		}
	}
	code, _, errs := c.call("ann", nil, "doctor", "--site", "nowhere")
	require.Equal(t, exitFailed, code)
	require.Contains(t, errs, `no site called "nowhere" here`)
	code, _, _ = c.call("ann", nil, "--bundle", "x", "doctor")
	require.Equal(t, exitUse, code)
}

// TestDoctorBesideAnotherProcess takes no lock, and says who has it.
func TestDoctorBesideAnotherProcess(t *testing.T) {
	c := newClinic(t)
	lock, err := journal.Dir(c.site("ann")).Lock("lock")
	require.NoError(t, err)
	a, code := c.looked("ann", nil)
	require.Equal(t, exitDone, code)
	require.True(t, has(a, "journal.open", checkup.Look))
	require.True(t, has(a, "journal.lines", checkup.Well))
	require.NoError(t, lock.Close())
	a, _ = c.looked("ann", nil)
	require.False(t, has(a, "journal.open", checkup.Look))
}
