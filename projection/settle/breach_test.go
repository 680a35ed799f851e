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

func pushed(missed ...events.Tag) events.PushDone {
	return events.PushDone{Hub: "H1", Program: "r1", Missed: missed}
}

// Each breach is seen, is gone after what cures it, and is closed by a word too.
func TestBreaches(t *testing.T) {
	cases := []struct {
		name string
		tell func(d *desk)
		want projection.ConflictKind
		of   []events.Subject
		cure func(d *desk)
	}{
		{"channel changed after pairing (R1)", func(d *desk) {
			d.us.Say("08:30", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})
			d.us.Say("09:00", paired("1-1"))
			d.us.Say("09:10", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
		}, projection.ChannelChanged, []events.Subject{events.Hub("H1")}, func(d *desk) {
			d.comesHome("09:30")
			d.us.Say("09:40", pushed())
		}},
		{"paired while the hub was lost (R2)", func(d *desk) {
			d.us.Say("08:30", events.HubLost{Hub: "H1", Why: "dead"})
			d.us.Say("09:00", paired("1-1"))
			d.us.Say("09:01", events.HubReady{Hub: "H1"})
		}, projection.PairedUnready, []events.Subject{events.Device("1-1"), events.Hub("H1")}, func(d *desk) {
			d.comesHome("09:30")
			d.us.Say("09:40", pushed())
		}},
		{"paired while the program did not list it (R2)", func(d *desk) {
			d.us.Say("08:30", events.HubLoaded{Hub: "H1", Program: "r0", Lists: []events.Tag{"1-2"}})
			d.us.Say("09:00", paired("1-1"))
			d.us.Say("09:01", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
		}, projection.PairedUnready, []events.Subject{events.Device("1-1"), events.Hub("H1")}, func(d *desk) {
			d.us.Say("09:10", events.DeviceUnpaired{Device: "1-1", Why: "again"})
			d.us.Say("09:11", paired("1-1"))
		}},
		{"pushed before the records were merged (R7)", func(d *desk) {
			d.us.Say("09:00", paired("1-1"))
			d.us.Say("09:40", pushed())
		}, projection.PushedUnmerged, []events.Subject{events.Hub("H1"), events.Device("1-1")}, func(d *desk) {
			d.comesHome("09:50")
			d.us.Say("09:55", pushed())
		}},
		{"pushed early (R8)", func(d *desk) {
			d.us.Say("08:50", paired("1-2"))
			d.us.Say("09:00", paired("1-1"))
			d.comesHome("09:05")
			d.us.Say("09:09:59", pushed())
		}, projection.PushedEarly, []events.Subject{events.Hub("H1"), events.Device("1-1")}, func(d *desk) {
			d.us.Say("09:20", pushed())
		}},
		{"pushed early, and a later push failed (R8)", func(d *desk) {
			d.us.Say("09:00", paired("1-1"))
			d.comesHome("09:05")
			d.us.Say("09:08", pushed())
			d.us.Say("09:15", events.PushFailed{Hub: "H1", Why: "the hub hung"})
		}, projection.PushedEarly, []events.Subject{events.Hub("H1"), events.Device("1-1")}, func(d *desk) {
			d.us.Say("09:20", pushed())
		}},
		{"the push began early (R8)", func(d *desk) {
			d.us.Say("09:00", paired("1-1"))
			d.comesHome("09:05")
			p := pushed()
			p.Began = events.Some(tale.T("09:09"))
			d.us.Say("09:12", p)
		}, projection.PushedEarly, []events.Subject{events.Hub("H1"), events.Device("1-1")}, func(d *desk) {
			d.us.Say("09:20", pushed())
		}},
		{"pushed early by the worst reading of a typed time (R8)", func(d *desk) {
			d.us.Say("09:08", paired("1-1"), tale.When("08:55", "09:05"))
			d.comesHome("09:09")
			d.us.Say("09:12", pushed())
		}, projection.PushedEarly, []events.Subject{events.Hub("H1"), events.Device("1-1")}, func(d *desk) {
			d.us.Say("09:20", pushed())
		}},
		{"pushed early, whatever the clock said in between (R8)", func(d *desk) {
			d.us.Say("09:00", paired("1-1"))
			d.comesHome("09:05")
			d.us.Skew = time.Hour
			d.us.Say("09:08", pushed())
		}, projection.PushedEarly, []events.Subject{events.Hub("H1"), events.Device("1-1")}, func(d *desk) {
			d.us.Say("09:20", pushed())
		}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			told, cured := newDesk(), newDesk()
			c.tell(told)
			c.tell(cured)
			got := settle.Breaches(told.site())
			require.Len(t, got, 1)
			require.Equal(t, c.want, got[0].Kind)
			require.Equal(t, c.of, got[0].Subjects)
			require.NotEmpty(t, got[0].Events)
			require.NotEmpty(t, got[0].Why)
			require.NotEmpty(t, got[0].Stands)
			require.NotEmpty(t, got[0].Offers)
			require.False(t, got[0].Kind.Identity())

			c.cure(cured)
			require.Empty(t, settle.Breaches(cured.site()))
			told.us.Say("11:00", events.ConflictResolved{Key: got[0].Key, Stands: got[0].Offers[0].Stands, Why: "seen"})
			require.Empty(t, settle.Breaches(told.site()))
		})
	}
}

