package mesh_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/mesh"
)

// Margins below follow from the default settings by hand: 0 dBm and twice -3 dBi
// sent, -94.6 dBm needed, and P.1238-10's office row loses 39.75 + 30 log d dB at
// 2440 MHz, so the mean margin at d metres is 48.85 - 30 log d: 10 dB at 19.7 m,
// 13.6 dB at 15 m. The upper end is 0 at some 107 m.

func TestReach(t *testing.T) {
	for _, tt := range []struct {
		name   string
		told   func(j *job)
		at     string // 10:00 where empty
		of     events.Tag
		answer mesh.Answer
		basis  mesh.Basis
		path   []events.Tag
		why    string
	}{
		{"a bare list", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
		}, "", "1-1", mesh.Unknown, mesh.NoBasis, nil, "no place is known of it"},
		{"no place of the hub", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", m(1, 0, 0))
		}, "", "1-1", mesh.Unknown, mesh.NoBasis, nil, "no place is known of H1"},
		{"a bare list, and heard", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "", "1-1", mesh.Yes, mesh.Observed, nil, "heard 09:30; no place is known of it, so no path is drawn"},
		{"heard the day before", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.say("14:05", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "2026-03-03T10:00:00Z", "1-1", mesh.Yes, mesh.Observed, nil, "heard 14:05 yesterday; no place is known of it, so no path is drawn"},
		{"heard thirty days ago", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.say("14:05", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "2026-04-01T14:05:00Z", "1-1", mesh.Yes, mesh.Observed, nil, "heard 14:05 on 2 Mar; no place is known of it, so no path is drawn"},
		{"heard a day longer ago than counts", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "2026-04-02T10:00:00Z", "1-1", mesh.Unknown, mesh.NoBasis, nil, "heard 09:30 on 2 Mar, too long ago to count; no place is known of it"},
		{"heard a year ago", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "2027-04-02T10:00:00Z", "1-1", mesh.Unknown, mesh.NoBasis, nil, "heard 09:30 on 2 Mar 2026, too long ago to count; no place is known of it"},
		{"straight to the hub", func(j *job) { j.row(15, "1-1") },
			"", "1-1", mesh.Yes, mesh.Predicted, tags("1-1", "H1"), "straight to H1; margin 2–25 dB"},
		{"through others", func(j *job) { j.row(15, "1-1", "1-2", "1-3") },
			"", "1-3", mesh.Yes, mesh.Predicted, tags("1-3", "1-2", "1-1", "H1"), "through 1-2 and 1-1; weakest link 1-3–1-2, margin 2–25 dB"},
		{"through many", func(j *job) { j.row(15, "1-1", "1-2", "1-3", "1-4", "1-5") },
			"", "1-5", mesh.Yes, mesh.Predicted, tags("1-5", "1-4", "1-3", "1-2", "1-1", "H1"), "through 1-4, 1-3 and 2 more; weakest link 1-5–1-4, margin 2–25 dB"},
		{"further than sure", func(j *job) { j.row(40, "1-1") },
			"", "1-1", mesh.Unknown, mesh.Predicted, tags("1-1", "H1"), "a path is possible, not sure: straight to H1; margin -11 to 12 dB"},
		{"further than possible", func(j *job) { j.row(120, "1-1") },
			"", "1-1", mesh.No, mesh.Predicted, nil, "neither H1 nor a paired router of it is near enough"},
		{"on an island", func(j *job) {
			j.row(120, "1-1")
			j.paired("1-2", m(125, 0, 0))
		}, "", "1-2", mesh.No, mesh.Predicted, nil, "no link, not even a doubtful one, leads on to H1 from its island"},
		{"further than possible, and somebody's place is not known", func(j *job) {
			j.row(120, "1-1")
			j.paired("1-2", nowhere)
		}, "", "1-1", mesh.Unknown, mesh.NoBasis, nil, "no path is known; places are missing of 1 router of H1 that may carry it"},
		{"further than possible, and a sleeper's place is not known", func(j *job) {
			j.row(120, "1-1")
			j.paired("1-2", nowhere, asLeaf)
		}, "", "1-1", mesh.No, mesh.Predicted, nil, "neither H1 nor a paired router of it is near enough"},
		{"a sleeper between carries nothing", func(j *job) {
			j.row(120, "1-2")
			j.paired("1-1", m(60, 0, 0), asLeaf)
		}, "", "1-2", mesh.No, mesh.Predicted, nil, "neither H1 nor a paired router of it is near enough"},
		{"a sleeper ends a path", func(j *job) {
			j.row(15, "1-1")
			j.paired("1-2", m(30, 0, 0), asLeaf)
		}, "", "1-2", mesh.Yes, mesh.Predicted, tags("1-2", "1-1", "H1"), "through 1-1; weakest link 1-2–1-1, margin 2–25 dB"},
		{"another hub's device carries nothing", func(j *job) {
			j.row(120, "1-2")
			j.hub("H2", m(60, 50, 0))
			j.paired("1-1", m(60, 0, 0), onHub("H2"))
		}, "", "1-2", mesh.No, mesh.Predicted, nil, "neither H1 nor a paired router of it is near enough"},
		{"one paired to another hub than scheduled carries for that", func(j *job) {
			j.row(120, "1-2")
			j.hub("H2", m(60, 50, 0))
			j.list("1-1", m(60, 0, 0), onHub("H2"))
			j.say("09:00", events.DevicePaired{Device: "1-1", Hub: "H1"})
		}, "", "1-2", mesh.Unknown, mesh.Predicted, tags("1-2", "1-1", "H1"), "a path is possible, not sure: through 1-1; weakest link 1-2–1-1, margin -16 to 7 dB"},
		{"nor does one that is not paired yet", func(j *job) {
			j.row(120, "1-2")
			j.list("1-1", m(60, 0, 0))
		}, "", "1-2", mesh.No, mesh.Predicted, nil, "neither H1 nor a paired router of it is near enough"},
		{"a star device, near", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), asStar)
		}, "", "1-1", mesh.Yes, mesh.Predicted, tags("1-1", "H1"), "straight to H1; margin 5–28 dB"},
		{"a star device, far, with mesh devices between", func(j *job) {
			j.row(15, "1-1", "1-2")
			j.paired("1-3", m(400, 0, 0), asStar)
			j.paired("1-4", nowhere)
		}, "", "1-3", mesh.No, mesh.Predicted, nil, "too far from H1, or too much between"},
		{"a star device on a hub that has only mesh", func(j *job) {
			j.say("08:05", events.HubListed{Hub: "H1", Radio: events.Mesh, Place: m(0, 0, 0)})
			j.paired("1-1", m(1, 0, 0), asStar)
		}, "", "1-1", mesh.Unknown, mesh.NoBasis, nil, "H1 is scheduled without its radio"},
		{"dark", func(j *job) {
			j.row(15, "1-1")
			j.say("09:40", events.PowerOff{Of: events.Circuit("C3-7"), Dark: tags("1-1")})
		}, "", "1-1", mesh.No, mesh.Observed, nil, "no power: C3-7 off since 09:40"},
		{"dark, and heard after that", func(j *job) {
			j.row(15, "1-1")
			j.say("09:40", events.PowerOff{Of: events.Device("1-1")})
			j.say("09:50", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "", "1-1", mesh.No, mesh.Observed, nil, "no power: off since 09:40; yet it was heard 09:50"},
		{"dark by itself", func(j *job) {
			j.row(15, "1-1")
			j.say("09:40", events.PowerOff{Of: events.Device("1-1")})
		}, "", "1-1", mesh.No, mesh.Observed, nil, "no power: off since 09:40"},
		{"a dark one carries nothing", func(j *job) {
			j.row(60, "1-1", "1-2")
			j.say("09:40", events.PowerOff{Of: events.Device("1-1")})
		}, "", "1-2", mesh.No, mesh.Predicted, nil, "neither H1 nor a paired router of it is near enough"},
		{"the hub has no power", func(j *job) {
			j.say("08:05", events.HubListed{Hub: "H1", Place: m(0, 0, 0), Circuit: "C1"})
			j.paired("1-1", m(1, 0, 0))
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			j.say("09:40", events.PowerOff{Of: events.Circuit("C1")})
		}, "", "1-1", mesh.No, mesh.Observed, nil, "H1 has no power: C1 off since 09:40"},
		{"the hub is lost", func(j *job) {
			j.row(15, "1-1")
			j.say("09:40", events.HubLost{Hub: "H1", Why: "no answer"})
		}, "", "1-1", mesh.No, mesh.Observed, nil, "H1 is lost since 09:40: no answer"},
		{"the hub was lost, and heard a device after that", func(j *job) {
			j.row(15, "1-1", "1-2")
			j.say("09:40", events.HubLost{Hub: "H1", Why: "no answer"})
			j.say("09:50", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "", "1-2", mesh.Yes, mesh.Predicted, tags("1-2", "1-1", "H1"), "through 1-1; weakest link 1-2–1-1, margin 2–25 dB"},
		{"the hub is struck", func(j *job) {
			j.row(15, "1-1")
			j.say("09:40", events.HubStruck{Hub: "H1", Why: "moved"})
		}, "", "1-1", mesh.No, mesh.Observed, nil, "H1 is struck from the schedule since 09:40"},
		{"heard, and a path is predicted", func(j *job) {
			j.row(15, "1-1")
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "", "1-1", mesh.Yes, mesh.Observed, tags("1-1", "H1"), "heard 09:30; likely straight to H1; margin 2–25 dB"},
		{"heard against all prediction", func(j *job) {
			j.row(120, "1-1")
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "", "1-1", mesh.Yes, mesh.Observed, nil, "heard 09:30; by the links known here it has no path, so none is drawn"},
		{"took a push", func(j *job) {
			j.pushed("09:30")
		}, "", "1-1", mesh.Yes, mesh.Observed, nil, "took a push 09:30; no place is known of it, so no path is drawn"},
		{"heard, then took a push", func(j *job) {
			j.pushed("09:30", "1-1")
			j.say("09:35", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			j.say("09:40", events.PushDone{Hub: "H1", Program: "r1"})
		}, "", "1-1", mesh.Yes, mesh.Observed, nil, "took a push 09:40; no place is known of it, so no path is drawn"},
		{"took a push, then heard", func(j *job) {
			j.pushed("09:30")
			j.say("09:35", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "", "1-1", mesh.Yes, mesh.Observed, nil, "heard 09:35; no place is known of it, so no path is drawn"},
		{"missed a push, then took one", func(j *job) {
			j.pushed("09:30", "1-1")
			j.say("09:40", events.PushDone{Hub: "H1", Program: "r1"})
		}, "", "1-1", mesh.Yes, mesh.Observed, nil, "took a push 09:40; no place is known of it, so no path is drawn"},
		{"missed a push after it took one", func(j *job) {
			j.pushed("09:30")
			j.say("09:40", events.PushDone{Hub: "H1", Program: "r1", Missed: tags("1-1")})
		}, "", "1-1", mesh.Unknown, mesh.NoBasis, nil, "took a push 09:30; missed the push at 09:40; no place is known of it"},
		{"missed a push, and a path is predicted", func(j *job) {
			j.row(15, "1-1")
			j.say("09:40", events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.PushDone{Hub: "H1", Program: "r1", Missed: tags("1-1")})
		}, "", "1-1", mesh.Unknown, mesh.Predicted, tags("1-1", "H1"), "missed the push at 09:40; straight to H1; margin 2–25 dB"},
		{"missed a push, and was heard since", func(j *job) {
			j.row(15, "1-1")
			j.say("09:40", events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.PushDone{Hub: "H1", Program: "r1", Missed: tags("1-1")})
			j.say("09:50", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, "", "1-1", mesh.Yes, mesh.Observed, tags("1-1", "H1"), "heard 09:50; likely straight to H1; margin 2–25 dB"},
		{"missed a push, and there is no way anyhow", func(j *job) {
			j.row(120, "1-1")
			j.say("09:40", events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.PushDone{Hub: "H1", Program: "r1", Missed: tags("1-1")})
		}, "", "1-1", mesh.No, mesh.Predicted, nil, "neither H1 nor a paired router of it is near enough"},
		{"the channel changed since it was heard", func(j *job) {
			j.hub("H1", nowhere)
			j.say("08:06", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})
			j.paired("1-1", nowhere)
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			j.say("09:40", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
		}, "", "1-1", mesh.Unknown, mesh.NoBasis, nil, "heard 09:30, but H1 changed its channel 09:40, with no push since; no place is known of it"},
		{"the other radio's channel changed", func(j *job) {
			j.hub("H1", nowhere)
			j.say("08:06", events.HubChannel{Hub: "H1", Radio: events.Star, Channel: 1})
			j.paired("1-1", nowhere)
			j.paired("1-2", nowhere, asStar)
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			j.say("09:40", events.HubChannel{Hub: "H1", Radio: events.Star, Channel: 2})
		}, "", "1-1", mesh.Yes, mesh.Observed, nil, "heard 09:30; no place is known of it, so no path is drawn"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			tt.told(j)
			if tt.at == "" {
				tt.at = "10:00"
			}
			r := reach(t, j.at(tt.at), tt.of)
			require.Equal(t, tt.why, r.Why)
			require.Equal(t, tt.answer, r.Answer)
			require.Equal(t, tt.basis, r.Basis)
			require.Equal(t, tt.path, r.Path)
			require.Equal(t, max(len(tt.path)-1, 0), r.Hops)
			for _, known := range []bool{r.Margin.Known, r.Chance.Known, r.Weakest != nil} {
				require.Equal(t, tt.path != nil, known)
			}
			if r.Margin.Known {
				require.Equal(t, r.Weakest.Margin, r.Margin.Value)
			}
		})
	}
}

// pushed is a bare list of one device, merged and pushed.
func (j *job) pushed(clock string, missed ...events.Tag) {
	j.hub("H1", nowhere)
	j.say("08:20", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
	j.paired("1-1", nowhere)
	head := map[events.FeedID]events.Head{j.Lead.Feed: j.Lead.Head()}
	j.say("09:10", events.RecordsExported{Export: "x1", Heads: head}, events.RecordsMerged{Export: "x1"})
	j.say(clock, events.PushDone{Hub: "H1", Program: "r1", Missed: missed})
}

// Of a list of tags, kinds and hubs nothing is made up, whatever is asked.
func TestABareListInventsNothing(t *testing.T) {
	j := newJob(t)
	j.hub("H1", nowhere)
	j.hub("H2", nowhere)
	for _, tag := range tags("1-1", "1-2", "1-3") {
		j.paired(tag, nowhere)
	}
	j.paired("2-1", nowhere, onHub("H2"), asLeaf)
	j.paired("2-2", nowhere, onHub("H2"), asStar)
	j.list("2-3", nowhere, onHub("H2"))
	j.say("09:30", events.DeviceHeard{Device: "1-2", Hub: "H1", RSSI: events.Some(-60)})
	s := j.Now()
	g := mesh.Survey(s)
	for i := range s.Devices {
		for range g.Links(s.Devices[i].Device) {
			t.Fatal("a link")
		}
	}
	for _, w := range []mesh.What{
		{}, {Planned: true}, {Without: []events.Subject{events.Device("1-1")}},
		{Relays: []mesh.Relay{{}, {Hub: "H1"}}},
	} {
		n := g.Net(s, w)
		for _, r := range n.Reaches() {
			require.Nil(t, r.Path)
			require.Zero(t, r.Hops)
			require.Nil(t, r.Weakest)
			require.False(t, r.Margin.Known || r.Chance.Known || r.Disjoint.Known)
			if gone := len(w.Without) > 0 && r.Device == "1-1"; !gone {
				require.NotEqual(t, mesh.No, r.Answer)
			}
			require.Equal(t, r.Device == "1-2" && len(w.Without) == 0, r.Answer == mesh.Yes)
		}
		require.Empty(t, n.Islands())
		require.Empty(t, n.SinglePoints())
		_, ok := n.BestRelay()
		require.False(t, ok)
		for i := range s.Devices {
			_, _, ok := n.Joins(s.Devices[i].Device)
			require.False(t, ok)
		}
	}
}
