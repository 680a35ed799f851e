package mesh_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/mesh"
)

func TestBestRelay(t *testing.T) {
	for _, tt := range []struct {
		name         string
		told         func(j *job)
		ok           bool
		hub          events.HubID
		gains, frees []events.Tag
		floor        events.FloorID
		why          string
	}{
		{name: "a bare list", told: func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
		}},
		{name: "nobody in need", told: func(j *job) { j.row(5, "1-1", "1-2") }},
		{name: "between the hub and the stranded", told: func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(30, 0, 0))
			j.paired("1-2", m(40, 0, 0), asLeaf)
		}, ok: true, hub: "H1", gains: tags("1-1", "1-2"),
			why: "a relay at x 14.5, y 0.0, z 0.0 m gives 2 devices of H1 a sure path"},
		{name: "more gained comes before more freed", told: func(j *job) {
			j.row(15, "1-1", "1-2", "1-3", "1-4")
			j.hub("H2", m(0, 900, 0))
			j.paired("2-1", m(36, 900, 0), onHub("H2"))
		}, ok: true, hub: "H2", gains: tags("2-1"),
			why: "a relay at x 16.4, y 900.0, z 0.0 m gives 1 device of H2 a sure path"},
		{name: "a second way for those that hang on one", told: func(j *job) {
			j.row(15, "1-1", "1-2")
			j.paired("1-3", m(31, 0, 0))
		}, ok: true, hub: "H1", frees: tags("1-2", "1-3"),
			why: "a relay at x 14.1, y 0.0, z 0.0 m frees 2 devices of H1 from hanging on a single one"},
		{name: "out of reach of any one relay", told: func(j *job) { j.row(60, "1-1") }},
		{name: "a sleeper carries nobody on", told: func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(30, 0, 0), asLeaf)
			j.paired("1-2", m(45, 0, 0))
		}, ok: true, hub: "H1", gains: tags("1-1"),
			why: "a relay at x 16.4, y 0.0, z 0.0 m gives 1 device of H1 a sure path"},
		{name: "nor a relay home", told: func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), asLeaf)
			j.paired("1-2", m(45, 0, 0))
		}},
		{name: "who missed a push is not helped by that", told: func(j *job) {
			j.row(30, "1-1")
			j.say("09:40", events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.PushDone{Hub: "H1", Program: "r1", Missed: tags("1-1")})
		}},
		{name: "a hub without power is not helped", told: func(j *job) {
			j.row(30, "1-1")
			j.say("09:40", events.HubLost{Hub: "H1", Why: "no answer"})
		}},
		{name: "star devices are not helped", told: func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(60, 0, 0), asStar)
		}},
		{name: "on the floor where they are", told: func(j *job) {
			j.say("08:02", events.FloorListed{Floor: "1", Level: 1}, events.FloorListed{Floor: "2", Level: 2})
			j.hub("H1", m(0, 0, 3.5))
			j.paired("2-1", m(12, 0, 9))
		}, ok: true, hub: "H1", gains: tags("2-1"), floor: "2",
			why: "a relay at x 0.0, y 0.0, z 9.0 m on floor 2 gives 1 device of H1 a sure path"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			tt.told(j)
			before := j.now()
			a, ok := before.BestRelay()
			require.Equal(t, tt.ok, ok)
			require.Equal(t, tt.why, a.Why)
			require.Equal(t, tt.hub, a.Hub)
			require.Equal(t, tt.gains, a.Gains)
			require.Equal(t, tt.frees, a.Frees)
			require.Equal(t, tt.floor, a.Floor)
			if !ok {
				return
			}
			// what is promised comes true, and it goes to that hub by itself
			after := j.now(mesh.What{Relays: []mesh.Relay{{Place: a.Place}}})
			require.Equal(t, a.Gains, mesh.Compare(before, after).Gained)
			hung := strandedByDevice(before)
			still := strandedByDevice(after)
			for _, tag := range a.Frees {
				require.True(t, hung[tag])
				require.False(t, still[tag])
			}
		})
	}
}

