package settle_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

// ρ either way, by either clock: ten minutes are ten true minutes.
func TestDriftOverTheWait(t *testing.T) {
	cases := map[string]func(d *desk, us, bo *device){
		"our own pairing": func(_ *desk, us, _ *device) { us.Say("10:00", paired("1-1")) },
		"by receipt": func(d *desk, _, bo *device) {
			bo.Say("10:00", paired("1-1"))
			d.hears("10:00", bo.Teller)
		},
		"compared long before": func(d *desk, us, bo *device) {
			us.at(tale.T("08:30"))
			bo.at(tale.T("08:30"))
			us.Compare("08:30", bo.Teller, 0)
			us.at(tale.T("10:00"))
			bo.at(tale.T("10:00"))
			bo.Say("10:00", paired("1-1"))
			d.hears("10:05", bo.Teller)
		},
		"compared at the last moment": func(d *desk, us, bo *device) {
			bo.Say("10:00", paired("1-1"))
			us.at(tale.T("10:09:59"))
			bo.at(tale.T("10:09:59"))
			us.Compare("10:09:59", bo.Teller, 0)
			d.hears("10:09:59", bo.Teller)
		},
	}
	for name, tell := range cases {
		for _, rate := range [][2]int64{{200, 200}, {200, -200}, {-200, 200}, {-200, -200}} {
			d := newDesk()
			us, bo := &device{Teller: d.us}, &device{Teller: d.joins("bo")}
			us.Rate, bo.Rate = rate[0], rate[1]
			us.at(tale.T("10:00"))
			bo.at(tale.T("10:00"))
			tell(d, us, bo)
			d.comesHome("10:09:59")
			at := tale.T("10:09:59.998") // a reading is rounded down to the millisecond
			us.at(at)
			require.Equal(t, settle.Wait, settle.Judge(d.site(), "H1", d.attentive(at)).Verdict, "%s %v", name, rate)
		}
	}
}

// Numbers made to overflow prove nothing.
func TestHostileNumbersProveNothing(t *testing.T) {
	const most = 1<<53 - 1
	d := newDesk()
	bo := d.joins("bo")
	ours := d.us.Stamp(tale.T("09:00"))
	for shift := range 52 {
		bo.Say("09:00", events.ClockCompared{
			Other: d.us.Key, Offset: most >> shift,
			Mine:   events.Reading{Wall: 0, Mono: events.Mono{Boot: bo.Boot}},
			Theirs: events.Reading{Wall: ours.Wall.At, Mono: ours.Mono},
		})
	}
	bo.Say("10:00", paired("1-1"), func(e *events.Event) {
		e.Wall.At, e.Mono.Ms = most, most
	})
	d.hears("10:03", bo)
	require.Equal(t, "10:13:01", d.pushable(t, "10:03"))
}

// So does a round trip of ages.
func TestHostileRoundTripProvesNothing(t *testing.T) {
	for shift := range 53 {
		d := newDesk()
		bo := d.joins("bo")
		ours, theirs := d.us.Stamp(tale.T("09:00")), bo.Stamp(tale.T("09:00"))
		bo.Say("09:00", events.ClockCompared{
			Other: d.us.Key, RoundTrip: (1<<53 - 1) >> shift,
			Mine:   events.Reading{Wall: theirs.Wall.At, Mono: theirs.Mono},
			Theirs: events.Reading{Wall: ours.Wall.At, Mono: ours.Mono},
		})
		bo.Say("10:00", paired("1-1"))
		d.hears("10:03", bo)
		d.comesHome("10:04")
		require.Equal(t, settle.Wait, settle.Judge(d.site(), "H1", d.attentive(tale.T("10:09:59"))).Verdict, "shifted by %d", shift)
	}
}

// A pairing that cannot be read is one all the same, on any hub, and whoever
// said it.
func TestPairingNotUnderstoodCounts(t *testing.T) {
	for _, who := range []string{"a member", "a stranger"} {
		t.Run(who, func(t *testing.T) {
			d := newDesk()
			d.us.Say("10:00", paired("1-1"))
			d.comesHome("10:01")
			author := d.joins("bo")
			if who == "a stranger" {
				author = d.Stranger("nobody")
			}
			ref := author.Say("10:05", paired("1-2")).Ref()
			d.hears("10:05", author)
			h := &projection.History{Site: d.Site}
			for _, e := range d.Events() {
				if e.Ref() == ref {
					e.Payload = events.Opaque{Of: "device.paired", Why: "not in canonical form"}
				}
				h.Add(e)
			}
			s := h.At(projection.Moment{})
			require.Equal(t, 1, len(s.NotUnderstood)+len(s.Quarantined))
			j := settle.Judge(s, "H1", d.attentive(tale.T("10:12")))
			require.Equal(t, settle.Wait, j.Verdict)
			require.Equal(t, tale.T("10:15").Add(241*time.Millisecond), j.At.Value)
			require.Nil(t, j.Waiting)
			require.Contains(t, j.Reasons[0].Words, "a pairing that is not understood")
		})
	}
}

// A comparison that a member gone bad made up, which would put a colleague's work
// into last week, hides nobody who has to be asked.
func TestALyingComparisonHidesNobodyAtWork(t *testing.T) {
	d := newDesk()
	bo, liar := d.joins("bo"), d.joins("cy")
	day := events.Instant((24 * time.Hour).Milliseconds())
	morning := tale.T("09:00") + day
	d.us.Compare("08:30", liar, 0)
	mine, theirs := liar.Stamp(tale.T("08:31")), bo.Stamp(tale.T("08:31"))
	liar.Say("08:31", events.ClockCompared{
		Other: bo.Key, Offset: int64(7 * day),
		Mine:   events.Reading{Wall: mine.Wall.At, Mono: mine.Mono},
		Theirs: events.Reading{Wall: theirs.Wall.At, Mono: theirs.Mono},
	})
	bo.SayAt(morning, paired("1-1"))
	d.hearsAt(morning, bo, liar)
	h, _ := d.site().Hub("H1")
	require.LessOrEqual(t, h.Active[bo.Key].At, morning-day, "the lie is believed, as far as what bo had seen allows")

	d.us.SayAt(morning+75*60_000, events.NoteAdded{Of: events.Hub("H1"), Text: "a day has passed"})
	asked := settle.Judge(d.site(), "H1", d.local(morning+80*60_000)).Ask
	require.Contains(t, asked, settle.Asked{Member: bo.Key, Since: events.Some(morning)})
}
