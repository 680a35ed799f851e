package between_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/mesh"
	"pairwalk/projection/tale/chance"
)

func TestNoMomentDiffersFromItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := chance.Story(t).History()
		m := chance.Moment(t, h.At(projection.Moment{}))
		require.Empty(t, between.Changes(h, m, m, between.About{}))
		require.Empty(t, between.Passing(h, m, m, between.About{}))
	})
}

// Every device whose facts differ is named, and no other is.
func TestWhoDiffersIsNamedAndNobodyElse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := chance.Story(t).History()
		skipTakenNames(t, h)
		now := h.At(projection.Moment{})
		from, to := chance.Moment(t, now), chance.Moment(t, now)
		named := map[events.Subject]bool{}
		all := between.Changes(h, from, to, between.About{})
		for _, c := range all {
			if c.Of.Class == events.OfDevice && own[c.What] {
				named[c.Of] = true
			}
		}
		before, after := looks(h, h.At(from)), looks(h, h.At(to))
		for who, is := range after {
			require.Equal(t, before[who] != is, named[who], "%s\n  %s\n  %s\n%s", who, before[who], is, words(all))
		}
		for who, was := range before {
			if _, still := after[who]; !still {
				require.True(t, named[who], "%s\n  %s\n  gone", who, was)
			}
		}
	})
}

// own is what looks holds of a device itself, as against what was said about it.
var own = map[between.What]bool{
	between.Listed: true, between.Renamed: true, between.Placed: true, between.State: true, between.Serial: true, between.OnHub: true,
	between.Channel: true, between.Program: true, between.Missed: true, between.Heard: true, between.Mark: true, between.Power: true, between.Path: true,
}

// looks is each device's own facts, by what it is called today, written out by a
// way of its own: from the site alone.
func looks(h *projection.History, s *projection.Site) map[events.Subject]string {
	net := mesh.Survey(s).Net(s, mesh.What{})
	today := map[events.Ref]events.Tag{}
	for _, x := range h.Told(projection.Moment{}) {
		for _, of := range x.Subjects {
			if tag, ok := of.Tag(); ok {
				today[x.Ref()] = tag
				break
			}
		}
	}
	out := map[events.Subject]string{}
	for i := range s.Devices {
		d := &s.Devices[i]
		type plain events.DeviceListed // without its words, which leave things out
		row := plain(*d.DeviceListed)
		flags := slices.DeleteFunc(slices.Clone(d.Flags), func(f projection.Flag) bool {
			return slices.Contains([]projection.Flag{projection.FlagHold, projection.FlagFault, projection.FlagConflict, projection.FlagOtherHub}, f)
		})
		text := fmt.Sprint(d.Device, row, d.Row == nil, d.State, d.Serial, flags, d.HubChannel(), d.Struck != nil)
		if d.Paired != nil {
			text += fmt.Sprint(" paired ", d.Paired.Ref(), d.Paired.Hub)
		}
		if d.Pushed != nil {
			text += " pushed " + string(d.Pushed.Program)
		}
		if d.Heard != nil {
			text += fmt.Sprint(" heard ", d.Heard.At/1000)
		}
		if d.Missed != nil {
			text += fmt.Sprint(" missed ", d.Missed.At/1000)
		}
		if r, on := net.Reach(d.Device); on {
			text += fmt.Sprint(" path ", r.Answer, r.Basis, r.Hops, r.Disjoint, len(r.Path))
		}
		out[events.Device(calledToday(today, d))] = text
	}
	return out
}

func calledToday(today map[events.Ref]events.Tag, d *projection.Device) events.Tag {
	switch {
	case d.Row != nil:
		return today[d.Row.Ref()]
	case d.Paired != nil:
		return today[d.Paired.Ref()]
	case d.Fitted != nil:
		return today[d.Fitted.Ref()]
	case d.Since != nil:
		return today[d.Since.Ref()]
	case d.Heard != nil:
		return today[d.Heard.Ref()]
	}
	return d.Device
}

