package mesh_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/mesh"
)

func TestSinglePoints(t *testing.T) {
	for _, tt := range []struct {
		name string
		told func(j *job)
		want []mesh.SinglePoint
	}{
		{"a bare list has none that anybody knows of", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.paired("1-2", nowhere)
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, nil},
		{"a chain hangs on each of its links", func(j *job) { j.row(15, "1-1", "1-2", "1-3") }, []mesh.SinglePoint{
			{Of: events.Device("1-1"), Hub: "H1", Strands: tags("1-2", "1-3"), Dark: tags("1-1")},
			{Of: events.Device("1-2"), Hub: "H1", Strands: tags("1-3"), Dark: tags("1-2")},
		}},
		{"of two side by side neither is one", func(j *job) {
			j.row(15, "1-1")
			j.paired("1-2", m(15, 1, 0))
			j.paired("1-3", m(30, 0, 0))
		}, nil},
		{"but a circuit that feeds both is", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), onCircuit("C2"))
			j.paired("1-2", m(15, 1, 0), onCircuit("C2"))
			j.paired("1-3", m(30, 0, 0), onCircuit("C3"))
		}, []mesh.SinglePoint{
			{Of: events.Circuit("C2"), Hub: "H1", Strands: tags("1-3"), Dark: tags("1-1", "1-2")},
		}},
		{"as learned from what went dark", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), onCircuit("C2"))
			j.paired("1-2", m(15, 1, 0))
			j.paired("1-3", m(30, 0, 0))
			j.say("09:10", events.PowerOff{Of: events.Circuit("C2"), Dark: tags("1-1", "1-2")}, events.PowerOn{Of: events.Circuit("C2")})
		}, []mesh.SinglePoint{
			{Of: events.Circuit("C2"), Hub: "H1", Strands: tags("1-3"), Dark: tags("1-1", "1-2"), Learned: tags("1-2")},
		}},
		{"what a circuit feeds itself is dark, not stranded", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), onCircuit("C2"))
			j.paired("1-2", m(30, 0, 0), onCircuit("C2"))
		}, []mesh.SinglePoint{
			{Of: events.Device("1-1"), Hub: "H1", Strands: tags("1-2"), Dark: tags("1-1")},
		}},
		{"the hub's own circuit takes all, star devices too", func(j *job) {
			j.say("08:05", events.HubListed{Hub: "H1", Place: m(0, 0, 0), Circuit: "C1"})
			j.paired("1-1", m(5, 0, 0), onCircuit("C1"))
			j.paired("1-2", m(6, 0, 0), onCircuit("C2"))
			j.paired("1-3", m(7, 0, 0), asStar)
		}, []mesh.SinglePoint{
			{Of: events.Circuit("C1"), Hub: "H1", Strands: tags("1-2", "1-3"), Dark: tags("1-1")},
		}},
		{"one that is off already is not one to come", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), onCircuit("C2"))
			j.paired("1-2", m(30, 0, 0))
			j.say("09:10", events.PowerOff{Of: events.Circuit("C2")})
		}, nil},
		{"nor is one that is off, with a device listed on it that is not dark", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.list("1-3", nowhere, onCircuit("C2"))
			j.say("09:10", events.PowerOff{Of: events.Circuit("C2")})
			j.paired("1-1", m(15, 0, 0), onCircuit("C2"))
			j.paired("1-2", m(30, 0, 0))
		}, []mesh.SinglePoint{
			{Of: events.Device("1-1"), Hub: "H1", Strands: tags("1-2"), Dark: tags("1-1")},
		}},
		{"a sleeper is never one", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(15, 0, 0), asLeaf)
			j.paired("1-2", m(30, 0, 0))
		}, nil},
		{"whoever missed the push is not judged", func(j *job) {
			j.row(15, "1-1", "1-2")
			j.say("09:40", events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.PushDone{Hub: "H1", Program: "r1", Missed: tags("1-2")})
		}, nil},
		{"an observed one with a sure path is", func(j *job) {
			j.row(15, "1-1", "1-2")
			j.say("09:40", events.DeviceHeard{Device: "1-2", Hub: "H1"})
		}, []mesh.SinglePoint{
			{Of: events.Device("1-1"), Hub: "H1", Strands: tags("1-2"), Dark: tags("1-1")},
		}},
		{"the worst first, whichever hub", func(j *job) {
			j.row(15, "1-1", "1-2")
			j.hub("H2", m(0, 500, 0))
			j.paired("2-1", m(15, 500, 0), onHub("H2"))
			j.paired("2-2", m(30, 500, 0), onHub("H2"))
			j.paired("2-3", m(31, 500, 0), onHub("H2"))
		}, []mesh.SinglePoint{
			{Of: events.Device("2-1"), Hub: "H2", Strands: tags("2-2", "2-3"), Dark: tags("2-1")},
			{Of: events.Device("1-1"), Hub: "H1", Strands: tags("1-2"), Dark: tags("1-1")},
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			tt.told(j)
			require.Equal(t, tt.want, j.now().SinglePoints())
		})
	}
}

