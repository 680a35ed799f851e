package mesh_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/mesh"
)

func TestSuppositions(t *testing.T) {
	chain := func(j *job) {
		j.say("08:05", events.HubListed{Hub: "H1", Place: m(0, 0, 0), Circuit: "C1"})
		j.paired("1-1", m(15, 0, 0), onCircuit("C2"))
		j.paired("1-2", m(15, 5, 0), onCircuit("C2"))
		j.paired("1-3", m(30, 0, 0), onCircuit("C3"))
		j.paired("1-4", m(1, 0, 0), asStar)
	}
	for _, tt := range []struct {
		name   string
		told   func(j *job)
		what   mesh.What
		change mesh.Change
		why    map[events.Tag]string
		notes  []string
	}{
		{"nothing", chain, mesh.What{}, mesh.Change{}, nil, nil},
		{"without one of two", chain, mesh.What{Without: []events.Subject{events.Device("1-1")}},
			mesh.Change{Weaker: tags("1-3"), Shaken: tags("1-2"), Dark: tags("1-1")},
			map[events.Tag]string{"1-1": "without 1-1", "1-3": "through 1-2; weakest link 1-3–1-2, margin 2–24 dB"}, nil},
		{"without the other of two", chain, mesh.What{Without: []events.Subject{events.Device("1-2")}},
			mesh.Change{Shaken: tags("1-1", "1-3"), Dark: tags("1-2")}, nil, nil},
		{"without a circuit", chain, mesh.What{Without: []events.Subject{events.Circuit("C2")}},
			mesh.Change{Lost: tags("1-3"), Dark: tags("1-1", "1-2")},
			map[events.Tag]string{"1-1": "no power without C2"}, nil},
		{"without the hub's circuit", chain, mesh.What{Without: []events.Subject{events.Circuit("C1")}},
			mesh.Change{Lost: tags("1-1", "1-2", "1-3", "1-4")},
			map[events.Tag]string{"1-4": "H1 has no power without C1"}, nil},
		{"without the hub", chain, mesh.What{Without: []events.Subject{events.Hub("H1")}},
			mesh.Change{Lost: tags("1-1", "1-2", "1-3", "1-4")},
			map[events.Tag]string{"1-4": "without H1"}, nil},
		{"without the hub, named as a tag", chain, mesh.What{Without: []events.Subject{events.Device("H1")}},
			mesh.Change{Lost: tags("1-1", "1-2", "1-3", "1-4")}, nil, nil},
		{"without what nobody knows", chain, mesh.What{Without: []events.Subject{events.Device("9-9"), events.Circuit("C9"), events.Room("1.01")}},
			mesh.Change{}, nil, []string{
				"9-9 is not known here; nothing is taken away for it",
				"circuit C9 is not known here; nothing is taken away for it",
				"room 1.01 is not known here; nothing is taken away for it",
			}},
		{"as planned", func(j *job) {
			j.row(15, "1-1")
			j.list("1-2", m(30, 0, 0))
			j.list("1-3", m(45, 0, 0))
			j.list("1-4", m(46, 0, 0), func(d *events.DeviceListed) { d.Is = events.WiredRemote })
			j.list("1-5", m(47, 0, 0))
			j.say("09:30", events.PowerOff{Of: events.Device("1-1")}, events.HubLost{Hub: "H1", Why: "no answer"}, events.DeviceStruck{Device: "1-5", Why: "not built"})
		}, mesh.What{Planned: true},
			mesh.Change{Gained: tags("1-1"), Joined: tags("1-2", "1-3")},
			map[events.Tag]string{"1-3": "through 1-2 and 1-1; weakest link 1-3–1-2, margin 2–25 dB"}, nil},
		{"as planned, without one", func(j *job) {
			j.row(15, "1-1")
			j.list("1-2", m(30, 0, 0))
		}, mesh.What{Planned: true, Without: []events.Subject{events.Device("1-1")}},
			mesh.Change{Joined: tags("1-2"), Dark: tags("1-1")}, nil, nil},
		{"with a relay", func(j *job) { j.row(38, "1-1", "1-2") },
			mesh.What{Relays: []mesh.Relay{{Place: m(19, 0, 0).Value, Hub: "H1"}, {Place: m(57, 0, 0).Value}}},
			mesh.Change{Gained: tags("1-1", "1-2")},
			map[events.Tag]string{"1-2": "through relay+2, 1-1 and relay+1; weakest link 1-2–relay+2, margin -1 to 22 dB"}, nil},
		{"with relays that help nobody, or are for nobody", func(j *job) { j.row(15, "1-1") },
			mesh.What{Relays: []mesh.Relay{{Place: m(900, 0, 0).Value}, {Place: m(1, 0, 0).Value, Hub: "H9"}}},
			mesh.Change{}, nil, []string{"hub H9 is not known here; relay+2 is left out", "relay+1 helps no hub, and is left out"}},
		{"a relay out of everybody's reach", func(j *job) { j.row(120, "1-1") },
			mesh.What{Relays: []mesh.Relay{{Place: m(400, 0, 0).Value, Hub: "H1"}}}, mesh.Change{}, nil, nil},
		{"a relay on a star hub carries nothing", func(j *job) {
			j.say("08:05", events.HubListed{Hub: "H1", Radio: events.Star, Place: m(0, 0, 0)})
			j.paired("1-1", m(15, 0, 0))
		}, mesh.What{Relays: []mesh.Relay{{Place: m(7, 0, 0).Value, Hub: "H1"}}}, mesh.Change{}, nil, nil},
		{"what is dark already stays so", func(j *job) {
			j.row(15, "1-1", "1-2")
			j.say("09:40", events.PowerOff{Of: events.Device("1-2")})
		}, mesh.What{Without: []events.Subject{events.Device("1-1")}}, mesh.Change{Dark: tags("1-1")}, nil, nil},
		{"a doubtful path that is gone", func(j *job) {
			j.row(60, "1-1", "1-2")
			j.paired("1-3", nowhere)
		}, mesh.What{Without: []events.Subject{events.Device("1-1")}}, mesh.Change{Weaker: tags("1-2"), Dark: tags("1-1")}, nil, nil},
		{"what was heard may have gone through what is taken away", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.paired("1-2", nowhere)
			j.paired("1-3", nowhere, asStar)
			for _, tag := range tags("1-1", "1-2", "1-3") {
				j.say("09:30", events.DeviceHeard{Device: tag, Hub: "H1"})
			}
		}, mesh.What{Without: []events.Subject{events.Device("1-1")}},
			mesh.Change{Doubtful: tags("1-2"), Dark: tags("1-1")},
			map[events.Tag]string{
				"1-2": "heard 09:30, but it may have gone through 1-1, which is supposed away; no place is known of it",
				"1-3": "heard 09:30; no place is known of it, so no path is drawn",
			}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			tt.told(j)
			before, after := j.now(), j.now(tt.what)
			require.Equal(t, tt.change, mesh.Compare(before, after))
			for tag, why := range tt.why {
				require.Equal(t, why, reach(t, after, tag).Why)
			}
			require.Equal(t, tt.notes, after.Notes())
			back := mesh.Compare(after, before)
			require.Subset(t, append(back.Lost, back.Dark...), tt.change.Gained)
			require.Equal(t, tt.change.Joined, back.Left)
		})
	}
}

