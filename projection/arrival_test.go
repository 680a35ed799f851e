package projection_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale/chance"
)

// The central promise: the facts of a moment depend on what is known, never on
// the order it came in, nor on what had been asked before.
func TestAnyOrderOfArrivalGivesTheSameFacts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		whole := story.History()
		now := whole.At(projection.Moment{})
		moments := []projection.Moment{{}}
		for range 4 {
			moments = append(moments, chance.Moment(t, now))
		}
		var want []*projection.Site
		for _, m := range moments {
			want = append(want, whole.At(m))
		}

		arriving := story.Events()
		shuffle(t, arriving)
		h := &projection.History{Site: story.Site}
		h.SetPace(rapid.IntRange(1, 5).Draw(t, "stage every"))
		for len(arriving) > 0 {
			n := rapid.IntRange(1, len(arriving)).Draw(t, "chunk")
			h.Add(arriving[:n]...)
			arriving = arriving[n:]
			if rapid.Bool().Draw(t, "ask") {
				h.At(moments[rapid.IntRange(0, len(moments)-1).Draw(t, "question")])
			}
		}
		for i, m := range moments {
			requireSame(t, want[i], h.At(m), "in another order")
			requireSame(t, want[i], whole.At(m), "asked again")
		}
	})
}

// What has come in step by step, with a question after each entry, is what a
// replay of all that is there gives, at every step.
func TestIncrementalEqualsFullReplay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		said := story.Events()
		if rapid.Bool().Draw(t, "jumbled") {
			shuffle(t, said)
		}
		m := chance.Moment(t, story.Now())
		h := &projection.History{Site: story.Site}
		h.SetPace(rapid.IntRange(1, 5).Draw(t, "stage every"))
		for n := range said {
			h.Add(said[n])
			got := h.At(m)
			if n%16 == 15 || n == len(said)-1 {
				requireSame(t, freshly(story.Site, said[:n+1], m), got, "one at a time")
			}
		}
	})
}

// An answer is a snapshot: what comes in later leaves it alone.
func TestAnswersKeepWhatTheySaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		said := story.Events()
		n := rapid.IntRange(1, len(said)).Draw(t, "first")
		h := &projection.History{Site: story.Site}
		h.Add(said[:n]...)
		early := h.At(projection.Moment{})
		kept := freshly(story.Site, said[:n], projection.Moment{})
		h.Add(said[n:]...)
		h.At(projection.Moment{})
		requireSame(t, kept, early, "after more came in")
	})
}

// What one member knew is what a history of only that would tell.
func TestKnownToAMemberIsAHistoryOfItsOwn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		h := story.History()
		m := chance.Moment(t, h.At(projection.Moment{}))
		if m.Known.Everything() {
			m.Known.Member = story.Lead.Key
		}
		got := h.At(m)
		least, most := h.KnownTo(m.Known)
		for feed, head := range least {
			require.LessOrEqual(t, head.Seq, most[feed].Seq)
		}

		only := past(story.Events(), m.Known, h)
		want := freshly(story.Site, only, projection.Moment{When: m.When})
		want.Moment.Known = m.Known
		if !m.When.Known {
			require.Equal(t, want.Moment.When, got.Moment.When)
		}
		requireSame(t, want, got, "as known to one")
	})
}

// past is what a member had taken in, worked out from the entries alone: their
// own up to the time, and whatever those follow.
func past(said []events.Event, k projection.Known, h *projection.History) []events.Event {
	in := map[events.Hash]bool{}
	var follow func(e *events.Event)
	follow = func(e *events.Event) {
		if in[e.Hash] {
			return
		}
		in[e.Hash] = true
		refs := e.Seen
		if e.Seq > 1 {
			refs = append([]events.Ref{{Feed: e.Feed, Seq: e.Seq - 1, Hash: e.Prev.Short()}}, refs...)
		}
		for _, ref := range refs {
			if before, ok := h.Find(ref); ok {
				follow(before)
			}
		}
	}
	recorded := map[events.Hash]events.Instant{}
	for _, e := range h.Told(projection.Moment{}) {
		recorded[e.Event.Hash] = e.Said
	}
	for i := range said {
		e := &said[i]
		if e.Member() == k.Member && (!k.At.Known || recorded[e.Hash] <= k.At.Value) {
			follow(e)
		}
	}
	var out []events.Event
	for _, e := range said {
		if in[e.Hash] {
			out = append(out, e)
		}
	}
	return out
}

func freshly(site events.SiteID, said []events.Event, m projection.Moment) *projection.Site {
	h := &projection.History{Site: site}
	h.Add(said...)
	return h.At(m)
}

func shuffle(t *rapid.T, said []events.Event) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1))
	r.Shuffle(len(said), func(i, j int) { said[i], said[j] = said[j], said[i] })
}
