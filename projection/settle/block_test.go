package settle_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

// Nothing is ever a dead end: each thing that stands in the way has a reason, and
// doing what the reason says opens the way. All of it happens after 09:30, the
// cure at 10:00; at 10:30 push may go.
func TestNoDeadEnds(t *testing.T) {
	cases := []struct {
		name   string
		tell   func(d *desk, bo *tale.Teller)
		reason settle.ReasonKind
		cure   func(d *desk, bo *tale.Teller)
	}{
		{"hub lost", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", events.HubLost{Hub: "H1", Why: "no light on it"})
		}, settle.NotReady, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.HubReady{Hub: "H1"})
		}},
		{"hub struck", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", events.HubStruck{Hub: "H1"})
		}, settle.HubStruck, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.HubListed{Hub: "H1"})
		}},
		{"program lists too little (R2)", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", events.HubLoaded{Hub: "H1", Program: "r2", Lists: []events.Tag{"1-2"}})
		}, settle.NotListed, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.HubLoaded{Hub: "H1", Program: "r3", Lists: []events.Tag{"1-1", "1-2"}})
		}},
		{"records not exported (R7)", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", paired("1-2"))
		}, settle.NotExported, func(d *desk, _ *tale.Teller) {
			d.comesHome("10:00")
		}},
		{"records exported and not merged (R7)", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", paired("1-2"))
			d.us.Say("09:41", events.RecordsExported{Export: "X", Heads: d.site().Heads})
		}, settle.NotMerged, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.RecordsMerged{Export: "X", Hub: "H1"})
		}},
		{"merged for another hub (R7)", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", paired("1-2"))
			d.us.Say("09:41", events.RecordsExported{Export: "X", Heads: d.site().Heads})
			d.us.Say("09:42", events.RecordsMerged{Export: "X", Hub: "H2"})
		}, settle.NotMerged, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.RecordsMerged{Export: "X"})
		}},
		{"paired by two", func(d *desk, bo *tale.Teller) {
			d.us.Say("09:40", paired("1-2"))
			bo.Say("09:41", paired("1-2"))
			d.hears("09:42", bo)
			d.comesHome("09:43")
		}, settle.InConflict, func(d *desk, bo *tale.Teller) {
			c := d.site().Conflicts[0]
			d.us.Say("10:00", events.ConflictResolved{Key: c.Key, Stands: c.Offers[0].Stands, Why: "asked bo"})
		}},
		{"one serial on two devices, one of them on another hub", func(d *desk, _ *tale.Teller) {
			other := mesh("2-1", "C9")
			other.Hub = "H2"
			d.us.Say("09:40", events.HubListed{Hub: "H2"})
			d.us.Say("09:40", other)
			d.us.Say("09:40", events.DeviceFitted{Device: "2-1", Serial: "S1-1"})
		}, settle.InConflict, func(d *desk, _ *tale.Teller) {
			c := d.site().Conflicts[0]
			d.us.Say("10:00", events.ConflictResolved{Key: c.Key, Stands: c.Offers[0].Stands, Why: "read the labels"})
		}},
		{"hold on the site", hold(events.Site()), settle.OnHold, lift(events.Site())},
		{"hold on the hub", hold(events.Hub("H1")), settle.OnHold, lift(events.Hub("H1"))},
		{"hold on the hub's own floor", hold(events.Floor("B1")), settle.OnHold, lift(events.Floor("B1"))},
		{"hold on a paired device's floor", hold(events.Floor("1")), settle.OnHold, lift(events.Floor("1"))},
		{"hold on a paired device's circuit", hold(events.Circuit("C1")), settle.OnHold, lift(events.Circuit("C1"))},
		{"channel changed after pairing (R1)", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
		}, settle.NewChannel, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.HubReady{Hub: "H1"})
		}},
		{"channel changed by a colleague whose clock is ahead (R1)", func(d *desk, bo *tale.Teller) {
			bo.Skew = 4 * 3600e9
			bo.Say("09:40", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
			d.hears("09:41", bo)
		}, settle.NewChannel, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.HubReady{Hub: "H1"})
		}},
		{"channel changed, and somebody resolves it (R1)", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
		}, settle.NewChannel, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", events.ConflictResolved{Key: settle.Breaches(d.site())[0].Key, Stands: "accepted", Why: "they follow"})
		}},
		{"power off in the wait", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:05", off("C1"))
		}, settle.PowerOff, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", on("C1"))
		}},
		{"power off at the hub", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:40", events.HubListed{Hub: "H1", Circuit: "C8"})
			d.us.Say("09:40", off("C8"))
		}, settle.PowerOff, func(d *desk, _ *tale.Teller) {
			d.us.Say("10:00", on("C8"))
		}},
		{"a colleague not heard", func(d *desk, bo *tale.Teller) {
			d.us.Say("09:40", events.HubAssigned{Hub: "H1", Member: bo.Key})
		}, settle.Unheard, func(d *desk, bo *tale.Teller) {
			d.us.Say("10:20", events.MemberAsked{Member: bo.Key, Hub: "H1", Through: tale.T("10:20")})
		}},
		{"mesh settling (R8)", func(d *desk, _ *tale.Teller) {
			d.us.Say("09:52", paired("1-2"))
			d.comesHome("09:53")
		}, settle.Settling, func(*desk, *tale.Teller) {}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := newDesk()
			bo := d.joins("bo")
			d.us.Say("08:10", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})
			d.us.Say("09:00", paired("1-1"))
			d.comesHome("09:30")
			require.Equal(t, settle.Ready, d.judge("09:35").Verdict, "at first")
			c.tell(d, bo)
			l := d.local(tale.T("10:00"))
			if c.reason != settle.Unheard {
				l = d.attentive(tale.T("10:00"))
			}
			j := settle.Judge(d.site(), "H1", l)
			require.NotEqual(t, settle.Ready, j.Verdict)
			require.NotEqual(t, settle.Nothing, j.Verdict)
			require.Contains(t, kinds(j), c.reason)
			for _, r := range j.Reasons {
				require.NotEmpty(t, r.Words)
				require.Contains(t, r.Subjects, events.Hub("H1"))
			}
			c.cure(d, bo)
			l = d.local(tale.T("10:30"))
			if c.reason != settle.Unheard {
				l = d.attentive(tale.T("10:30"))
			}
			j = settle.Judge(d.site(), "H1", l)
			require.Equal(t, settle.Ready, j.Verdict, "after the cure: %v", j.Reasons)
		})
	}
}

