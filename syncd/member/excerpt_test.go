package member_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

var somePages = strings.Repeat("5a", 32)

// sealed is an excerpt as a file.
func (d *device) sealed(k projection.Known) []byte {
	file, err := d.Seal(d.Excerpt(k), somePages)
	require.NoError(d.team.t, err)
	return file
}

// entriesOf is what is in an excerpt's file between its maker's seals.
func entriesOf(t *testing.T, file []byte) string {
	z, err := gzip.NewReader(bytes.NewReader(file))
	require.NoError(t, err)
	text, err := io.ReadAll(z)
	require.NoError(t, err)
	_, body, ok := bytes.Cut(text, []byte("\n"))
	require.True(t, ok)
	return string(body[:bytes.LastIndexByte(body[:len(body)-1], '\n')])
}

// Two people with the same log, who got it in another order, seal the same entries
// in the same order; and each the same bytes at any time.
func TestAnExcerptHangsOnItsEntriesAlone(t *testing.T) {
	x, ada, ben, moments := apart(t)
	fromAda := ada.bundle()
	ada.takes(ben.bundle())
	ben.takes(fromAda)
	for _, k := range []projection.Known{{}, {Member: ben.Key()}, {Member: ada.Key(), At: events.Some(moments[2])}} {
		first := ada.sealed(k)
		x.pass(time.Hour)
		ada.reopen()
		require.True(t, bytes.Equal(first, ada.sealed(k)), "an hour later")
		bens := ben.sealed(k)
		require.True(t, entriesOf(t, first) == entriesOf(t, bens))
		require.False(t, bytes.Equal(first, bens), "each is sealed by its maker")

		read, err := member.ReadExcerpt(bytes.NewReader(bens))
		require.NoError(t, err)
		given := ben.Excerpt(k)
		require.Equal(t, given.Site, read.Site)
		require.Equal(t, given.Last, read.Last)
		require.Equal(t, somePages, read.Pages)
		want, got := ada.At(projection.Moment{Known: k}), read.History.At(projection.Moment{})
		require.Equal(t, want.Heads, read.Heads)
		got.Moment = want.Moment
		require.Equal(t, member.StatusOf(want), member.StatusOf(got))
	}
}

// Three copies of one laptop go on with one feed. Which of their branches is the
// main one hangs on what came first to a device, and the excerpt does not: there it
// is the longest, whichever that is.
//
// ben    … - 1 - 2 - 3
// twin       \ 1' - 2' - 3'
// third           \ 2" - 3" - 4"
func TestAnExcerptOfAForkHangsOnItsEntriesAlone(t *testing.T) {
	for longest, more := range map[string][3]int{"ben": {3, 0, 0}, "twin": {0, 3, 0}, "third": {0, 0, 1}, "none": {}} {
		t.Run(longest, func(t *testing.T) { forkedExcerpts(t, more) })
	}
}

func forkedExcerpts(t *testing.T, more [3]int) {
	x, ada, ben := pairOf(t)
	token, err := ada.Invite(events.Viewer, 48*time.Hour, "")
	require.NoError(t, err)
	cy := x.device("cy")
	cy.Member, err = cy.home().Join(t.Context(), token, "cy", "")
	require.NoError(t, err)
	note := func(d *device, n int) {
		for range n {
			d.log(events.NoteAdded{Of: events.Site(), Text: d.name})
		}
	}
	twin := x.copied(ben)
	note(ben, 3+more[0])
	note(twin, 1)
	third := x.copied(twin)
	note(twin, 2+more[1])
	note(third, 2+more[2])
	logs := [][]byte{ben.bundle(), twin.bundle(), third.bundle()}
	for i := range logs {
		ada.takes(logs[i])
		cy.takes(logs[len(logs)-1-i])
	}
	ada.takes(cy.bundle())
	cy.takes(ada.bundle())
	require.False(t, entriesOf(t, ada.bundle()) == entriesOf(t, cy.bundle()), "they keep the branches otherwise")

	adas, cys := ada.sealed(projection.Known{}), cy.sealed(projection.Known{})
	require.True(t, entriesOf(t, adas) == entriesOf(t, cys))
	read, err := member.ReadExcerpt(bytes.NewReader(cys))
	require.NoError(t, err)
	require.Equal(t, ada.Now().Heads, read.Heads)
	require.Equal(t, ada.Now().Entries, read.History.Len())
}

// copied is another device with a copy of somebody's folder.
func (x *team) copied(d *device) *device {
	twin := x.device(d.name)
	require.NoError(x.t, d.Close())
	twin.fs = d.fs.Clone()
	for _, d := range []*device{d, twin} {
		m, err := d.home().Open("")
		require.NoError(x.t, err)
		d.Member = m
	}
	return twin
}

// An excerpt of what Ben knew, sealed by Ada, is no word of Ada's that she had said
// nothing more.
func TestAnExcerptDoesNotSayHowFreshItsMakerIs(t *testing.T) {
	x, ada, ben := pairOf(t)
	ada.log(events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"},
		events.HubAssigned{Hub: "H1", Member: ada.Key()})
	ben.takes(ada.bundle())
	x.pass(20 * time.Minute)
	ada.log(events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"})
	ben.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	ada.takes(ben.bundle())
	x.pass(30 * time.Second)
	through := ben.Through()[ada.Key()]
	got := ben.takes(ada.sealed(projection.Known{Member: ben.Key()}))
	require.Zero(t, got.Fresh)
	require.Equal(t, through, ben.Through()[ada.Key()], "Ada's pairing is not in it")

	ben.takes(ada.bundle())
	require.Greater(t, ben.Through()[ada.Key()], through, "a whole bundle says so")
}
