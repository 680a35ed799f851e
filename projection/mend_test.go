package projection_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// A late word on one device is worked into what was folded, and every moment is as if
// it had been there from the start: also where it makes no sense, where the same was
// said after it, and where much comes late.
func TestALateWordIsWorkedIn(t *testing.T) {
	site, said := invented(t, 6_000)
	now := freshly(site, said, projection.Moment{})
	for _, row := range []struct {
		what  string
		apart bool // nobody else may notice
		says  func(d *projection.Device) events.Payload
	}{
		{"heard", true, func(d *projection.Device) events.Payload {
			return events.DeviceHeard{Device: d.Device, Hub: d.Paired.Hub}
		}},
		{"heard by another hub", true, func(d *projection.Device) events.Payload {
			return events.DeviceHeard{Device: d.Device, Hub: other(now, d.Paired.Hub)}
		}},
		{"fitted", false, func(d *projection.Device) events.Payload {
			return events.DeviceFitted{Device: d.Device, Serial: events.Serial("late-" + d.Device)}
		}},
		{"refused", true, func(d *projection.Device) events.Payload {
			return events.DeviceRefused{Device: d.Device, Why: events.NoAnswer}
		}},
		{"skipped", true, func(d *projection.Device) events.Payload {
			return events.DeviceSkipped{Device: d.Device, Why: events.NotFitted}
		}},
	} {
		for _, part := range []int{2, 5, 8} {
			t.Run(fmt.Sprintf("%s, after %d tenths", row.what, part), func(t *testing.T) {
				h := &projection.History{Site: site}
				h.SetPace(64)
				h.Add(said...)
				h.At(projection.Moment{})
				from := h.Ordered()[len(said)*part/10]
				late := newcomer(t, h, from.Wall.At, row.says)
				all := slices.Clone(said)
				all = append(all, late())
				h.Add(all[len(all)-1])
				h.At(projection.Moment{})
				stages := h.Stages()
				require.Greater(t, stages, 20)
				h.Course(projection.Known{})
				h.Told(projection.Moment{})
				for range 3 {
					e := late()
					all = append(all, e)
					h.Add(e)
					require.True(t, stages == h.Stages() || !row.apart, "none is dropped")
					h.At(projection.Moment{})
				}
				whole := &projection.History{Site: site}
				whole.Add(all...)
				for _, m := range []projection.Moment{
					{}, projection.At(from.Wall.At - 1), projection.At(from.Wall.At + 2), projection.At(from.Wall.At + 24*3_600_000),
					projection.At(said[len(said)*9/10].Wall.At),
				} {
					want := whole.At(m)
					requireSame(t, want, h.At(m), "with late words")
					for i := range want.Devices {
						d, _ := h.Device(m, want.Devices[i].Device)
						require.Equal(t, &want.Devices[i], d)
					}
				}
				requireSameCourse(t, whole.Course(projection.Known{}), h.Course(projection.Known{}))
				require.Equal(t, whole.Told(projection.Moment{}), h.Told(projection.Moment{}))
			})
		}
	}
}

// One that was told of ahead of its time is flagged for that.
func TestALateWordForetold(t *testing.T) {
	site, said := invented(t, 2_000)
	h := &projection.History{Site: site}
	h.SetPace(64)
	h.Add(said...)
	h.At(projection.Moment{})
	from := h.Ordered()[1_000].Wall.At
	late := newcomer(t, h, from, func(d *projection.Device) events.Payload {
		return events.DeviceSkipped{Device: d.Device, Why: events.NotFitted}
	})
	begins, e := late(), late()
	e.Told = events.NewTold(events.Some(events.At(from+3_600_000)), "")
	h.Add(begins, e)
	requireSame(t, freshly(site, append(slices.Clone(said), begins, e), projection.Moment{}), h.At(projection.Moment{}), "told ahead")
	require.Len(t, oddities(h.At(projection.Moment{}), &e), 1)
}

// Whoever hears a device by another hub has worked there too, also if they never did
// again.
func TestALateWordIsWorkOnBothHubs(t *testing.T) {
	s, bo := duo()
	s.Lead.Say("08:10", events.HubListed{Hub: "H2"})
	s.Lead.Say("08:20", paired("1-1", "H1"))
	for _, clock := range []string{"08:25", "09:00"} {
		for range 100 { // so that there are stages before and after
			s.Lead.Say(clock, events.NoteAdded{Of: events.Site(), Text: "on my way"})
		}
	}
	h := s.History()
	h.SetPace(1)
	h.At(projection.Moment{})
	stages := h.Stages()
	late := bo.Say("08:30", events.DeviceHeard{Device: "1-1", Hub: "H2"})
	h.Add(*late)
	require.Equal(t, stages, h.Stages(), "it was worked in")
	for _, hub := range h.At(projection.Moment{}).Hubs {
		last := hub.Active[late.Member()]
		requireCause(t, late, &last)
	}
	for _, m := range []projection.Moment{{}, projection.At(tale.T("08:26")), projection.At(tale.T("08:31"))} {
		requireSame(t, s.History().At(m), h.At(m), "from the start")
	}
}

// other is another hub of a site.
func other(s *projection.Site, not events.HubID) events.HubID {
	i := slices.IndexFunc(s.Hubs, func(h projection.Hub) bool { return h.Hub != not })
	return s.Hubs[i].Hub
}
