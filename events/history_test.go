package events_test

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// history is a drawn set of events by name. The notation: events stand one after
// another with semicolons between; a2 is the second of feed a and follows a1;
// a2' is another second event of feed a (a fork), and a3' follows a2' if that is
// drawn; @9 is the L of its hlc, 0 if left out; "sees" names the heads it took
// in, drawn or not.
//
//	a1@5; a2@9; b1@1 sees a2
type history map[string]*events.Event

var eventName = regexp.MustCompile(`^([a-z])([0-9]+)('*)$`)

func tell(t require.TestingT, text string) history {
	h := history{}
	for _, item := range strings.Split(text, ";") {
		told, seen, _ := strings.Cut(strings.TrimSpace(item), " sees ")
		name, clock, _ := strings.Cut(told, "@")
		l, err := strconv.ParseInt(clock+"0", 10, 64)
		require.NoError(t, err)
		ref := named(t, name)
		e := &events.Event{
			Header:  events.Header{Origin: &events.Origin{Feed: ref.Feed}, Seq: ref.Seq},
			Hash:    events.HashOf([]byte(name)),
			HLC:     events.HLC{L: events.Instant(l / 10)},
			Told:    &events.Told{By: name},
			Payload: events.HubReady{Hub: "H2"},
		}
		for _, s := range strings.Fields(seen) {
			e.Seen = append(e.Seen, named(t, s))
		}
		h[name] = e
	}
	for name, e := range h {
		e.Prev = h.before(name)
	}
	return h
}

// before is the hash of the line before the named one, drawn or not.
func (h history) before(name string) events.Hash {
	parts := eventName.FindStringSubmatch(name)
	n, _ := strconv.Atoi(parts[2])
	branch := parts[1] + strconv.Itoa(n-1) + parts[3]
	switch _, drawn := h[branch]; {
	case n == 1:
		return events.Hash{}
	case drawn:
		return events.HashOf([]byte(branch))
	}
	return events.HashOf([]byte(parts[1] + strconv.Itoa(n-1)))
}

func named(t require.TestingT, name string) events.Ref {
	parts := eventName.FindStringSubmatch(name)
	require.NotNil(t, parts, "%q is no name of an event", name)
	n, err := strconv.ParseUint(parts[2], 10, 63)
	require.NoError(t, err)
	return events.Ref{Feed: events.FeedID(parts[1]), Seq: events.Seq(n), Hash: events.HashOf([]byte(name)).Short()}
}

// sorted lists the events by name.
func (h history) sorted() []*events.Event {
	var all []*events.Event
	for _, e := range h {
		all = append(all, e)
	}
	slices.SortFunc(all, func(a, b *events.Event) int { return strings.Compare(a.By(), b.By()) })
	return all
}

// inOrder is the record order of the events, as names with spaces between.
func inOrder(evs []*events.Event) string {
	var r events.Ranks
	r.Add(evs...)
	return naming(r.Ordered())
}

func naming(evs []*events.Event) string {
	var out []string
	for _, e := range evs {
		out = append(out, e.By())
	}
	return strings.Join(out, " ")
}

// oracle ranks as the package doc says, by looking through the whole list each
// time. It is for histories without a circle.
type oracle struct {
	all   []*events.Event
	known map[*events.Event]events.Rank
}

func (o oracle) rank(e *events.Event) events.Rank {
	if r, found := o.known[e]; found {
		return r
	}
	rank := e.HLC
	for _, before := range o.follows(e) {
		if next := o.rank(before).Next(); rank.Before(next) {
			rank = next
		}
	}
	o.known[e] = rank
	return rank
}

func (o oracle) follows(e *events.Event) []*events.Event {
	var out []*events.Event
	for _, ref := range append([]events.Ref{{Feed: e.Feed, Seq: e.Seq - 1, Hash: e.Prev.Short()}}, e.Seen...) {
		var best *events.Event
		for _, x := range o.all {
			exact := x.Ref() == ref
			earlier := x.Feed == ref.Feed && x.Seq < ref.Seq
			if exact || earlier && (best == nil || best.Ref() != ref && best.Ref().Compare(x.Ref()) < 0) {
				best = x
			}
		}
		if best != nil {
			out = append(out, best)
		}
	}
	return out
}

func (o oracle) ordered() []*events.Event {
	out := slices.Clone(o.all)
	slices.SortFunc(out, func(a, b *events.Event) int {
		if c := o.rank(a).Compare(o.rank(b)); c != 0 {
			return c
		}
		return a.Ref().Compare(b.Ref())
	})
	return out
}
