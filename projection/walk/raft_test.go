package walk_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/mesh"
	"pairwalk/projection/walk"
)

// asleep is a sensor on a battery: it joins, and carries nothing.
func asleep(d events.DeviceListed) events.DeviceListed {
	d.Is, d.Power = events.Sensor, events.Battery
	return d
}

func starred(d events.DeviceListed) events.DeviceListed {
	d.Radio = events.Star
	return d
}

// elsewhere is paired to H2, whatever the schedule says.
func elsewhere(tag events.Tag) events.DevicePaired {
	return events.DevicePaired{Device: tag, Hub: "H2", Serial: events.Serial("S" + tag)}
}

// other puts a hub H2 some metres along the corridor.
func (j *job) other(x int64) {
	j.ann.Say("08:02", events.HubListed{Hub: "H2", Place: events.Some(events.Point{X: x * 1000, Z: 2700})})
	j.ann.Say("08:02", events.HubReady{Hub: "H2"})
}

// bound writes the pairings of a plan as "tag via who, …", in the order of time.
func bound(o walk.Outline) string {
	var out []string
	for _, x := range pairings(o) {
		via := string(x.Via)
		if via == "" {
			via = "nobody"
		}
		out = append(out, x.Subject.ID+" via "+via)
	}
	return strings.Join(out, ", ")
}

// Routers that are paired and have no path yet come home with the first router
// beside them that does, and then carry others. H1 sits at 0 m; along the corridor
// a link is sure over 12 m, and not over 24 (as TestNextSaysThroughWhom has it).
func TestPlanFromTheMiddleBringsTheStrandedHome(t *testing.T) {
	cases := []struct {
		name    string
		devices []events.DeviceListed
		tell    func(j *job)
		want    string
		island  string // what the notes call so, "" nothing
	}{
		{"one stranded router",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36)},
			func(j *job) { j.ann.Say("09:00", paired("B")) },
			"A via H1, C via B", ""},
		{"a chain of them",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36), placed("D", 48), placed("E", 60)},
			func(j *job) {
				for _, tag := range []events.Tag{"B", "C", "D"} {
					j.ann.Say("09:00", paired(tag))
				}
			},
			"A via H1, E via D", ""},
		{"one after the other",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36), placed("D", 48), placed("E", 60)},
			func(j *job) {
				j.ann.Say("09:00", paired("B"))
				j.ann.Say("09:00", paired("D"))
			},
			"A via H1, C via B, E via D", ""},
		{"a sleeper beside them brings nobody home",
			[]events.DeviceListed{asleep(placed("A", 12)), placed("B", 24), placed("C", 36)},
			func(j *job) { j.ann.Say("09:00", paired("B")) },
			"A via H1, C via nobody", "C"},
		{"a sleeper may come home through them",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), asleep(placed("C", 36))},
			func(j *job) { j.ann.Say("09:00", paired("B")) },
			"A via H1, C via B", ""},
		{"a stranded sleeper carries nobody",
			[]events.DeviceListed{placed("A", 12), asleep(placed("B", 24)), placed("C", 36)},
			func(j *job) { j.ann.Say("09:00", paired("B")) },
			"A via H1, C via nobody", "C"},
		{"nor does one that has a path",
			[]events.DeviceListed{asleep(placed("B", 12)), placed("C", 24)},
			func(j *job) { j.ann.Say("09:00", paired("B")) },
			"C via nobody", "C"},
		{"nor one without power",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36)},
			func(j *job) {
				j.ann.Say("09:00", paired("B"))
				j.ann.Say("09:01", events.PowerOff{Of: events.Device("B")})
			},
			"A via H1, C via nobody", "C"},
		{"nor a star one",
			[]events.DeviceListed{placed("A", 12), starred(placed("B", 24)), placed("C", 36)},
			func(j *job) { j.ann.Say("09:00", paired("B")) },
			"A via H1, C via nobody", "C"},
		{"nor one that was struck",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36)},
			func(j *job) {
				j.ann.Say("09:00", paired("B"))
				j.ann.Say("09:01", events.DeviceStruck{Device: "B"})
			},
			"A via H1, C via nobody", "C"},
		{"nor one that is paired to another hub, and stranded there",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36)},
			func(j *job) { j.other(200); j.ann.Say("09:00", elsewhere("B")) },
			"A via H1, C via nobody", "C"},
		{"nor one that has a path to another hub",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36)},
			func(j *job) { j.other(24); j.ann.Say("09:00", elsewhere("B")) },
			"A via H1, C via nobody", "C"},
		{"one of another hub's schedule that is paired here does",
			[]events.DeviceListed{placed("A", 12), on("H2", placed("B", 24)), placed("C", 36)},
			func(j *job) { j.other(200); j.ann.Say("09:00", paired("B")) },
			"A via H1, C via B", ""},
		{"one that missed its push is linked to the hub, whether or not it answers",
			[]events.DeviceListed{placed("A", 12), placed("C", 24)},
			func(j *job) {
				j.ann.Say("09:00", paired("A"))
				j.ann.Say("09:20", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"A"}})
			},
			"C via A", ""},
		{"a hub that is lost is made ready first, and all are home again",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36)},
			func(j *job) {
				j.ann.Say("09:00", paired("A"))
				j.ann.Say("09:00", paired("B"))
				j.ann.Say("09:01", events.HubLost{Hub: "H1", Why: "no light"})
			},
			"C via B", ""},
		{"one that is heard carries what is stranded beside it",
			[]events.DeviceListed{placed("A", 60), placed("B", 72), placed("C", 84)},
			func(j *job) {
				j.ann.Say("09:00", paired("A"))
				j.ann.Say("09:00", paired("B"))
				j.ann.Say("09:59", events.DeviceHeard{Device: "A", Hub: "H1"})
			},
			"C via B", ""},
		{"nobody to bring them home",
			[]events.DeviceListed{placed("A", 12), placed("B", 90), placed("C", 102)},
			func(j *job) { j.ann.Say("09:00", paired("B")) },
			"A via H1, C via nobody", "C"},
		{"what did not work before brings them home as well, late",
			[]events.DeviceListed{placed("A", 12), placed("B", 24), placed("C", 36)},
			func(j *job) {
				j.ann.Say("09:00", paired("B"))
				j.ann.Say("09:00", events.DeviceRefused{Device: "A", Why: events.NoAnswer})
			},
			"A via H1, C via B", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			j := along(c.devices...)
			c.tell(j)
			s := j.Now()
			o := walk.Plan(s, mesh.Survey(s), crew(1), begin)
			notes := strings.Join(o.Notes, "\n")
			require.Equal(t, c.want, bound(o))
			if c.island == "" {
				require.NotContains(t, notes, "no order gives them")
			} else {
				require.Contains(t, notes, c.island+": no order gives them a sure path home")
			}
		})
	}
}