// Keeping the rules breaks none of them.
func TestNoBreach(t *testing.T) {
	d := newDesk()
	d.us.Say("08:30", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})
	d.us.Say("09:00", paired("1-1"))
	d.us.Say("09:09", paired("1-5")) // a star device does not settle (R9)
	d.comesHome("09:09:30")
	d.us.Say("09:10", pushed("1-1"))
	d.us.Say("09:12", pushed())
	d.us.Say("09:13", events.DeviceUnpaired{Device: "1-1", Why: "moved"})
	d.us.Say("09:14", paired("1-1")) // and not pushed since
	require.Empty(t, settle.Breaches(d.site()))
}

// What a device missed, it did not take early. Curing one device of two leaves
// the key as it was, so that a resolution holds.
func TestPushedEarlyKeepsItsKey(t *testing.T) {
	d := newDesk()
	d.us.Say("09:00", paired("1-1"))
	d.us.Say("09:00", paired("1-2"))
	d.us.Say("09:00", paired("1-3"))
	d.comesHome("09:01")
	d.us.Say("09:05", pushed("1-3"))
	first := settle.Breaches(d.site())
	require.Len(t, first, 1)
	require.Equal(t, []events.Subject{events.Hub("H1"), events.Device("1-1"), events.Device("1-2")}, first[0].Subjects)

	again := pushed()
	again.Tried = []events.Tag{"1-1"}
	d.us.Say("09:20", again)
	second := settle.Breaches(d.site())
	require.Len(t, second, 1)
	require.Equal(t, first[0].Key, second[0].Key)
	require.Equal(t, []events.Subject{events.Hub("H1"), events.Device("1-2")}, second[0].Subjects)
}

// A new name for a device does not open again what was closed.
func TestPairedUnreadyKeepsItsKey(t *testing.T) {
	d := newDesk()
	d.us.Say("08:30", events.HubLost{Hub: "H1", Why: "dead"})
	d.us.Say("09:00", paired("1-1"))
	d.us.Say("09:01", events.ConflictResolved{Key: settle.Breaches(d.site())[0].Key, Stands: "accepted", Why: "seen"})
	d.us.Say("09:02", events.DeviceRenamed{From: "1-1", To: "1-11"})
	require.Empty(t, settle.Breaches(d.site()))
}

// Two members with the same log see the same breaches, whatever their clocks and
// whenever they heard of it.
func TestBreachesAreTheSameEverywhere(t *testing.T) {
	d := newDesk()
	bo := d.joins("bo")
	bo.Skew = -4 * time.Minute
	bo.Compare("09:02", d.us, 0)
	bo.Say("09:03", paired("1-1")) // 08:59 by theirs
	d.us.Say("09:00", paired("1-2"))
	d.hears("09:04", bo)
	d.comesHome("09:05")
	d.us.Say("09:10:01", pushed())
	all := d.Events()
	back := &projection.History{Site: d.Site}
	for i := len(all) - 1; i >= 0; i-- {
		back.Add(all[i])
	}
	got := settle.Breaches(d.site())
	require.Len(t, got, 1)
	require.Equal(t, got, settle.Breaches(back.At(projection.Moment{})))
}

// What somebody had seen is earlier than what they did, whatever their clock says.
func TestPushedEarlyKnowsWhatWasSeen(t *testing.T) {
	t.Run("a pairing after what its author had seen", func(t *testing.T) {
		d := newDesk()
		bo := d.joins("bo")
		bo.Skew = -20 * time.Minute
		d.us.Say("09:00", paired("1-5"))
		bo.Hear(d.us)
		bo.Say("09:01", paired("1-2")) // 08:41 by theirs
		d.hears("09:02", bo)
		d.comesHome("09:03")
		d.us.Say("09:09:30", pushed())
		require.Len(t, settle.Breaches(d.site()), 1)
	})
	t.Run("a push after what its author had seen", func(t *testing.T) {
		d := newDesk()
		bo := d.joins("bo")
		bo.Skew = -30 * time.Minute
		d.us.Say("09:00", paired("1-1"))
		d.comesHome("09:20")
		bo.Hear(d.us)
		bo.Say("09:21", pushed()) // 08:51 by theirs
		d.hears("09:22", bo)
		require.Empty(t, settle.Breaches(d.site()))
	})
}
