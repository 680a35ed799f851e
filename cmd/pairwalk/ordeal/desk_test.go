package ordeal

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// desk is one person's installation, worked on by real processes.
type desk struct {
	t      *testing.T
	home   string
	boot   string // a file with the id of the boot its processes live in; "": the machine's
	ledger *ledger
	torn   int  // torn ends that were found and cut
	power  bool // its disk may lose sectors of what was not synced
	aside  int  // files of bytes that could not be read and were kept
}

func newDesk(t *testing.T, home string) *desk {
	return &desk{t: t, home: home, ledger: newLedger()}
}

// command is a process that is not started yet.
func (d *desk) command(args ...string) *exec.Cmd {
	c := exec.CommandContext(context.Background(), binary, append([]string{"--home", d.home}, args...)...)
	c.Env = append(os.Environ(), "TZ=UTC", "PAIRWALK_HOME=", "PAIRWALK_CLOCK=")
	if d.boot != "" {
		bootedIn(c, d.boot)
	}
	return c
}

func (d *desk) run(args ...string) outcome { return (*crew)(nil).finish(d.command(args...)) }

// must runs a command that has to work.
func (d *desk) must(args ...string) string {
	d.t.Helper()
	got := d.run(args...)
	require.Zero(d.t, got.code, "%s: %s%s", strings.Join(args, " "), got.err, got.out)
	return string(got.out)
}

// opens opens a practice site.
func (d *desk) opens(name, person string) *desk {
	d.t.Helper()
	require.NoError(d.t, os.MkdirAll(d.home, 0o700))
	d.must("--json", "init", name, "--as", person, "--practice")
	return d
}

// acknowledges notes what a command that records said. A document that came
// through whole counts, even of a process that was killed after it.
func (d *desk) acknowledges(got outcome) bool {
	var doc said
	if json.Unmarshal(got.out, &doc) != nil || len(doc.Entries) == 0 {
		return false
	}
	d.ledger.takes(doc.Entries...)
	return true
}

// history is every entry, or those of a view of the past.
func (d *desk) history(view ...string) []entry {
	d.t.Helper()
	var doc said
	require.NoError(d.t, json.Unmarshal([]byte(d.must(append([]string{"--json", "history"}, view...)...)), &doc))
	return doc.Entries
}

// proof is what verify says.
type proof struct {
	Entries, Feeds int
	Problems       []string
	Aside          []string `json:"kept_aside"`
}

func (d *desk) verify() proof {
	d.t.Helper()
	var p proof
	got := d.run("--json", "verify")
	require.NoError(d.t, json.Unmarshal(got.out, &p), "%s", got.err)
	return p
}

// tornEnd is what an unclean stop may leave, in the words of verify.
func tornEnd(problem string) bool {
	return strings.Contains(problem, "the file ends in half a line") || strings.Contains(problem, "half a receipt at the end")
}

// unhealed is what stays of lines of others that a power cut took sectors out of, in
// the words of verify, until they are given again.
func unhealed(problem string) bool {
	return strings.Contains(problem, "not a line of this feed in its place") || strings.Contains(problem, "can't be read; the next that can stands here") || tornEnd(problem)
}

// audit opens the site after a blow, and holds it against the ledger. Whatever
// verify finds before anything is mended must be allowed.
func (d *desk) audit(allowed func(problem string) bool) {
	d.t.Helper()
	for _, p := range d.verify().Problems {
		require.True(d.t, allowed(p), p)
		if tornEnd(p) {
			d.torn++
		}
	}
	d.ledger.audit(d.t, d.history())
	after := d.verify()
	d.aside = len(after.Aside)
	if d.power {
		key := d.key()
		after.Problems = slices.DeleteFunc(after.Problems, func(p string) bool { return unhealed(p) && !strings.Contains(p, key) })
	}
	require.Empty(d.t, after.Problems, "it was opened, and is whole")
	require.True(d.t, d.acknowledges(d.run("--json", "log", "note", "site", "work goes on")))
}

// feeds is how many feeds this installation has begun.
func (d *desk) feeds() int {
	d.t.Helper()
	own, key := map[string]bool{}, d.key()
	for number := range d.ledger.numbers {
		if feed := number[:strings.IndexByte(number, '/')]; strings.HasPrefix(feed, key) {
			own[feed] = true
		}
	}
	return len(own)
}

// key is this installation's, which begins the name of each of its feeds.
func (d *desk) key() string {
	d.t.Helper()
	var doc struct{ Sites []struct{ Key string } }
	require.NoError(d.t, json.Unmarshal([]byte(d.must("--json", "sites")), &doc))
	require.Len(d.t, doc.Sites, 1)
	return doc.Sites[0].Key
}