// strandedByDevice says who hangs on a single device.
func strandedByDevice(n *mesh.Net) map[events.Tag]bool {
	out := map[events.Tag]bool{}
	for _, p := range n.SinglePoints() {
		if p.Of.Class == events.OfDevice {
			for _, t := range p.Strands {
				out[t] = true
			}
		}
	}
	return out
}

func TestJoins(t *testing.T) {
	for _, tt := range []struct {
		name string
		told func(j *job)
		of   events.Tag
		via  events.Tag // "" none
		sure bool
	}{
		{"a bare list", func(j *job) {
			j.hub("H1", nowhere)
			j.list("1-1", nowhere)
		}, "1-1", "", false},
		{"straight to the hub", func(j *job) {
			j.row(5, "1-1")
			j.list("1-2", m(10, 0, 0))
		}, "1-2", "H1", true},
		{"through the one with the best way home, not the nearest", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(9, 0, 0))
			j.paired("1-2", m(18, 0, 0))
			j.list("1-3", m(22, 0, 0))
		}, "1-3", "1-1", true},
		{"not through one that is not paired yet", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.list("1-1", m(15, 0, 0))
			j.list("1-2", m(30, 0, 0))
		}, "1-2", "H1", false},
		{"not through a sleeper, nor one of another hub, nor in the dark", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.hub("H2", m(1, 0, 0))
			j.paired("1-1", m(15, 0, 0), asLeaf)
			j.paired("1-2", m(15, 0, 0), onHub("H2"))
			j.paired("1-3", m(15, 0, 0))
			j.say("09:30", events.PowerOff{Of: events.Device("1-3")})
			j.list("1-4", m(30, 0, 0))
		}, "1-4", "H1", false},
		{"a sleeper joins too", func(j *job) {
			j.row(15, "1-1")
			j.list("1-2", m(30, 0, 0), asLeaf)
		}, "1-2", "1-1", true},
		{"a star device", func(j *job) {
			j.row(15, "1-1")
			j.list("1-2", m(16, 0, 0), asStar)
		}, "1-2", "H1", true},
		{"an island leads nowhere", func(j *job) {
			j.row(200, "1-1")
			j.list("1-2", m(201, 0, 0))
		}, "1-2", "", false},
		{"but somebody heard does", func(j *job) {
			j.row(200, "1-1")
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			j.list("1-2", m(201, 0, 0))
		}, "1-2", "1-1", true},
		{"somebody heard, before a doubtful link to the hub", func(j *job) {
			j.row(60, "1-1")
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
			j.list("1-2", m(65, 0, 0))
		}, "1-2", "1-1", true},
		{"on the net already, the way it goes", func(j *job) {
			j.row(60, "1-1")
			j.paired("1-2", m(65, 0, 0))
			j.say("09:30", events.DeviceHeard{Device: "1-2", Hub: "H1"})
		}, "1-1", "H1", false},
		{"a sure link to a doubtful one comes after a sure way", func(j *job) {
			j.row(15, "1-1")
			j.paired("1-2", m(43, 0, 0))
			j.list("1-3", m(34, 0, 0))
		}, "1-3", "1-1", true},
		{"a hub without power is not joined", func(j *job) {
			j.row(5, "1-1")
			j.say("09:30", events.HubLost{Hub: "H1", Why: "no answer"})
			j.list("1-2", m(10, 0, 0))
		}, "1-2", "", false},
		{"nobody knows the device", func(j *job) { j.row(5, "1-1") }, "9-9", "", false},
		{"nobody knows its hub", func(j *job) { j.list("1-1", m(0, 0, 0), onHub("H9")) }, "1-1", "", false},
		{"a struck device joins nothing", func(j *job) {
			j.row(5, "1-1")
			j.list("1-2", m(10, 0, 0))
			j.say("09:30", events.DeviceStruck{Device: "1-2", Why: "not built"})
		}, "1-2", "", false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			tt.told(j)
			via, l, ok := j.now().Joins(tt.of)
			require.Equal(t, tt.via != "", ok)
			require.Equal(t, tt.via, via)
			require.Equal(t, tt.sure, l.Sure)
			if ok {
				require.Equal(t, tt.of, l.A)
				require.Equal(t, tt.via, l.B)
			}
		})
	}
}