// skipTakenNames leaves out stories where a name goes from hand to hand: a position
// is given one that another has or had, or its old one is used again. Such a name may
// be refused, which the words of the log don't follow, or be two positions' by today.
func skipTakenNames(t *rapid.T, h *projection.History) {
	all := h.Ordered()
	for i, e := range all {
		p, renamed := e.Payload.(events.DeviceRenamed)
		if !renamed {
			continue
		}
		for j, x := range all {
			about := x.Payload.Subjects()
			if j != i && slices.Contains(about, events.Device(p.To)) || j > i && slices.Contains(about, events.Device(p.From)) {
				t.Skip("a name that goes from hand to hand")
			}
		}
	}
}

// The entry named did it: just before it the fact was not yet as at the end, and
// with it, it was.
func TestTheEntryNamedDidIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := chance.Story(t).History()
		now := h.At(projection.Moment{})
		skipTakenNames(t, h)
		from, to := chance.Moment(t, now), chance.Moment(t, now)
		from.Known, to.Known = projection.Known{}, projection.Known{}
		if h.At(from).Moment.When.Value > h.At(to).Moment.When.Value {
			from, to = to, from
		}
		all := between.Changes(h, from, to, between.About{})
		require.True(t, slices.IsSortedFunc(all, func(a, b between.Change) int {
			if a.Cause.IsZero() || b.Cause.IsZero() {
				return 0
			}
			return int(a.Cause.At - b.Cause.At)
		}), words(all))
		for _, c := range all {
			require.NotEmpty(t, c.Before+c.After, c.Words)
			if c.Cause.IsZero() {
				require.NotEmpty(t, c.Why, c.Words)
				continue
			}
			require.NotEmpty(t, c.Knew, c.Words)
			if c.Cause.Event.Kind().IsRecord() || c.What == between.Withdrawn || len(alike(all, c)) != 1 {
				continue // said at no one time, or one of several that read the same
			}
			if c.What == between.Conflict {
				continue // one among three that is one among two at the end came with what made the two clash
			}
			if len(now.Resolved) > 0 && (c.What == between.State || c.What == between.Serial) {
				continue // what a resolution set aside may be back by an entry about the other side
			}
			still := between.Changes(h, projection.At(c.Cause.At-1), to, between.About(c.Of))
			require.NotEmpty(t, alike(still, c), "%s\nnot so at %d:%s", c.Words, c.Cause.At-1, words(still))
			done := between.Changes(h, projection.At(c.Cause.At), to, between.About(c.Of))
			if slices.ContainsFunc(done, func(x between.Change) bool { return x.Of == c.Of && x.Before == "not there" }) {
				continue // what was said of a position before anybody listed it came about by both
			}
			require.True(t, c.Why == "it came onto the net" || len(alike(done, c)) == 0, "%s\nstill so: %s", c.Words, words(done))
		}
	})
}

// alike lists the changes of the same fact to the same end. A state that came about
// anew says so.
func alike(all []between.Change, c between.Change) []between.Change {
	end := func(x between.Change) string { return strings.Split(x.After, " again ")[0] }
	return slices.DeleteFunc(slices.Clone(all), func(x between.Change) bool {
		return x.Of != c.Of || x.What != c.What || end(x) != end(c) || strings.HasPrefix(x.Why, "by time")
	})
}

func TestTheAnswerDoesNotHangOnTheOrderOfArrival(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		h := story.History()
		now := h.At(projection.Moment{})
		from, to := chance.Moment(t, now), chance.Moment(t, now)
		arriving := story.Events()
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1))
		r.Shuffle(len(arriving), func(i, j int) { arriving[i], arriving[j] = arriving[j], arriving[i] })
		other := &projection.History{Site: story.Site}
		other.Add(arriving...)
		require.Equal(t, texts(h, from, to), texts(other, from, to))
	})
}

func texts(h *projection.History, from, to projection.Moment) []string {
	var out []string
	for _, c := range between.Changes(h, from, to, between.About{}) {
		out = append(out, c.Words+" | "+c.Knew)
	}
	for _, p := range between.Passing(h, from, to, between.About{}) {
		out = append(out, fmt.Sprint(p.Words, p.Touched))
	}
	return out
}
