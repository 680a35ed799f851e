package projection_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/projection/tale/chance"
)

// One device by itself is what it is on the whole site.
func TestADeviceAloneIsThatOfTheSite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		said := story.Events()
		if rapid.Bool().Draw(t, "jumbled") {
			shuffle(t, said)
		}
		h, whole := &projection.History{Site: story.Site}, story.History()
		h.SetPace(rapid.IntRange(1, 12).Draw(t, "stage every"))
		n := rapid.IntRange(1, len(said)).Draw(t, "first")
		h.Add(said[:n]...)
		h.At(projection.Moment{})
		h.Add(said[n:]...)
		h.At(projection.Moment{})
		now := whole.At(projection.Moment{})
		for range 6 {
			m := chance.Moment(t, now)
			site := whole.At(m)
			for _, tag := range []events.Tag{"1-1", "1-2", "1-3", "1-4", "1-9", "none"} {
				want, there := site.Device(tag)
				got, found := h.Device(m, tag)
				require.Equal(t, there, found, "%s", tag)
				require.Equal(t, want, got, "%s", tag)
			}
		}
	})
}

// What a device alone makes of a list is not taken for what everybody makes of it: it
// does not know of devices that came after the stage.
func TestADeviceAloneLeavesListsToOthers(t *testing.T) {
	s := job()
	s.Lead.Say("08:10", paired("1-1", "H1"))
	s.Lead.Say("08:11", events.HubLoaded{Hub: "H1", Program: "r1", Lists: []events.Tag{"1-1"}})
	for range 100 { // so that there is a stage before what follows
		s.Lead.Say("08:15", events.NoteAdded{Of: events.Site(), Text: "on my way"})
	}
	h := s.History()
	h.SetPace(1)
	h.At(projection.Moment{})
	require.NotZero(t, h.Stages())
	h.Add(*s.Lead.Say("08:20", lamp("2-1", "H1")))
	h.Add(*s.Lead.Say("08:21", events.HubLoaded{Hub: "H1", Program: "r2", Lists: []events.Tag{"1-1", "2-1"}}))
	h.Add(*s.Lead.Say("08:30", events.DeviceHeard{Device: "1-1", Hub: "H1"}))
	h.At(at(s, "08:25").Moment)
	h.Add(*s.Lead.Say("08:40", events.HubListed{Hub: "H2"}, tale.When("08:23", "08:23"))) // what followed is off the lists again
	moment := at(s, "08:22").Moment
	require.True(t, h.Alone(moment, "1-1"))
	_, there := h.Device(moment, "1-1")
	require.True(t, there)
	require.Equal(t, hub(t, s.Now(), "H1"), hub(t, h.At(projection.Moment{}), "H1"))
}

// The same on a job of ordinary work, which nothing there is in the way of.
func TestADeviceAloneOnAJob(t *testing.T) {
	site, said := invented(t, 6_000)
	h := &projection.History{Site: site}
	h.Add(said...)
	devices := h.At(projection.Moment{}).Devices
	all := h.Ordered()
	dice := rand.New(rand.NewPCG(3, 4))
	alone := 0
	for range 60 {
		m := projection.At(all[dice.IntN(len(all))].Wall.At)
		s := h.At(m)
		for range 40 {
			tag := devices[dice.IntN(len(devices))].Device
			want, there := s.Device(tag)
			got, found := h.Device(m, tag)
			require.Equal(t, there, found, "%s", tag)
			require.Equal(t, want, got, "%s at %s", tag, m.When.Value)
			if h.Alone(m, tag) {
				alone++
			}
		}
	}
	require.Greater(t, alone, 2_380, "nearly all are folded alone")
}

func BenchmarkDeviceAtAnyMoment(b *testing.B) {
	h, said := tower(b)
	devices := h.At(projection.Moment{}).Devices
	dice := rand.New(rand.NewPCG(1, 2))
	b.ReportAllocs()
	for b.Loop() {
		at := projection.At(said[dice.IntN(len(said))].Wall.At)
		h.Device(at, devices[dice.IntN(len(devices))].Device)
	}
}
