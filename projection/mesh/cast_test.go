package mesh_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/tale"
)

// job is a small site as it is told. Unless said otherwise a device is a mesh
// dimmer on mains, on H1. By the default settings two of them are surely linked
// up to some 19 m on one floor, and possibly up to some 107.
type job struct {
	*tale.Story
	*testing.T
}

func newJob(t *testing.T) *job { return &job{tale.New(), t} }

func (j *job) say(clock string, list ...events.Payload) {
	for _, p := range list {
		j.Lead.Say(clock, p)
	}
}

// m is a place given in metres.
func m(x, y, z float64) events.Maybe[events.Point] {
	return events.Some(events.Point{X: int64(x * 1000), Y: int64(y * 1000), Z: int64(z * 1000)})
}

var nowhere events.Maybe[events.Point]

type change func(*events.DeviceListed)

func asLeaf(d *events.DeviceListed) { d.Is, d.Power = events.Sensor, events.Battery }
func asStar(d *events.DeviceListed) { d.Radio = events.Star }
func onHub(h events.HubID) change   { return func(d *events.DeviceListed) { d.Hub = h } }
func onFloor(f events.FloorID) change {
	return func(d *events.DeviceListed) { d.Floor = f }
}
func inRoom(r events.RoomID) change {
	return func(d *events.DeviceListed) { d.Room = r }
}
func onCircuit(c events.CircuitID) change {
	return func(d *events.DeviceListed) { d.Circuit = c }
}

func (j *job) hub(id events.HubID, at events.Maybe[events.Point]) {
	j.say("08:05", events.HubListed{Hub: id, Place: at})
}

func (j *job) list(t events.Tag, at events.Maybe[events.Point], changes ...change) events.DeviceListed {
	d := events.DeviceListed{Device: t, Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Place: at}
	for _, c := range changes {
		c(&d)
	}
	j.say("08:10", d)
	return d
}

// paired lists a device and pairs it to the hub it is listed on, at 09:00.
func (j *job) paired(t events.Tag, at events.Maybe[events.Point], changes ...change) {
	d := j.list(t, at, changes...)
	j.say("09:00", events.DevicePaired{Device: t, Hub: d.Hub})
}

// row places a row of paired devices east of the hub, so many metres apart.
func (j *job) row(apart float64, tags ...events.Tag) {
	j.hub("H1", m(0, 0, 0))
	for i, t := range tags {
		j.paired(t, m(apart*float64(i+1), 0, 0))
	}
}

func (j *job) set(k events.SettingKey, v string) {
	j.say("08:01", events.SettingsChanged{Set: map[events.SettingKey]string{k: v}})
}

// at is the net of a moment of the day.
func (j *job) at(clock string, w ...mesh.What) *mesh.Net {
	return netOf(j.History().At(projection.At(tale.T(clock))), w...)
}

func (j *job) now(w ...mesh.What) *mesh.Net { return netOf(j.Now(), w...) }

func netOf(s *projection.Site, w ...mesh.What) *mesh.Net {
	return mesh.Survey(s).Net(s, append(w, mesh.What{})[0])
}

func reach(t *testing.T, n *mesh.Net, tag events.Tag) mesh.Reach {
	t.Helper()
	r, ok := n.Reach(tag)
	require.True(t, ok, "nothing is said of %s", tag)
	return r
}

func tags(list ...events.Tag) []events.Tag { return list }

// answers writes a net's answers in short.
func answers(n *mesh.Net) map[events.Tag]string {
	out := map[events.Tag]string{}
	for _, r := range n.Reaches() {
		out[r.Device] = fmt.Sprintf("%s, %s", r.Answer, r.Basis)
	}
	return out
}