func TestWhatWentSinceADeviceWasHeard(t *testing.T) {
	for _, tt := range []struct {
		name   string
		before func(j *job)
		after  func(j *job)
		answer mesh.Answer
		why    string
	}{
		{"nothing", nil, nil, mesh.Yes, "heard 09:30; no place is known of it, so no path is drawn"},
		{"a router lost its power", nil, func(j *job) {
			j.say("09:40", events.PowerOff{Of: events.Circuit("C3-7"), Dark: tags("1-2")})
		}, mesh.Unknown, "heard 09:30, but it may have gone through 1-2, which has no power: C3-7 off since 09:40; no place is known of it"},
		{"and has it back", nil, func(j *job) {
			j.say("09:40", events.PowerOff{Of: events.Circuit("C3-7"), Dark: tags("1-2")}, events.PowerOn{Of: events.Circuit("C3-7")})
		}, mesh.Yes, "heard 09:30; no place is known of it, so no path is drawn"},
		{"a router was off before that", func(j *job) {
			j.say("09:20", events.PowerOff{Of: events.Device("1-2")})
		}, nil, mesh.Yes, "heard 09:30; no place is known of it, so no path is drawn"},
		{"a router was unpaired", nil, func(j *job) {
			j.say("09:40", events.DeviceUnpaired{Device: "1-2", Why: "reset"})
		}, mesh.Unknown, "heard 09:30, but it may have gone through 1-2, which was unpaired 09:40; no place is known of it"},
		{"a router was struck", nil, func(j *job) {
			j.say("09:40", events.DeviceStruck{Device: "1-2", Why: "not built"})
		}, mesh.Unknown, "heard 09:30, but it may have gone through 1-2, which was struck 09:40; no place is known of it"},
		{"a router went to another hub", nil, func(j *job) {
			j.say("09:40", events.DevicePaired{Device: "1-2", Hub: "H2"})
		}, mesh.Unknown, "heard 09:30, but it may have gone through 1-2, which was paired to H2 09:40; no place is known of it"},
		{"a router was replaced and paired again", nil, func(j *job) {
			j.say("09:40", events.DeviceReplaced{Device: "1-2", New: "B", Why: "broken"}, events.DevicePaired{Device: "1-2", Hub: "H1"})
		}, mesh.Yes, "heard 09:30; no place is known of it, so no path is drawn"},
		{"one said to be paired here by mistake went to where it is", func(j *job) {
			e := j.Lead.Say("09:15", events.DevicePaired{Device: "2-1", Hub: "H1"})
			j.say("09:16", events.EventVoided{Event: e.Ref(), Why: events.DidNotHappen})
		}, func(j *job) {
			j.say("09:40", events.DevicePaired{Device: "2-1", Hub: "H2"})
		}, mesh.Yes, "heard 09:30; no place is known of it, so no path is drawn"},
		{"a sleeper went", nil, func(j *job) {
			j.say("09:40", events.DeviceUnpaired{Device: "1-3", Why: "reset"})
		}, mesh.Yes, "heard 09:30; no place is known of it, so no path is drawn"},
		{"another hub's router went", nil, func(j *job) {
			j.say("09:40", events.DeviceUnpaired{Device: "2-1", Why: "reset"})
		}, mesh.Yes, "heard 09:30; no place is known of it, so no path is drawn"},
		{"the last one to go is named", nil, func(j *job) {
			j.say("09:40", events.DeviceUnpaired{Device: "1-2", Why: "reset"})
			j.say("09:50", events.DeviceUnpaired{Device: "1-4", Why: "reset"})
		}, mesh.Unknown, "heard 09:30, but it may have gone through 1-4, which was unpaired 09:50; no place is known of it"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			j.hub("H1", nowhere)
			j.hub("H2", nowhere)
			for _, tag := range tags("1-1", "1-2", "1-4") {
				j.paired(tag, nowhere)
			}
			j.paired("1-3", nowhere, asLeaf)
			j.paired("2-1", nowhere, onHub("H2"))
			j.say("09:10", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			if tt.before != nil {
				tt.before(j)
			}
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			if tt.after != nil {
				tt.after(j)
			}
			r := reach(t, j.at("10:00"), "1-1")
			require.Equal(t, tt.why, r.Why)
			require.Equal(t, tt.answer, r.Answer)
			require.True(t, r.Since.Known)
			require.Nil(t, r.Path)
		})
	}
}

