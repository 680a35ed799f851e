package between_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/tale"
)

// shed is a hub with a row of three lamps, 15 m apart, so that each carries the
// next; the first is on circuit C1, the others on C2. All are paired by 09:00, and
// their records are home by 09:12.
func shed() *tale.Story {
	s := tale.New()
	place := func(x int64) events.Maybe[events.Point] { return events.Some(events.Point{X: x * 1000, Z: 2700}) }
	s.Lead.Say("08:01", events.HubListed{Hub: "H1", Floor: "1", Place: place(0)})
	for i, circuit := range []events.CircuitID{"C1", "C2", "C2"} {
		tag := events.Tag(fmt.Sprintf("1-%d", i+1))
		s.Lead.Say("08:02", events.DeviceListed{
			Device: tag, Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains,
			Floor: "1", Room: "hall", Circuit: circuit, Place: place(int64(15 * (i + 1))),
		})
	}
	s.Lead.Say("08:03", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 15})
	s.Lead.Say("08:04", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
	s.Lead.Say("08:05", events.HubReady{Hub: "H1"})
	for i := range 3 {
		s.Lead.Say("09:00", events.DevicePaired{Device: events.Tag(fmt.Sprintf("1-%d", i+1)), Hub: "H1", Serial: events.Serial(fmt.Sprintf("S%d", i+1))})
	}
	s.Lead.Say("09:10", events.RecordsExported{Export: "x1", Heads: tale.Cut(s.Lead)})
	s.Lead.Say("09:12", events.RecordsMerged{Export: "x1"})
	return s
}

func at(clock string) projection.Moment { return projection.At(tale.T(clock)) }

// differing asks a story for what differs between two true times on the whole site.
func differing(s *tale.Story, from, to string) []between.Change {
	return between.Changes(s.History(), at(from), at(to), between.About{})
}

// only finds the one change of a sort about a subject.
func only(t *testing.T, all []between.Change, of events.Subject, what between.What) between.Change {
	t.Helper()
	var found []between.Change
	for _, c := range all {
		if c.Of == of && c.What == what {
			found = append(found, c)
		}
	}
	require.Len(t, found, 1, "of %s, %s among %s", of, what, words(all))
	return found[0]
}

// told checks a change's words and the entry that did it; nil for none.
func told(t *testing.T, c between.Change, before, after string, by *events.Event) {
	t.Helper()
	require.Equal(t, [2]string{before, after}, [2]string{c.Before, c.After})
	if by == nil {
		require.True(t, c.Cause.IsZero(), c.Words)
		require.NotEmpty(t, c.Why)
		return
	}
	require.False(t, c.Cause.IsZero(), c.Words)
	require.Equal(t, by.Ref(), c.Cause.Ref(), c.Words)
	require.NotEmpty(t, c.Knew)
}

func words(all []between.Change) string {
	out := ""
	for _, c := range all {
		out += "\n  " + c.Words
	}
	return out
}

// about lists whom changes speak of, each once.
func about(all []between.Change) []string {
	var out []string
	for _, c := range all {
		if !slices.Contains(out, c.Of.String()) {
			out = append(out, c.Of.String())
		}
	}
	slices.Sort(out)
	return out
}
