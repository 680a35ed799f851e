package member_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// faultyHome is a device's home with a trap in its folder.
func (d *device) faultyHome(trap *journaltest.Trap) *member.Home {
	return member.NewHome(journaltest.Faulty(d.fs, trap), member.World{Now: d.stamp, Rand: d.team.rand, MadeUp: true})
}

var kiln = member.Opening{Name: "Kiln", Person: "cy", Zone: "UTC", Practice: true}

// A site is opened whole or not at all: whatever call fails, the next try finds
// nothing in its way.
func TestASiteIsOpenedWholeOrNotAtAll(t *testing.T) {
	x := newTeam(t)
	var count journaltest.Trap
	m, _, err := x.device("counter").faultyHome(&count).Init(t.Context(), kiln)
	require.NoError(t, err)
	require.NoError(t, m.Close())
	for n := 1; n <= count.Calls; n++ {
		for _, how := range []journaltest.How{journaltest.Undone, journaltest.Halfway, journaltest.Done} {
			where := fmt.Sprintf("call %d of %d %s", n, count.Calls, how)
			d := x.device(where)
			m, _, err := d.faultyHome(&journaltest.Trap{N: n, How: how}).Init(t.Context(), kiln)
			if err == nil { // a call that may fail, or one of closing
				_ = m.Close()
				continue
			}
			sites, err := d.home().Sites()
			require.NoError(t, err, where)
			require.Empty(t, sites, where)
			d.Member, _, err = d.home().Init(t.Context(), kiln)
			require.NoError(t, err, where)
			d.reopen()
			require.Equal(t, 3, d.entries(), where)
		}
	}
}

// Where the power goes instead, a site that is there afterwards is whole.
func TestAPowerCutWhileASiteIsOpened(t *testing.T) {
	x := newTeam(t)
	var count journaltest.Trap
	m, _, err := x.device("counter").faultyHome(&count).Init(t.Context(), kiln)
	require.NoError(t, err)
	require.NoError(t, m.Close())
	there := 0
	for n := 1; n <= count.Calls; n++ {
		for _, loss := range []journal.Loss{{}, {KeepNames: true}} {
			where := fmt.Sprintf("call %d of %d, names kept %v", n, count.Calls, loss.KeepNames)
			d := x.device(where)
			_, _, err := d.faultyHome(&journaltest.Trap{N: n, How: journaltest.Done, Good: true}).Init(t.Context(), kiln)
			d.fs.Crash(loss)
			d.boot = "the next"
			sites, listed := d.home().Sites()
			require.NoError(t, listed, where)
			if err == nil {
				require.Len(t, sites, 1, where)
			}
			if len(sites) == 0 {
				continue
			}
			there++
			d.Member, err = d.home().Open("")
			require.NoError(t, err, where)
			require.GreaterOrEqual(t, d.entries(), 3, where)
		}
	}
	require.Positive(t, there)
}

// On a full disk every question has its answer, nothing is recorded, and it goes
// on when there is room.
func TestASiteOnAFullDiskCanBeAsked(t *testing.T) {
	x, ada, ben := pairOf(t)
	ada.log(events.NoteAdded{Of: events.Site(), Text: "the last that had room"})
	want := ada.status(projection.Moment{})
	require.NoError(t, ada.Close())
	ada.Member = nil
	trap := &journaltest.Trap{Full: true}
	home := ada.faultyHome(trap)
	_, err := home.Open("")
	require.Error(t, err)
	m, err := home.Look("")
	require.NoError(t, err)
	looked := &device{Member: m, team: x}
	require.Equal(t, want, looked.status(projection.Moment{}))
	require.Equal(t, 1, ben.takes(looked.bundle()).Fresh, "it can be carried off")
	require.ErrorIs(t, m.Stopped(), journal.ErrBroken)
	_, err = m.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "no room"}})
	require.ErrorIs(t, err, journal.ErrBroken)
	require.NoError(t, m.Close())
	trap.Full = false
	ada.Member, err = home.Open("")
	require.NoError(t, err)
	require.Equal(t, want, ada.status(projection.Moment{}))
	ada.log(events.NoteAdded{Of: events.Site(), Text: "room again"})
}
