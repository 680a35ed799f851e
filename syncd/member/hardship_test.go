package member_test

import (
	"bytes"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/invite"
	"pairwalk/events/seal"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// pairOf is a site with two members who hold the same log.
func pairOf(t testing.TB) (x *team, ada, ben *device) {
	x = newTeam(t)
	ada, ben = x.lead, x.joins("ben", events.Tech)
	ada.schedule(10)
	ben.takes(ada.bundle())
	ada.takes(ben.bundle())
	ben.takes(ada.bundle())
	return x, ada, ben
}

// feedFile is the file of a device's newest own feed.
func (d *device) feedFile() string {
	var own string
	for _, name := range d.fs.Files() {
		if strings.Contains(name, "/feeds/"+string(d.Key())) && strings.HasSuffix(name, ".ndjson") {
			own = name
		}
	}
	require.NotEmpty(d.team.t, own)
	return own
}

func TestDamageIsHealedByABundle(t *testing.T) {
	_, ada, ben := pairOf(t)
	for i := range 5 {
		ada.log(events.NoteAdded{Of: events.Site(), Text: fmt.Sprint("note ", i)})
	}
	ben.takes(ada.bundle())
	want := ada.status(projection.Moment{})

	file := ada.feedFile()
	b, err := ada.fs.Read(file)
	require.NoError(t, err)
	require.NoError(t, ada.Close())
	ada.Member = nil
	at := bytes.Index(b, []byte("note 2"))
	b[at] ^= 1
	ada.fs.Put(file, b)

	m, err := ada.home().Open("")
	require.NoError(t, err)
	ada.Member = m
	require.NotEmpty(t, ada.Problems(), "never silent")
	require.NotEqual(t, want, ada.status(projection.Moment{}))
	got := ada.takes(ben.bundle())
	require.Equal(t, 1, got.Healed)
	require.Equal(t, want, ada.status(projection.Moment{}))
	ada.reopen()
	require.Equal(t, want, ada.status(projection.Moment{}))
}

// TestASpoiltLogIsNotHeardToItsEnd: where a colleague's line was lost on this disk,
// nobody may think that all they said is here, until it is again.
func TestASpoiltLogIsNotHeardToItsEnd(t *testing.T) {
	for name, spoil := range map[string]func(b []byte) []byte{
		"in the middle": func(b []byte) []byte { b[bytes.Index(b, []byte("note 1"))] ^= 1; return b },
		"at its end":    func(b []byte) []byte { return b[:bytes.Index(b, []byte("note 2"))] },
	} {
		t.Run(name, func(t *testing.T) {
			_, ada, ben := pairOf(t)
			for i := range 3 {
				ben.log(events.NoteAdded{Of: events.Site(), Text: fmt.Sprint("note ", i)})
			}
			ada.meets(ben)
			require.Contains(t, ada.Through(), ben.Key())

			file := ben.feedFile() // it has the same name on her disk
			b, err := ada.fs.Read(file)
			require.NoError(t, err)
			require.NoError(t, ada.Close())
			ada.fs.Put(file, spoil(b))
			for range 2 { // what was mended by opening it stays unheard
				ada.Member, err = ada.home().Open("")
				require.NoError(t, err)
				require.NotContains(t, ada.Through(), ben.Key())
				require.NoError(t, ada.Close())
			}
			ada.Member, err = ada.home().Open("")
			require.NoError(t, err)
			ada.hears(ben)
			require.NotContains(t, ada.Through(), ben.Key(), "before it is here again")
			ada.meets(ben)
			require.Contains(t, ada.Through(), ben.Key())
		})
	}
}

// TestRestoredBackup: a device is restored to last night's state; its own later
// entries come back from a colleague, and it goes on in a new feed.
func TestRestoredBackup(t *testing.T) {
	_, ada, ben := pairOf(t)
	backup := ben.fs.Clone()
	ben.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	ada.takes(ben.bundle())
	require.NoError(t, ben.Close())
	ben.Member = nil

	ben.fs = backup
	m, err := ben.home().Open("")
	require.NoError(t, err)
	ben.Member = m
	ben.takes(ada.bundle())
	said := ben.log(events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"})
	ada.takes(ben.bundle())
	s := ada.Now()
	require.Empty(t, s.Conflicts, "no number was used twice")
	for _, tag := range []events.Tag{"1-001", "1-002"} {
		d, ok := s.Device(tag)
		require.True(t, ok)
		require.Equal(t, projection.Paired, d.State, tag)
	}
	e, ok := find(ada, said[0].Ref())
	require.True(t, ok)
	require.NotEqual(t, events.Seq(1), e.Seq)
	me, _ := s.Member(ben.Key())
	require.Len(t, me.Feeds, 2, "it went on in a new feed")
}

func find(d *device, ref events.Ref) (*events.Event, bool) {
	e, err := d.Entry(ref.String())
	return e, err == nil
}

// TestTwoLaptopsFromOneBackup: both go on with one feed. The fork is one conflict
// on every side, and nobody loses an entry.
func TestTwoLaptopsFromOneBackup(t *testing.T) {
	x, ada, ben := pairOf(t)
	twin := x.device("ben")
	require.NoError(t, ben.Close())
	ben.Member = nil
	twin.fs = ben.fs.Clone()
	for _, d := range []*device{ben, twin} {
		m, err := d.home().Open("")
		require.NoError(t, err)
		d.Member = m
	}
	ben.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	twin.log(events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"})
	ada.takes(ben.bundle())
	ada.takes(twin.bundle())
	log := ada.bundle()
	ben.takes(log)
	twin.takes(log)
	for _, d := range []*device{ada, ben, twin} {
		s := d.Now()
		require.Len(t, s.Conflicts, 1, d.name)
		require.Equal(t, projection.ForkedFeed, s.Conflicts[0].Kind)
		for _, tag := range []events.Tag{"1-001", "1-002"} {
			dev, _ := s.Device(tag)
			require.Equal(t, projection.Paired, dev.State, "both branches count")
		}
	}
	require.Equal(t, ada.Now().Conflicts, ben.Now().Conflicts)
	ben.log(events.NoteAdded{Of: events.Site(), Text: "on in a new feed"})
	ada.takes(ben.bundle())
	require.Len(t, ada.Now().Conflicts, 1, "going on makes no second fork")
}

func TestRefusedEntriesLeaveNoGap(t *testing.T) {
	_, ada, _ := pairOf(t)
	before := ada.log(events.NoteAdded{Of: events.Site(), Text: "before"})[0]
	for _, p := range []events.Payload{
		events.NoteAdded{Of: events.Site(), Text: "bad \xff text"},
		events.DevicePaired{Device: "", Hub: "H1"},
		events.NoteAdded{Of: events.Site(), Text: strings.Repeat("x", 5000)},
	} {
		_, err := ada.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "good"}}, member.Entry{Payload: p})
		require.Error(t, err)
	}
	long := events.HubLoaded{Hub: "H1", Program: "r1", Lists: make([]events.Tag, 9000)}
	for i := range long.Lists {
		long.Lists[i] = events.Tag(fmt.Sprintf("1-%05d", i))
	}
	_, err := ada.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "good"}}, member.Entry{Payload: long})
	require.ErrorIs(t, err, seal.ErrTooLong, "its shape is right; only the sealed line is too long")
	after := ada.log(events.NoteAdded{Of: events.Site(), Text: "after"})[0]
	require.Equal(t, before.Seq+1, after.Seq)
	require.Equal(t, before.Hash, after.Prev)
}

