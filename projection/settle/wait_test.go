package settle_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

// The worked release example (computed from RFC 5905 §8 and the drift bound), to the millisecond: D = 600 s, the event at
// 10:00:00 by the other clock, θ = +3.010 s and δ = 60 ms measured 7 200 s ago,
// ρ = 200 ppm: 10:09:59.900 by ours (computed from the formula there).
func TestReleaseByComparison(t *testing.T) {
	for _, whoCompares := range []string{"we do", "they do"} {
		t.Run(whoCompares, func(t *testing.T) {
			d := newDesk()
			bo := d.joins("bo")
			bo.Skew = 3010 * time.Millisecond
			if whoCompares == "we do" {
				d.us.Compare("08:09:59.900", bo, 60*time.Millisecond)
			} else {
				bo.Compare("08:09:59.900", d.us, 60*time.Millisecond)
			}
			e := bo.Say("09:59:56.990", paired("1-1"))
			require.Equal(t, tale.T("10:00"), e.Wall.At, "by the other clock")
			d.hears("10:05", bo)
			d.comesHome("10:06")

			j := settle.Judge(d.site(), "H1", d.attentive(tale.T("10:09:59.899")))
			require.Equal(t, settle.Wait, j.Verdict)
			require.Equal(t, tale.T("10:09:59.900"), j.At.Value)
			require.Equal(t, events.Tag("1-1"), j.Waiting.Device)
			j = settle.Judge(d.site(), "H1", d.attentive(tale.T("10:09:59.900")))
			require.Equal(t, settle.Ready, j.Verdict)
			require.False(t, j.At.Known)
		})
	}
}

