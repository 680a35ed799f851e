package member_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale/chance"
	"pairwalk/syncd/member"
)

// namesIn are the names that a command gives for an entry of which a part of the log
// tells all there is to say; none for one that needs the whole.
func namesIn(s *projection.Site, p events.Payload) []string {
	switch p := p.(type) {
	case events.DevicePaired:
		names := []string{string(p.Device), string(p.Serial)}
		if d, known := s.Device(p.Device); !known || d.Hub != p.Hub {
			names = append(names, string(p.Hub)) // the one it is scheduled on is not named
		}
		return names
	case events.DeviceFitted:
		return []string{string(p.Device), string(p.Serial)}
	case events.DeviceReplaced:
		return []string{string(p.Device), string(p.New)}
	case events.DeviceRefused, events.DeviceSkipped, events.DeviceUnpaired, events.DeviceHeard,
		events.HubReady, events.HubLost, events.PushFailed, events.PowerOn,
		events.HoldPlaced, events.HoldLifted, events.FaultFound, events.NoteAdded:
		return []string{p.Subjects()[0].ID}
	case events.PowerOff:
		names := []string{p.Of.ID}
		for _, tag := range p.Dark {
			names = append(names, string(tag))
		}
		return names
	}
	return nil
}

// outlined is what a history looks like to who asks what few facts say.
func outlined(t require.TestingT, evs []events.Event, wanted func(events.Kind, []byte) bool) (out []events.Event, bodies [][]byte) {
	for _, e := range evs {
		signed, err := e.Encode()
		if err != nil { // it is of a kind that nobody knows
			out, bodies = append(out, e), append(bodies, nil)
			continue
		}
		var words events.Lexicon
		h, n, err := words.ParseHeader(signed)
		require.NoError(t, err)
		read, body := words.Outline(h, n, e.Hash, signed, wanted)
		e.Payload = read.Payload
		out, bodies = append(out, e), append(bodies, body)
	}
	return out, bodies
}

// What is said of an entry by who read only what its names have to do with is what is
// said of it by who read everything, or it is known to need more.
func TestAPartOfTheLogSaysWhatAllOfItDoes(t *testing.T) {
	tried, unread, needed := map[events.Kind]int{}, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		story, others := chance.Ending(t)
		told := story.Events()
		earlier := told[:len(told)-1]
		whole := &projection.History{Site: story.Site}
		whole.Add(earlier...)
		before := whole.At(projection.Moment{})
		for _, last := range append(others, told[len(earlier)]) {
			names := namesIn(before, last.Payload)
			if names == nil {
				continue
			}
			thread := projection.NewThread(names...)
			evs, bodies := outlined(t, earlier, thread.Wants())
			require.True(t, thread.Read(projection.Outline{Events: evs, Bodies: bodies}))
			part := &projection.History{Site: story.Site}
			part.Add(evs...)
			was := part.At(projection.Moment{})
			if !part.AddLast(last) {
				needed++
				continue
			}
			tried[last.Kind()]++
			for _, e := range evs {
				if _, left := e.Payload.(events.Unread); left {
					unread++
				}
			}
			whole := &projection.History{Site: story.Site}
			whole.Add(told[:len(earlier)]...)
			whole.Add(last)
			sameToACommand(t, [2]*projection.Site{before, whole.At(projection.Moment{})}, [2]*projection.Site{was, part.At(projection.Moment{})}, last, names)
		}
	})
	t.Logf("%v; %d entries left unread, %d needed the whole log", tried, unread, needed)
	require.Positive(t, unread)
	require.Greater(t, len(tried), 10)
}

// sameToACommand says that what a command prints of an entry, and what it looks up
// before, is alike, by the facts before and after it.
func sameToACommand(t require.TestingT, whole, part [2]*projection.Site, last events.Event, names []string) {
	evs := []events.Event{last}
	require.Equal(t, member.MarksOf(whole[0], whole[1], evs), member.MarksOf(part[0], part[1], evs))
	require.Equal(t, member.EntriesOf(whole[1], evs), member.EntriesOf(part[1], evs))
	for _, x := range last.Payload.Subjects() {
		if slices.Contains(names, x.ID) {
			sameSubject(t, whole[0], part[0], x)
		}
	}
}

// sameSubject says that what commands look up of a subject is alike.
func sameSubject(t require.TestingT, want, got *projection.Site, x events.Subject) {
	require.Equal(t, want.Location(), got.Location())
	if tag, ok := x.Tag(); ok {
		a, there := want.Device(tag)
		b, too := got.Device(tag)
		require.Equal(t, there, too, tag)
		if there {
			require.Equal(t, a.DeviceListed, b.DeviceListed)
			require.Equal(t, a.Serial, b.Serial)
			require.Equal(t, a.Paired, b.Paired)
			require.Equal(t, a.Dark, b.Dark)
			require.Equal(t, a.State, b.State)
		}
	}
	if id, ok := x.Hub(); ok {
		a, there := want.Hub(id)
		b, too := got.Hub(id)
		require.Equal(t, there, too, id)
		if there {
			require.Equal(t, a.HubListed, b.HubListed)
			require.Equal(t, a.Ready, b.Ready)
			require.Equal(t, a.Program, b.Program)
		}
	}
}
