package simtest_test

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd/simtest"
)

// TestBrokenBuildsAreCaught breaks the members on purpose, each time in one line,
// and has the worlds find it.
func TestBrokenBuildsAreCaught(t *testing.T) {
	if raced {
		t.Skip(sampled)
	}
	for _, tt := range []struct {
		name     string
		file     string
		was, now string
		breaks   simtest.Promise
	}{
		{
			"heads are trusted without their hash", "events/journal/descent.go",
			"func (j *Journal) Holds(ref events.Ref) bool { return j.holder(ref) != nil }",
			"func (j *Journal) Holds(ref events.Ref) bool { return j.headOf(ref.Feed).Seq >= ref.Seq }",
			simtest.Agreed,
		},
		{
			"receipts are not kept in mind", "syncd/member/fresh.go",
			"Receipt: m.journal.Receipt,",
			"Receipt: nil,",
			simtest.Settled,
		},
		{
			"a colleague's clock is believed, not the receipt", "projection/settle/clock.go",
			"best := c.received(a).over(d)",
			"best := upTo(int64(a.event.Wall.At) - c.now.Base()).over(d)",
			simtest.NotEarly,
		},
		{
			"a typed time is read by the clock as it is set later", "projection/settle/clock.go",
			"case sameBase(a.event.Stamp(), c.now):\n\t\t_, hi := a.mono()",
			"case true:\n\t\thi := min(a.event.Mono.Ms, int64(a.when.Value.To)-c.now.Base())",
			simtest.NotEarly,
		},
		{
			"clocks are thought to run true", "projection/settle/clock.go",
			"left := int64(million - 2*projection.RhoPPM)",
			"left := int64(million)",
			simtest.NotEarly,
		},
		{
			"a comparison of clocks is thought exact", "projection/settle/clock.go",
			"slack: (trip + 1) / 2,",
			"slack: 0,",
			simtest.NotEarly,
		},
		{
			"a reply is acknowledged before it is kept", "syncd/member/arrival.go",
			"if err := t.run(run.Hole, run.Lines); err != nil && !gap(err) {",
			"t.sum.Fresh = append(t.sum.Fresh, run.Lines...)\n\t\t\tif err := error(nil); err != nil && !gap(err) {",
			simtest.Kept,
		},
		{
			"a peer counts as heard before its entries are here", "syncd/member/meet.go",
			"if tip.Feed.Key() == who.Key && !m.journal.Holds(tip) {",
			"if tip.Seq == 0 {",
			simtest.Heard,
		},
		{
			"what is appended is not synced", "events/journal/append.go",
			"if _, err = f.Write(b); err == nil {\n\t\terr = f.Sync()\n\t}",
			"_, err = f.Write(b)",
			simtest.Kept,
		},
		{
			"the own feed goes on in a folder that was put back", "events/journal/own.go",
			"case was.copied:",
			"case false:",
			simtest.OneNumber,
		},
		{
			"what nobody answered is never asked again", "syncd/exchange.go",
			"delete(x.busy, ask.Pull.Tip.Feed)",
			"",
			simtest.Agreed,
		},
		{
			"a picture is kept without a look at it", "events/journal/album/part.go",
			"case int64(len(b)) != size || nameOf(b) != name:",
			"case int64(len(b)) != size:",
			simtest.Pictured,
		},
		{
			"pictures do not wait for entries", "syncd/exchange.go",
			"if !x.peers[ask.Peer].slow {",
			"if ask.ID == 0 {",
			simtest.EntriesFirst,
		},
		{
			"a picture that nobody handed over is never asked for again", "syncd/gallery.go",
			"delete(g.busy, ask.Piece.SHA256)",
			"",
			simtest.Agreed,
		},
		{
			"the cut of a revocation is not kept to", "projection/decide.go",
			"if !listed || e.Seq > head.Seq || e.Seq == head.Seq && e.Hash != head.Hash {",
			"if !listed {",
			simtest.Rightful,
		},
		{
			"anybody may withdraw what others said", "projection/records.go",
			"case !own && !t.trust.leads(e):",
			"case !own && e.Seq == 0:",
			simtest.Rightful,
		},
		{
			"nobody is told of a fork", "projection/trust.go",
			"\t\t\tt.fork(t.ranks.Twins(n))\n",
			"",
			simtest.InSight,
		},
		{
			"the second branch of a fork is dropped", "events/journal/draft.go",
			"if c.has(v.Seq()) && c.follows(v) {\n\t\t\td.fork(v)",
			"if c.has(v.Seq()) && c.follows(v) {",
			simtest.Agreed,
		},
		{
			"a full disk acknowledges", "events/journal/append.go",
			"if _, err = f.Write(b); err == nil {\n\t\terr = f.Sync()\n\t}",
			"_, _ = f.Write(b)\n\t_ = f.Sync()",
			simtest.Kept,
		},
		{
			"a member whose disk is full hands over nothing", "syncd/member/meet.go",
			"func (m *Member) Answer(pull, room []byte) []byte {",
			"func (m *Member) Answer(pull, room []byte) []byte {\n\tif _, err := m.journal.Queue(); err != nil {\n\t\treturn nil\n\t}",
			simtest.Readable,
		},
		{
			"a hole stops what comes after it", "syncd/member/taking.go",
			"if t.m.journal.Heads()[feed].Seq < hole.Seq {",
			"if t.m.journal.Heads()[feed].Seq < hole.Seq {\n\t\t\treturn nil",
			simtest.Onward,
		},
		{
			"a file's strangers are kept", "syncd/member/exchange.go",
			"if !joins[feed.Key()] && !m.proven(feed.Key()) {",
			"if !joins[feed.Key()] && len(b.Heads) == 0 {",
			simtest.Agreed,
		},
		{
			"damage is mended without a word", "events/journal/recover.go",
			"j.problems = append(j.problems, found[name].problems...)",
			"",
			simtest.Told,
		},
		{
			"the own feed goes on after an end that was lost", "events/journal/own.go",
			"case tail && r.halfTail && was.sameBoot && !was.mark.Clean && !was.copied && head >= high:",
			"case tail && r.halfTail:",
			simtest.OneNumber,
		},
		{
			"a reply ends in what nothing vouches for", "syncd/pull.go",
			"for len(out) > run {",
			"for false && len(out) > run {",
			simtest.Blameless,
		},
		{
			"an older member drops what it does not know", "syncd/member/world.go",
			"evs[i].Payload = events.Opaque{Of: k, Why: fmt.Sprintf(\"kind %q is not known here\", k)}",
			"_ = fmt.Sprint\n\t\t\tevs[i].Payload = events.NoteAdded{Of: events.Site(), Text: \"?\"}",
			simtest.Rightful,
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			out, err := build(t, tt.file, tt.was, tt.now)("-seeds", "300", "-tries", "0", "-until", string(tt.breaks))
			require.Error(t, err, "nobody noticed:\n%s", out)
			require.Contains(t, out, fmt.Sprintf("breaks the promise %q", tt.breaks))
			t.Log(regexp.MustCompile(`seed \d+ breaks the promise ".*?"`).FindString(out))
		})
	}
}