func hold(of events.Subject) func(*desk, *tale.Teller) {
	return func(d *desk, _ *tale.Teller) {
		d.us.Say("09:40", events.HoldPlaced{Of: of, Why: "at work", Who: "electrician"})
	}
}

func lift(of events.Subject) func(*desk, *tale.Teller) {
	return func(d *desk, _ *tale.Teller) { d.us.Say("10:00", events.HoldLifted{Of: of}) }
}

// A hub that was never made ready and never loaded says both.
func TestBareHubSaysAllThatIsMissing(t *testing.T) {
	d := newDesk()
	d.us.Say("08:00", events.HubListed{Hub: "H2"})
	d.us.Say("09:00", events.DevicePaired{Device: "1-1", Hub: "H2"})
	j := settle.Judge(d.site(), "H2", d.local(tale.T("10:00")))
	require.Equal(t, settle.Blocked, j.Verdict)
	require.Equal(t, []settle.ReasonKind{settle.NotReady, settle.NoProgram, settle.NotExported}, kinds(j))
}

func TestLostHubSaysWhy(t *testing.T) {
	d := newDesk()
	d.us.Say("09:00", paired("1-1"))
	d.us.Say("09:10", events.HubLost{Hub: "H1", Why: "no light on it"})
	require.Contains(t, d.judge("10:00").Reasons[0].Words, "H1 was lost (no light on it)")
}

// What is no business of the hub does not block it.
func TestElsewhereDoesNotBlock(t *testing.T) {
	d := newDesk()
	d.us.Say("08:10", events.HubListed{Hub: "H2", Floor: "2"})
	for _, tag := range []events.Tag{"2-1", "2-2"} {
		other := mesh(tag, "C9")
		other.Hub, other.Floor = "H2", "2"
		d.us.Say("08:10", other)
		d.us.Say("08:20", events.DeviceFitted{Device: tag, Serial: "S9"})
	}
	d.us.Say("08:30", events.HoldPlaced{Of: events.Floor("2"), Why: "wet paint"})
	d.us.Say("08:30", events.HoldPlaced{Of: events.Circuit("C4"), Why: "an unpaired device's"})
	d.us.Say("09:00", paired("1-1"))
	d.comesHome("09:30")
	require.NotEmpty(t, d.site().Conflicts)
	d.us.Say("09:31", paired("1-3"))
	d.us.Say("09:32", events.DeviceStruck{Device: "1-3"})
	require.Equal(t, settle.Ready, d.judge("10:00").Verdict)
}

func TestNothingToPush(t *testing.T) {
	d := newDesk()
	require.Equal(t, settle.Nothing, d.judge("10:00").Verdict, "nothing paired")
	d.us.Say("10:00", paired("1-1"))
	d.comesHome("10:01")
	require.Equal(t, settle.Wait, d.judge("10:02").Verdict)
	d.us.Say("10:11", events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, settle.Nothing, d.judge("10:12").Verdict, "pushed")
	d.us.Say("10:13", events.HubLoaded{Hub: "H1", Program: "r2", All: true})
	require.Equal(t, settle.Ready, d.judge("10:14").Verdict, "a new program wants a push, and no wait")

	j := settle.Judge(d.site(), "H7", d.local(tale.T("10:14")))
	require.Equal(t, settle.Nothing, j.Verdict)
	require.Equal(t, []settle.ReasonKind{settle.UnknownHub}, kinds(j))
	all := settle.All(d.site(), d.local(tale.T("10:14")))
	require.Len(t, all, 1)
	require.Equal(t, d.judge("10:14"), all[0])
}
