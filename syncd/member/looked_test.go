package member_test

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/syncd/member"
	"pairwalk/syncd/member/checkup"
)

// caughtWriting is a folder whose feeds look torn at one of their readings, as
// while another process is writing.
type caughtWriting struct {
	journal.FS
	at    int
	times map[string]int
}

func (f *caughtWriting) Read(name string) ([]byte, error) {
	b, err := f.FS.Read(name)
	if strings.HasSuffix(name, ".ndjson") {
		if f.times[name]++; f.times[name] == f.at {
			return b[:len(b)-30], err
		}
	}
	return b, err
}

func (f *caughtWriting) Open(name string) (io.ReadCloser, error) {
	b, err := f.Read(name)
	return io.NopCloser(bytes.NewReader(b)), err
}

// TestLookTakesNoWritingForDamage: only what two readings agree on is told.
func TestLookTakesNoWritingForDamage(t *testing.T) {
	x := newTeam(t)
	x.lead.log(events.NoteAdded{Of: events.Site(), Text: "one"})
	look := func(at int) checkup.Site {
		h := member.NewHome(&caughtWriting{x.lead.fs.Clone(), at, map[string]int{}}, member.World{Now: x.lead.stamp, Rand: x.rand, MadeUp: true})
		kept, err := h.Kept()
		require.NoError(t, err)
		require.Len(t, kept, 1)
		return h.Examine(kept[0])
	}
	for _, at := range []int{0, 1, 2} { // never, as the files are verified, as the copy is opened
		s := look(at)
		require.Empty(t, s.Report.Problems, at)
		require.Empty(t, s.Opened.Problems, at)
		require.Empty(t, s.Opened.Own.Replace, at)
		require.Empty(t, s.Opened.Mends, at)
	}
}

// TestLookBesideAnOpenSite sees what is there, and changes no byte of it.
func TestLookBesideAnOpenSite(t *testing.T) {
	x := newTeam(t)
	ben := x.joins("ben", events.Tech)
	ben.takes(x.lead.bundle())
	ben.log(events.NoteAdded{Of: events.Site(), Text: "one"})
	before := allOf(t, ben.fs)
	h := ben.home()
	kept, err := h.Kept()
	require.NoError(t, err)
	s := h.Examine(kept[0])
	require.Equal(t, before, allOf(t, ben.fs))
	require.Equal(t, "ben", s.You)
	require.Equal(t, ben.Unsent(), s.Opened.Unsent)
	require.Equal(t, []string{"ada"}, s.Opened.Leads)
	require.Len(t, s.Opened.Peers, 1)
	require.Equal(t, ben.Key(), s.Keys.Key)
	require.Equal(t, s.In.Turn, s.Out.Turn)
}

func allOf(t *testing.T, at *journal.MemFS) map[string]string {
	out := map[string]string{}
	for _, name := range at.Files() {
		b, err := at.Read(name)
		require.NoError(t, err)
		out[name] = string(b)
	}
	return out
}