func TestIslands(t *testing.T) {
	for _, tt := range []struct {
		name string
		told func(j *job)
		want []mesh.Island
	}{
		{"a bare list is no island", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
		}, nil},
		{"all reached", func(j *job) { j.row(15, "1-1", "1-2") }, nil},
		{"two groups, one of them doubtful", func(j *job) {
			j.row(40, "1-1")
			j.paired("1-2", m(45, 0, 0))
			j.paired("1-3", m(400, 0, 0))
			j.paired("1-4", m(410, 0, 0), asLeaf)
		}, []mesh.Island{
			{Hub: "H1", Devices: tags("1-1", "1-2"), Why: "a path is possible, not sure: straight to H1; margin -11 to 12 dB"},
			{Hub: "H1", Devices: tags("1-3", "1-4"), Sure: true, Why: "no link, not even a doubtful one, leads from it to H1 or what reaches that"},
		}},
		{"two sleepers side by side are two islands", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(400, 0, 0), asLeaf)
			j.paired("1-2", m(401, 0, 0), asLeaf)
		}, []mesh.Island{
			{Hub: "H1", Devices: tags("1-1"), Sure: true, Why: "no link, not even a doubtful one, leads from it to H1 or what reaches that"},
			{Hub: "H1", Devices: tags("1-2"), Sure: true, Why: "no link, not even a doubtful one, leads from it to H1 or what reaches that"},
		}},
		{"not who was heard", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(400, 0, 0))
			j.paired("1-2", m(401, 0, 0))
			j.say("09:30", events.DeviceHeard{Device: "1-1", Hub: "H1"})
		}, []mesh.Island{
			{Hub: "H1", Devices: tags("1-2"), Sure: true, Why: "no link, not even a doubtful one, leads from it to H1 or what reaches that"},
		}},
		{"nor who is dark", func(j *job) {
			j.hub("H1", m(0, 0, 0))
			j.paired("1-1", m(400, 0, 0))
			j.say("09:30", events.PowerOff{Of: events.Device("1-1")})
		}, nil},
		{"measured among themselves, with no places: nobody knows", func(j *job) {
			j.hub("H1", nowhere)
			j.paired("1-1", nowhere)
			j.paired("1-2", nowhere)
			j.say("09:30", events.LinkMeasured{A: "1-1", B: "1-2", RSSI: events.Some(-60)})
		}, nil},
		{"a hub without power leaves all on one", func(j *job) {
			j.say("08:05", events.HubListed{Hub: "H1", Circuit: "C1"})
			j.paired("1-1", nowhere)
			j.paired("1-2", nowhere, onCircuit("C1"))
			j.paired("1-3", nowhere, asStar)
			j.say("09:30", events.PowerOff{Of: events.Circuit("C1")})
		}, []mesh.Island{
			{Hub: "H1", Devices: tags("1-1", "1-3"), Sure: true, Why: "H1 has no power: C1 off since 09:30"},
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j := newJob(t)
			tt.told(j)
			require.Equal(t, tt.want, j.now().Islands())
		})
	}
}