// Rules R8 and R9. Each story ends with the first second in which push may go;
// the settle time is ten minutes, and what is proven by one clock takes 240 ms of
// drift besides.
func TestWaitRunsFromTheLatestReading(t *testing.T) {
	cases := []struct {
		name  string
		tell  func(d *desk, bo *tale.Teller)
		from  string // when we start to judge
		ready string
	}{
		{"our own pairing, by our own clock", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
		}, "10:01", "10:10:01"},
		{"the last of several", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:04", paired("1-1"))
			d.us.Say("10:00", paired("1-2"))
		}, "10:05", "10:14:01"},
		{"a star device needs no wait", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-5"))
		}, "10:00", "10:00:00"},
		{"a star device does not wait for itself while mesh settles", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
			d.us.Say("10:05", paired("1-5"))
		}, "10:06", "10:10:01"},
		{"a device nobody scheduled counts as mesh", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("9-9"))
		}, "10:01", "10:10:01"},
		{"a device scheduled as star when it was paired, and as mesh since", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-5"))
			d.us.Say("10:02", mesh("1-5", "C5"))
		}, "10:03", "10:10:01"},
		{"our clock set an hour ahead in the wait", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
			d.us.Skew = time.Hour
		}, "10:01", "10:10:01"},
		{"our clock set an hour back in the wait", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
			d.us.Skew = -time.Hour
		}, "10:01", "10:10:01"},
		{"theirs, 4 minutes fast, not compared: from receipt", func(d *desk, bo *tale.Teller) {
			bo.Skew = 4 * time.Minute
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:13:01"},
		{"theirs, 4 minutes slow, not compared: from receipt", func(d *desk, bo *tale.Teller) {
			bo.Skew = -4 * time.Minute
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:13:01"},
		{"theirs, 4 minutes fast, compared", func(d *desk, bo *tale.Teller) {
			bo.Skew = 4 * time.Minute
			d.us.Compare("09:58", bo, 40*time.Millisecond)
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:10:01"},
		{"theirs, 4 minutes slow, compared", func(d *desk, bo *tale.Teller) {
			bo.Skew = -4 * time.Minute
			d.us.Compare("09:58", bo, 40*time.Millisecond)
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:10:01"},
		{"compared by them, after the fact", func(d *desk, bo *tale.Teller) {
			bo.Skew = 4 * time.Minute
			bo.Say("10:00", paired("1-1"))
			bo.Compare("10:03", d.us, 40*time.Millisecond)
			d.hears("10:03", bo)
		}, "10:03", "10:10:01"},
		{"a comparison with a long round trip is no better than receipt", func(d *desk, bo *tale.Teller) {
			d.us.Compare("09:58", bo, 20*time.Minute)
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:13:01"},
		{"their clock set between comparison and pairing", func(d *desk, bo *tale.Teller) {
			d.us.Compare("09:58", bo, 0)
			bo.Skew = -4 * time.Minute
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:13:01"},
		{"our clock set since the comparison", func(d *desk, bo *tale.Teller) {
			d.us.Compare("09:58", bo, 0)
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
			d.us.Skew = 4 * time.Minute
		}, "10:03", "10:13:01"},
		{"their reboot between comparison and pairing", func(d *desk, bo *tale.Teller) {
			d.us.Compare("09:58", bo, 0)
			bo.Reboot("09:59")
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:13:01"},
		{"their reboot, though their clocks read on as before", func(d *desk, bo *tale.Teller) {
			d.us.Compare("09:58", bo, 0)
			bo.Boot = "another"
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
		}, "10:03", "10:13:01"},
		{"our reboot, though our clocks read on as before", func(d *desk, bo *tale.Teller) {
			d.us.Compare("09:58", bo, 0)
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
			d.us.Boot = "another"
			d.opened = d.us.Stamp(tale.T("10:05"))
		}, "10:05", "10:15:01"},
		{"an entry of our own feed that came back to us from elsewhere", func(d *desk, _ *tale.Teller) {
			e := d.us.Say("10:00", paired("1-1"))
			d.receipts[e.Ref()] = d.us.Stamp(tale.T("10:05"))
		}, "10:05", "10:15:01"},
		{"our reboot, our own pairing: from when the journal is first open", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
			d.reboots("10:08")
		}, "10:08", "10:18:01"},
		{"our reboot, their pairing, compared before it", func(d *desk, bo *tale.Teller) {
			d.us.Compare("09:58", bo, 0)
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
			d.reboots("10:08")
		}, "10:08", "10:18:01"},
		{"our reboot, their pairing, compared again", func(d *desk, bo *tale.Teller) {
			bo.Say("10:00", paired("1-1"))
			d.hears("10:03", bo)
			d.reboots("10:08")
			d.us.Compare("10:08", bo, 0)
		}, "10:08", "10:10:01"},
		{"a pairing we voided as a wrong detail happened all the same", func(d *desk, _ *tale.Teller) {
			e := d.us.Say("10:04", paired("1-1"))
			d.us.Say("10:05", events.EventVoided{Event: e.Ref(), Why: events.WrongDetail})
			d.us.Say("10:00", paired("1-2"))
		}, "10:05", "10:14:01"},
		{"a pairing its author says did not happen", func(d *desk, _ *tale.Teller) {
			e := d.us.Say("10:04", paired("1-1"))
			d.us.Say("10:05", events.EventVoided{Event: e.Ref(), Why: events.DidNotHappen})
			d.us.Say("10:00", paired("1-2"))
		}, "10:05", "10:10:01"},
		{"a pairing that somebody else says did not happen", func(d *desk, bo *tale.Teller) {
			e := bo.Say("10:04", paired("1-1"))
			d.hears("10:04", bo)
			d.us.Say("10:05", events.EventVoided{Event: e.Ref(), Why: events.DidNotHappen})
			d.us.Say("10:00", paired("1-2"))
		}, "10:05", "10:14:01"},
		{"a pairing in quarantine", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-2"))
			stranger := d.Stranger("nobody")
			stranger.Say("10:04", paired("1-1"))
			d.hears("10:04", stranger)
		}, "10:05", "10:14:01"},
		{"a pairing that a resolution set aside", func(d *desk, bo *tale.Teller) {
			mine := d.us.Say("10:00", paired("1-1"))
			bo.Say("10:04", paired("1-1"))
			d.hears("10:04", bo)
			for _, c := range d.site().Conflicts {
				d.us.Say("10:05", events.ConflictResolved{Key: c.Key, Stands: mine.Ref().String(), Why: "bo stood at 1-2"})
			}
		}, "10:05", "10:14:01"},
		{"our typed time counts by its upper end", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:08", paired("1-1"), tale.When("09:55", "10:05"))
		}, "10:08", "10:15:01"},
		{"our typed time is never later than the entry", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:02", paired("1-1"), tale.When("09:55", "10:05"))
		}, "10:02", "10:12:01"},
		{"our typed time, our clock set since", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:08", paired("1-1"), tale.When("09:55", "10:05"))
			d.us.Skew = time.Minute
		}, "10:08", "10:18:01"},
		{"their typed time, compared, 4 minutes fast", func(d *desk, bo *tale.Teller) {
			bo.Skew = 4 * time.Minute
			d.us.Compare("10:07", bo, 0)
			bo.Say("10:08", paired("1-1"), tale.When("09:59", "10:09"))
			d.hears("10:09", bo)
		}, "10:09", "10:15:01"},
		{"their typed time, not compared: from receipt", func(d *desk, bo *tale.Teller) {
			bo.Say("10:08", paired("1-1"), tale.When("09:59", "10:09"))
			d.hears("10:09", bo)
		}, "10:09", "10:19:01"},
		{"a pairing told by voice", func(d *desk, bo *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
			d.us.Say("10:06", events.MemberAsked{Member: bo.Key, Hub: "H1", Last: events.Some(events.Interval{From: tale.T("10:02"), To: tale.T("10:04")}), Through: tale.T("10:06")})
		}, "10:06", "10:14:01"},
		{"a pairing told by voice to somebody in quarantine", func(d *desk, bo *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
			stranger := d.Stranger("nobody")
			stranger.Say("10:04", events.MemberAsked{Member: bo.Key, Hub: "H1", Last: events.Some(events.At(tale.T("10:03"))), Through: tale.T("10:04")})
			d.hears("10:04", stranger)
		}, "10:05", "10:14:01"},
		{"a second push to devices that missed the first", func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", paired("1-1"))
			d.comesHome("10:01")
			d.us.Say("10:11", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-1"}})
		}, "10:12", "10:12:00"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := newDesk()
			c.tell(d, d.joins("bo"))
			require.Equal(t, c.ready, d.pushable(t, c.from))
		})
	}
}

// An entry whose receipt nobody noted may have come this very moment.
func TestNoReceiptCountsAsNow(t *testing.T) {
	d := newDesk()
	bo := d.joins("bo")
	bo.Say("10:00", paired("1-1"))
	d.hears("10:03", bo)
	d.comesHome("10:04")
	l := d.attentive(tale.T("11:00"))
	l.Receipt = nil
	j := settle.Judge(d.site(), "H1", l)
	require.Equal(t, settle.Wait, j.Verdict)
	require.Equal(t, tale.T("11:10:00.241"), j.At.Value)
}

// A device without a clock that counts from its start proves nothing, and says
// who can.
func TestNoMonoProvesNothing(t *testing.T) {
	d := newDesk()
	bo := d.joins("bo")
	d.us.Boot = ""
	d.us.Say("10:00", paired("1-1"))
	d.comesHome("10:01")
	j := settle.Judge(d.site(), "H1", d.attentive(tale.T("17:00")))
	require.Equal(t, settle.Wait, j.Verdict)
	require.False(t, j.At.Known)
	require.Equal(t, []settle.ReasonKind{settle.NoClock}, kinds(j))

	bo.Hear(d.us)
	theirs := settle.Local{
		Self: bo.Key, Now: bo.Stamp(tale.T("10:30")), Opened: bo.Stamp(tale.T("08:00")),
		Receipt: func(r events.Ref) (events.Stamp, bool) { return bo.Stamp(tale.T("10:05")), r.Feed == d.us.Feed },
		Heard:   map[events.Key]settle.Heard{d.us.Key: {At: bo.Stamp(tale.T("10:30"))}},
	}
	require.Equal(t, settle.Ready, settle.Judge(d.site(), "H1", theirs).Verdict, "as the reason says: a colleague's device judges")
}

// A site may want another settle time.
func TestSettleTimeIsASetting(t *testing.T) {
	d := newDesk()
	d.us.Say("08:30", events.SettingsChanged{Set: map[events.SettingKey]string{events.SettleMinutes: "25"}})
	d.us.Say("10:00", paired("1-1"))
	require.Equal(t, "10:25:01", d.pushable(t, "10:01"))
}
