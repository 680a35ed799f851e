package projection_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/projection/tale/chance"
)

// A course tells of every moment what a fold up to that moment tells.
func TestCourseIsTheFactsOfEveryMoment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := chance.Story(t).History()
		m := chance.Moment(t, h.At(projection.Moment{}))
		m.When = events.Maybe[events.Instant]{}
		course := h.Course(m.Known)
		moments := []events.Instant{tale.T("07:00"), tale.T("23:30")}
		for _, x := range course.Turns {
			moments = append(moments, x.At-1, x.At, x.At+1)
			if x.Look.Settles != 0 {
				moments = append(moments, x.Look.Settles-1, x.Look.Settles)
			}
		}
		for range 6 {
			moments = append(moments, rapid.SampledFrom(moments).Draw(t, "moment"))
		}
		for _, at := range moments[max(0, len(moments)-12):] {
			m.When = events.Some(at)
			require.Equal(t, drawnFrom(h.At(m)), drawnBy(course, at), "at %s", at)
		}
	})
}

// drawnFrom is how a fold's devices are drawn; how many of each sort, since
// positions change their tags.
func drawnFrom(s *projection.Site) map[string]int {
	out := map[string]int{}
	for i := range s.Devices {
		d := &s.Devices[i]
		out[fmt.Sprint(d.State, d.Struck != nil, d.Has(projection.FlagDark), d.Has(projection.FlagHold), d.Has(projection.FlagSkipped),
			d.Has(projection.FlagRefused), d.Has(projection.FlagMissed), d.Has(projection.FlagFault))]++
	}
	return out
}

func drawnBy(c *projection.Course, at events.Instant) map[string]int {
	last := map[int]projection.Look{}
	for _, x := range c.Turns {
		if x.At <= at {
			last[x.Device] = x.Look
		}
	}
	out := map[string]int{}
	for _, l := range last {
		if l.Gone {
			continue
		}
		out[fmt.Sprint(l.At(at), l.Struck, l.Dark, l.Held, l.Skipped, l.Refused, l.Missed, l.Faulty)]++
	}
	return out
}

// requireSameCourse holds a course against another of the same view, up to every mark.
func requireSameCourse(t require.TestingT, want, got *projection.Course, about ...any) {
	require.Equal(t, want.Devices, got.Devices, about...)
	require.Equal(t, want.Turns, got.Turns, about...)
	require.Equal(t, want.Marks.Len(), got.Marks.Len(), about...)
	for i := range want.Marks.Len() {
		require.Equal(t, want.Marks.At(i), got.Marks.At(i), about...)
		require.Equal(t, want.Sum(0, i+1), got.Sum(0, i+1), about...)
	}
}

// A course marks what stands and changes what many devices can do, in the order of site
// time, and its sum tells one beginning from another.
func TestMarksOfACourse(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", events.HubReady{Hub: "H1"})
	s.Lead.Say("09:10", paired("1-1", "H1"))
	off := s.Lead.Say("09:20", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("09:30", events.HoldPlaced{Of: events.Device("1-2"), Why: "work"}, tale.When("09:05", "09:05"))
	h := s.History()
	c := h.Course(projection.Known{})
	var kinds []events.Kind
	sums := map[uint64]bool{}
	for i := range c.Marks.Len() {
		kinds = append(kinds, c.Marks.Event(i).Kind())
		sums[c.Sum(0, i)] = true
		sums[c.Sum(1, i)] = true
	}
	require.Equal(t, []events.Kind{"hub.ready", "hold.placed", "power.off"}, kinds[len(kinds)-3:])
	require.Len(t, sums, 2*len(kinds))

	s.Lead.Say("09:40", events.EventVoided{Event: off.Ref(), Why: events.DidNotHappen})
	again := s.History().Course(projection.Known{})
	require.Equal(t, len(kinds)-1, again.Marks.Len())
	require.Equal(t, c.Sum(0, len(kinds)-1), again.Sum(0, len(kinds)-1))
}

// The sum of a course is of all that it told, and not only of the end of that.
func TestTheSumIsOfAllTurns(t *testing.T) {
	told := func(first string) (at0, at1 uint64) {
		s := job()
		s.Lead.Say(first, paired("1-1", "H1"))
		s.Lead.Say("10:00", paired("1-2", "H1"))
		c := s.History().Course(projection.Known{})
		require.Equal(t, tale.T("10:00"), c.Turns[len(c.Turns)-1].At)
		return c.Sum(len(c.Turns)-2, 0), c.Sum(len(c.Turns), 0)
	}
	before, sum := told("09:00")
	same, again := told("09:00")
	require.Equal(t, []uint64{before, sum}, []uint64{same, again})
	_, other := told("09:01")
	require.NotEqual(t, sum, other)
}

// A course that was asked for as the story came in, entry by entry and in any order,
// is the one of a history that holds all of it at once.
func TestCourseGoesOnFromWhatWasTold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		said := story.Events()
		if rapid.Bool().Draw(t, "jumbled") {
			shuffle(t, said)
		}
		known := chance.Moment(t, story.Now()).Known
		h := &projection.History{Site: story.Site}
		h.SetPace(rapid.IntRange(1, 5).Draw(t, "stop every"))
		var before *projection.Course
		var turns []projection.Turn
		for n := range said {
			h.Add(said[n])
			got := h.Course(known)
			if before != nil {
				require.Equal(t, turns, before.Turns, "what was told stays as it was")
			}
			before, turns = got, slices.Clone(got.Turns)
			if n%8 == 7 || n == len(said)-1 {
				fresh := &projection.History{Site: story.Site}
				fresh.Add(said[:n+1]...)
				want := fresh.Course(known)
				requireSameCourse(t, want, got)
			}
		}
	})
}
