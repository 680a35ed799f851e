package spectrum_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/spectrum"
	"pairwalk/projection/tale"
)

// job is a small made-up site as it is told. By the default settings a mesh radio
// hears another above its noise as likely as not at some 70 m on one floor.
type job struct {
	*tale.Story
	*testing.T
	next int
}

func newJob(t *testing.T) *job { return &job{Story: tale.New(), T: t} }

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

func (j *job) set(k events.SettingKey, v string) {
	j.say("08:01", events.SettingsChanged{Set: map[events.SettingKey]string{k: v}})
}

func (j *job) hub(id events.HubID, at events.Maybe[events.Point], floor events.FloorID) {
	j.say("08:05", events.HubListed{Hub: id, Place: at, Floor: floor})
}

func (j *job) channel(id events.HubID, n int) {
	j.say("08:20", events.HubChannel{Hub: id, Radio: events.Mesh, Channel: n})
}

// list schedules mesh dimmers on a hub, one on top of the other, and gives their
// tags.
func (j *job) list(id events.HubID, n int, at events.Maybe[events.Point], floor events.FloorID) (tags []events.Tag) {
	for range n {
		j.next++
		tag := events.Tag(fmt.Sprintf("d-%d", j.next))
		j.say("08:10", events.DeviceListed{Device: tag, Is: events.Dimmer, Hub: id, Radio: events.Mesh, Power: events.Mains, Place: at, Floor: floor})
		tags = append(tags, tag)
	}
	return tags
}

func (j *job) pair(id events.HubID, tags ...events.Tag) {
	for _, t := range tags {
		j.say("09:00", events.DevicePaired{Device: t, Hub: id})
	}
}

func (j *job) survey(clock string, floor events.FloorID, x float64, heard ...events.AccessPoint) {
	j.say(clock, events.WifiSurveyed{Floor: floor, Place: events.XY{X: int64(x * 1000)}, Heard: heard})
}

// loud is an access point next door on a channel of 20 MHz.
func loud(channel int) events.AccessPoint {
	return events.AccessPoint{Channel: channel, Width: 20, RSSI: -40}
}

func (j *job) plan(o spectrum.Options) spectrum.Plan {
	j.Helper()
	return planOf(j.T, j.Now(), o)
}

// planOf checks what holds of every plan.
func planOf(t *testing.T, s *projection.Site, o spectrum.Options) spectrum.Plan {
	t.Helper()
	p, err := spectrum.For(s, o)
	require.NoError(t, err)
	cost, now := int64(0), int64(0)
	for _, a := range p.Hubs {
		cost, now = cost+a.Cost, now+a.NowCost
		require.NotEmpty(t, a.Why, a.Hub)
		moved := a.Now != 0 && a.Now != a.Plan
		require.True(t, !moved || len(a.Moves) > 0, "%s", a.Hub)
		require.True(t, a.Now != a.Plan || len(a.Moves) == 0, "%s", a.Hub)
		require.False(t, moved && a.Kept, "%s is kept and moved", a.Hub)
	}
	require.Equal(t, p.Cost, cost, "shares add up")
	require.Equal(t, p.NowCost, now, "present shares add up")
	require.LessOrEqual(t, p.LowerBound, p.Cost)
	if p.Exact {
		require.Equal(t, p.LowerBound, p.Cost)
	}
	return p
}

func channels(p spectrum.Plan) (out []int) {
	for _, a := range p.Hubs {
		out = append(out, a.Plan)
	}
	return out
}
