package settle_test

import (
	"crypto/ed25519"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

// newQuietDesk has one device paired at 09:00 whose wait is over and whose record
// has come home by 09:30, with bo assigned to the hub and last heard at 08:00.
func newQuietDesk() (*desk, *tale.Teller) {
	d := newDesk()
	bo := d.joins("bo")
	d.us.Say("08:30", events.HubAssigned{Hub: "H1", Member: bo.Key})
	d.us.Say("09:00", paired("1-1"))
	d.comesHome("09:30")
	return d, bo
}

func TestAskNamesWhomAndSinceWhen(t *testing.T) {
	d, bo := newQuietDesk()
	j := d.judge("10:00")
	require.Equal(t, settle.Ask, j.Verdict)
	require.Equal(t, []settle.Asked{{Member: bo.Key, Since: events.Some(tale.T("08:00"))}}, j.Ask)
	require.Equal(t, []settle.Hearing{{Member: bo.Key, Through: tale.T("08:00")}}, j.Heard)
	require.Contains(t, j.Reasons[0].Words, "bo has not been heard since 08:00")

	delete(d.heard, bo.Key)
	j = d.judge("10:00")
	require.Equal(t, []settle.Asked{{Member: bo.Key}}, j.Ask, "never")
	require.Contains(t, j.Reasons[0].Words, "bo has never been heard")
}

// While something else stands in the way, it is said who will have to be asked.
func TestAskIsListedWhileWaiting(t *testing.T) {
	d, bo := newQuietDesk()
	d.us.Say("10:00", paired("1-2"))
	j := d.judge("10:05")
	require.Equal(t, settle.Blocked, j.Verdict)
	require.Equal(t, []settle.ReasonKind{settle.NotExported, settle.Settling, settle.Unheard}, kinds(j))
	require.True(t, j.At.Known)
	d.comesHome("10:05")
	j = d.judge("10:06")
	require.Equal(t, settle.Wait, j.Verdict)
	require.Equal(t, bo.Key, j.Ask[0].Member)
}

func TestAskIsLifted(t *testing.T) {
	none := func(who *tale.Teller, through string) events.MemberAsked {
		return events.MemberAsked{Member: who.Key, Hub: "H1", Through: tale.T(through)}
	}
	cases := []struct {
		name string
		tell func(d *desk, bo, cy *tale.Teller)
		want settle.Verdict // at 10:00
	}{
		{"by nothing", func(*desk, *tale.Teller, *tale.Teller) {}, settle.Ask},
		{"by an exchange half a minute ago", func(d *desk, bo, _ *tale.Teller) { d.hears("09:59:30", bo) }, settle.Ready},
		{"not by an exchange two minutes ago", func(d *desk, bo, _ *tale.Teller) { d.hears("09:58", bo) }, settle.Ask},
		{"not by an exchange before our reboot", func(d *desk, bo, _ *tale.Teller) {
			d.hears("09:59:30", bo)
			d.us.Boot = "another" // whose clocks read on as before
			d.opened = d.us.Stamp(tale.T("09:40"))
		}, settle.Ask},
		{"by our word, none", func(d *desk, bo, _ *tale.Teller) { d.us.Say("09:50", none(bo, "09:50")) }, settle.Ready},
		{"by our word, and then our clock was set", func(d *desk, bo, _ *tale.Teller) {
			d.us.Say("09:50", none(bo, "09:50"))
			d.us.Skew = 2 * time.Hour
		}, settle.Ready},
		{"by our word, and a pairing long ago", func(d *desk, bo, _ *tale.Teller) {
			p := none(bo, "09:50")
			p.Last = events.Some(events.Interval{From: tale.T("09:20"), To: tale.T("09:30")})
			d.us.Say("09:50", p)
		}, settle.Ready},
		{"not by our word about another", func(d *desk, _, cy *tale.Teller) { d.us.Say("09:50", none(cy, "09:50")) }, settle.Ask},
		{"not by our word of 20 minutes ago", func(d *desk, bo, _ *tale.Teller) { d.us.Say("09:40", none(bo, "09:40")) }, settle.Ask},
		{"not by an answer through 20 minutes ago", func(d *desk, bo, _ *tale.Teller) { d.us.Say("09:50", none(bo, "09:40")) }, settle.Ask},
		{"not by our word before our reboot", func(d *desk, bo, _ *tale.Teller) {
			d.us.Say("09:30", none(bo, "09:30"))
			d.reboots("09:31")
		}, settle.Ask},
		{"by a colleague's word, their clock compared", func(d *desk, bo, cy *tale.Teller) {
			cy.Skew = 4 * time.Minute
			d.us.Compare("09:45", cy, 0)
			cy.Say("09:50", none(bo, "09:54"))
			d.hears("09:51", cy)
		}, settle.Ready},
		{"not by a colleague's old word, their clock slow", func(d *desk, bo, cy *tale.Teller) {
			cy.Skew = 10 * time.Minute
			d.us.Compare("09:35", cy, 0)
			cy.Say("09:40", none(bo, "09:50"))
			d.hears("09:51", cy)
		}, settle.Ask},
		{"not by a colleague's word, their clock unknown", func(d *desk, bo, cy *tale.Teller) {
			cy.Say("09:50", none(bo, "09:50"))
			d.hears("09:51", cy)
		}, settle.Ask},
		{"not by a colleague's word, their clock compared over a long round trip", func(d *desk, bo, cy *tale.Teller) {
			d.us.Compare("09:45", cy, 20*time.Minute)
			cy.Say("09:50", none(bo, "09:50"))
			d.hears("09:51", cy)
		}, settle.Ask},
		{"not by what we typed before our clock was set", func(d *desk, bo, _ *tale.Teller) {
			d.us.Say("09:58", none(bo, "09:50"))
			d.us.Skew = time.Hour
		}, settle.Ask},
		{"by their own work on the hub just now, their clock compared", func(d *desk, bo, _ *tale.Teller) {
			d.us.Compare("09:45", bo, 0)
			bo.Say("09:59:30", events.HubReady{Hub: "H1"})
			d.hears("09:59:40", bo)
			delete(d.heard, bo.Key)
		}, settle.Ready},
		{"not by their work just now, where something they said before is missing", func(d *desk, bo, _ *tale.Teller) {
			d.us.Compare("09:45", bo, 0)
			d.hears("09:46", bo)
			bo.Say("09:58", paired("1-4")) // which does not come
			bo.Say("09:59:30", events.HubReady{Hub: "H1"})
			evs := d.Events()
			d.receipts[evs[len(evs)-1].Ref()] = d.us.Stamp(tale.T("09:59:40"))
			delete(d.heard, bo.Key)
		}, settle.Ask},
		{"by their revocation", func(d *desk, bo, _ *tale.Teller) {
			d.us.Say("09:50", events.MemberRevoked{Key: bo.Key, Why: "left"})
		}, settle.Ready},
		{"by the end of their assignment", func(d *desk, bo, _ *tale.Teller) {
			d.us.Say("09:50", events.HubAssigned{Hub: "H1", Member: bo.Key, Ended: true})
		}, settle.Ready},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, bo := newQuietDesk()
			cy := d.joins("cy")
			c.tell(d, bo, cy)
			j := d.judge("10:00")
			require.Equal(t, c.want, j.Verdict, "%v", j.Reasons)
			require.Equal(t, c.want == settle.Ask, len(j.Ask) > 0)
		})
	}
}