// A router that went may be known not to have carried a device: when every router
// has a place, and nothing but the hub joins the two.
func TestWhatCannotHaveCarriedADevice(t *testing.T) {
	var gone events.Payload // after the device was heard
	for _, tt := range []struct {
		name string
		told func(j *job)
		want mesh.Answer
	}{
		{"in another wing", func(*job) {}, mesh.Yes},
		{"with a router between the wings", func(j *job) { j.paired("1-3", m(0, 10, 0)) }, mesh.Unknown},
		{"with a sleeper between the wings", func(j *job) { j.paired("1-3", m(0, 10, 0), asLeaf) }, mesh.Yes},
		{"with a router that may be anywhere", func(j *job) { j.paired("1-3", nowhere) }, mesh.Unknown},
		{"with a router that may have been anywhere", func(j *job) {
			j.paired("1-3", nowhere)
			gone = events.PowerOff{Of: events.Device("1-3")}
		}, mesh.Unknown},
		{"with one that may have been anywhere, and was off by then", func(j *job) {
			j.paired("1-3", nowhere)
			j.say("09:20", events.PowerOff{Of: events.Device("1-3")})
		}, mesh.Yes},
		{"with one that went altogether", func(j *job) {
			j.paired("1-3", m(99, 0, 0))
			gone = events.DeviceUnpaired{Device: "1-3", Why: "reset"}
		}, mesh.Unknown},
		{"with one that had gone altogether", func(j *job) {
			j.paired("1-3", m(99, 0, 0))
			j.say("09:20", events.DeviceUnpaired{Device: "1-3", Why: "reset"})
		}, mesh.Yes},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(-80, 0, 0), asLeaf)
			j.paired("1-2", m(80, 0, 0))
			j.paired("1-4", m(-79, 0, 0))
			gone = nil
			tt.told(j)
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"}, events.DeviceHeard{Device: "1-4", Hub: "H1"})
			j.say("09:40", events.PowerOff{Of: events.Device("1-2")})
			if gone != nil {
				j.say("09:41", gone)
			}
			n := j.now()
			require.Equal(t, tt.want, reach(t, n, "1-1").Answer, reach(t, n, "1-1").Why)
			require.Equal(t, tt.want, reach(t, n, "1-4").Answer, "a router itself")
		})
	}
}