func TestManyAtOnce(t *testing.T) {
	_, ada, _ := pairOf(t)
	var wg sync.WaitGroup
	for i := range 50 {
		wg.Go(func() {
			_, err := ada.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: fmt.Sprint(i)}})
			require.NoError(t, err)
		})
	}
	wg.Wait()
	before := ada.status(projection.Moment{})
	ada.reopen()
	require.Empty(t, ada.Problems())
	require.Equal(t, before, ada.status(projection.Moment{}))
}

func TestBundlesOfOthersAreRefusedWhole(t *testing.T) {
	x, ada, _ := pairOf(t)
	before := ada.status(projection.Moment{})
	file := ada.bundle()
	stranger := newTeam(t)
	stranger.rand = x.rand
	for name, b := range map[string][]byte{
		"cut off":      file[:len(file)-9],
		"not a bundle": []byte("tag,kind,hub\n"),
		"empty":        nil,
	} {
		_, err := ada.BundleIn(t.Context(), bytes.NewReader(b))
		require.Error(t, err, name)
	}
	cy := x.device("cy")
	other, _, err := cy.home().Init(t.Context(), member.Opening{Name: "Elsewhere", Person: "cy", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	cy.Member = other
	_, err = ada.BundleIn(t.Context(), bytes.NewReader(cy.bundle()))
	require.ErrorIs(t, err, bundle.ErrWrongSite)
	require.Equal(t, before, ada.status(projection.Moment{}))
}

func TestInvites(t *testing.T) {
	x, ada, ben := pairOf(t)

	_, err := ben.Invite(events.Tech, time.Hour, "")
	require.ErrorIs(t, err, invite.ErrNotLead)
	_, err = ada.Invite(events.Lead, time.Hour, "")
	require.ErrorContains(t, err, "recovery sheet")

	token, err := ada.Invite(events.Tech, time.Hour, "")
	require.NoError(t, err)
	x.pass(2 * time.Hour)
	_, err = x.device("late").home().Join(t.Context(), token, "late", "")
	require.ErrorIs(t, err, invite.ErrExpired)

	// Somebody whose clock is wrong can join by it all the same; the lead's device
	// sees that it heard of them too late, and leaves it to the lead.
	late := x.device("late")
	late.skew = -2 * time.Hour
	m, err := late.home().Join(t.Context(), token, "late", "")
	require.NoError(t, err)
	late.Member = m
	got := ada.takes(late.bundle())
	require.Empty(t, got.Admitted)
	require.Len(t, got.Waiting, 1)
	who, err := ada.Person("late")
	require.NoError(t, err)
	require.Equal(t, projection.Provisional, who.Standing)
	_, err = ada.Admit(t.Context(), who)
	require.NoError(t, err)
	who, _ = ada.Person("late")
	require.Equal(t, projection.Admitted, who.Standing)
}

// TestSecondLead: the sheet makes one, who can then invite; and it brings back a
// lead when every lead's device is lost.
func TestSheetMakesLeads(t *testing.T) {
	x := newTeam(t)
	require.NoError(t, x.lead.Close())
	x.lead.Member = nil
	lost := x.device("ada")
	m, root, err := lost.home().Init(t.Context(), member.Opening{Name: "Kiln", Person: "ada", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	lost.Member = m
	x.lead = lost
	sheet := root.Sheet()

	token, err := lost.Invite(events.Lead, time.Hour, sheet)
	require.NoError(t, err)
	second := x.device("eve")
	em, err := second.home().Join(t.Context(), token, "eve", "")
	require.NoError(t, err)
	second.Member = em
	_, err = second.Invite(events.Tech, time.Hour, "")
	require.ErrorIs(t, err, invite.ErrNotLead, "not before a lead has admitted her")
	require.Equal(t, []string{"eve"}, lost.takes(second.bundle()).Admitted)
	second.takes(lost.bundle())
	byEve, err := second.Invite(events.Tech, time.Hour, "")
	require.NoError(t, err)
	fay := x.device("fay")
	fm, err := fay.home().Join(t.Context(), byEve, "fay", "")
	require.NoError(t, err)
	fay.Member = fm
	require.Equal(t, []string{"fay"}, second.takes(fay.bundle()).Admitted)

	// Every lead's device is lost.
	again, err := invite.RootFromSheet(sheet)
	require.NoError(t, err)
	fresh := x.device("ada")
	rm, err := fresh.home().Recover(t.Context(), again, member.Opening{Name: "Kiln", Person: "ada", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	fresh.Member = rm
	fresh.takes(second.bundle())
	old, err := fresh.Person(string(lost.Key()))
	require.NoError(t, err)
	_, err = fresh.Revoke(t.Context(), old, member.Revoking{Why: "laptop stolen", Sheet: sheet})
	require.NoError(t, err)
	lost.log(events.NoteAdded{Of: events.Site(), Text: "by the thief"})
	fresh.takes(lost.bundle())
	s := fresh.Now()
	require.Len(t, s.Quarantined, 1)
	require.Equal(t, projection.PastRevocation, s.Conflicts[0].Kind)
}

func TestARealSiteTakesNoMadeUpClock(t *testing.T) {
	x := newTeam(t)
	d := x.device("cy")
	_, _, err := d.home().Init(t.Context(), member.Opening{Name: "Real", Person: "cy", Zone: "UTC"})
	require.ErrorIs(t, err, member.ErrNotPractice)
	require.Empty(t, d.fs.Files(), "nothing was written")

	real := member.NewHome(d.fs, member.World{Now: d.stamp, Rand: x.rand})
	m, _, err := real.Init(t.Context(), member.Opening{Name: "Real", Person: "cy", Zone: "UTC"})
	require.NoError(t, err)
	require.NoError(t, m.Close())
	_, err = d.home().Open("")
	require.ErrorIs(t, err, member.ErrNotPractice)
}