// build makes this test of a build in which a piece of one file, found once, is
// another. It gives back what runs TestSeeds in it.
func build(t *testing.T, file, was, now string) func(args ...string) (string, error) {
	t.Helper()
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	file = filepath.Join(root, filepath.FromSlash(file))
	source, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(source), was), "what is to be broken is not in %s as it was", file)
	dir := t.TempDir()
	patched := filepath.Join(dir, "patched.go")
	require.NoError(t, os.WriteFile(patched, []byte(strings.Replace(string(source), was, now, 1)), 0o600))
	list, err := json.Marshal(map[string]map[string]string{"Replace": {file: patched}})
	require.NoError(t, err)
	overlay, binary := filepath.Join(dir, "overlay.json"), filepath.Join(dir, "simtest.test")
	require.NoError(t, os.WriteFile(overlay, list, 0o600))
	// What is not needed to see it fail takes most of the time: vet and debug info.
	out, err := command(t, "go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-overlay", overlay, "-o", binary, "pairwalk/syncd/simtest")
	require.NoError(t, err, out)
	return func(args ...string) (string, error) {
		return command(t, binary, append([]string{"-test.run", "^TestSeeds$"}, args...)...)
	}
}

// command runs something, and tells what work it was for the machine.
func command(t *testing.T, name string, args ...string) (string, error) {
	t.Helper()
	c := exec.CommandContext(t.Context(), name, args...)
	out, err := c.CombinedOutput()
	if p := c.ProcessState; p != nil {
		t.Logf("%s took %s of processor time", filepath.Base(name), (p.UserTime() + p.SystemTime()).Round(100*time.Millisecond))
	}
	return string(out), err
}