// Who was at work on the hub lately is asked without being assigned to it.
func TestAskWhoWasAtWork(t *testing.T) {
	d := newDesk()
	bo := d.joins("bo")
	bo.Say("08:10", paired("1-2"))
	d.hears("08:11", bo)
	d.us.Say("09:00", paired("1-1"))
	d.comesHome("09:30")
	require.Equal(t, bo.Key, d.judge("10:00").Ask[0].Member)

	next := "2026-03-03T09:00:00Z" // 25 hours later
	require.Equal(t, settle.Ask, d.judge(next).Verdict, "nothing was said on the site since that morning")
	d.us.Say(next, events.NoteAdded{Of: events.Site(), Text: "back"})
	at := tale.T("2026-03-03T09:01:00Z")
	require.Equal(t, settle.Ready, settle.Judge(d.site(), "H1", d.local(at)).Verdict)

	l := d.local(at)
	l.Now.Wall.At = tale.T("10:00")
	require.Equal(t, settle.Ask, settle.Judge(d.site(), "H1", l).Verdict, "either clock may be wrong")
}

// Whose pairing is not folded was at work all the same: one of two on an invite,
// though not somebody who never joined, whom nobody here could ask.
func TestAskWhoseWordDoesNotCount(t *testing.T) {
	d := newDesk()
	secret := ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))
	bo, cy := d.JoinBy(secret, "bo", events.Tech), d.JoinBy(secret, "cy", events.Tech)
	stranger := d.Stranger("nobody")
	bo.Say("08:10", paired("1-2"))
	stranger.Say("08:10", paired("1-3"))
	d.hears("08:11", bo, cy, stranger)
	d.us.Say("09:00", paired("1-1"))
	d.comesHome("09:30")
	j := d.judge("10:00")
	require.Equal(t, settle.Ask, j.Verdict)
	require.Equal(t, []settle.Asked{{Member: bo.Key, Since: events.Some(tale.T("08:11"))}}, j.Ask)
	d.us.Say("09:55", events.MemberAsked{Member: bo.Key, Hub: "H1", Through: tale.T("09:55")})
	require.Equal(t, settle.Ready, d.judge("10:00").Verdict)
}

// With no mono clock the wall has to do for the answers of colleagues, though
// never for the wait.
func TestAskWithoutMono(t *testing.T) {
	for through, want := range map[string]settle.Verdict{"09:55": settle.Ready, "09:40": settle.Ask} {
		t.Run(through, func(t *testing.T) {
			d := newDesk()
			bo := d.joins("bo")
			d.us.Boot = ""
			d.us.Say("08:30", events.HubAssigned{Hub: "H1", Member: bo.Key})
			d.us.Say("09:00", paired("1-5"))
			d.comesHome("09:30")
			require.Equal(t, settle.Ask, d.judge("10:00").Verdict)
			d.us.Say("09:56", events.MemberAsked{Member: bo.Key, Hub: "H1", Through: tale.T(through)})
			require.Equal(t, want, d.judge("10:00").Verdict)
		})
	}
}
