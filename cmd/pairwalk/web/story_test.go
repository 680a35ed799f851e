package web_test

import (
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

type story struct {
	Entries []struct{ Ref, ID, Kind, Member, By, Words, At string }
	More    bool
	Total   int
}

func (s story) refs() []string {
	out := []string{}
	for _, e := range s.Entries {
		out = append(out, e.Ref)
	}
	return out
}

func TestTheStoryIsChosenFrom(t *testing.T) {
	d, _ := lived(t)
	x := d.serve()
	all := d.entries()
	slices.Reverse(all)
	s := d.Now()
	ask := func(query string) story { return told[story](t, x.get("/api/story?limit=500&"+query)) }
	check := func(query string, is func(member.Said) bool) {
		t.Helper()
		want := []string{}
		for _, e := range all {
			if is(e) {
				want = append(want, e.Event.Ref().String())
			}
		}
		got := ask(query)
		require.Equal(t, len(want), got.Total, query)
		require.NotEmpty(t, want, query)
		require.Less(t, len(want), len(all), query)
		require.Equal(t, want[:min(len(want), 500)], got.refs(), query)
		require.Equal(t, len(want) > 500, got.More)
	}
	kind := func(k ...string) func(member.Said) bool {
		return func(e member.Said) bool { return slices.Contains(k, string(e.Event.Kind())) }
	}
	check("kind=device.paired", kind("device.paired"))
	check("kind=device.paired,push.done", kind("device.paired", "push.done"))
	check("kind=device.paired+push.done", kind("device.paired", "push.done"))
	check("kind=power", kind("power.off", "power.on"))
	check("kind=hold,hub.lost", kind("hold.placed", "hold.lifted", "hub.lost"))
	check("member=ben", func(e member.Said) bool { return s.MemberName(e.Event.Member()) == "ben" })
	check("subject=B1-101", func(e member.Said) bool { return slices.Contains(e.Event.Payload.Subjects(), events.Device("B1-101")) })
	check("subject=hub:H1&kind=push", func(e member.Said) bool {
		return strings.HasPrefix(string(e.Event.Kind()), "push.") && slices.Contains(e.Event.Payload.Subjects(), events.Hub("H1"))
	})
	check("text=CEILING+open", func(e member.Said) bool {
		p, ok := e.Event.Payload.(events.HoldPlaced)
		return ok && p.Why == "ceiling open"
	})
	check("member=ben&kind=device&text=refused", func(e member.Said) bool {
		return e.Event.Kind() == "device.refused" && s.MemberName(e.Event.Member()) == "ben"
	})
	some := []string{all[3].Event.Ref().String(), all[40].Event.ID.String(), all[41].Event.Ref().String()}
	check("refs="+url.QueryEscape(strings.Join(some, ",")), func(e member.Said) bool {
		return slices.Contains(some, e.Event.Ref().String()) || slices.Contains(some, e.Event.ID.String())
	})
	check("text="+strings.ToLower(all[7].Event.ID.String()), func(e member.Said) bool { return e.Event.ID == all[7].Event.ID })
	for _, none := range []string{"kind=devic", "kind=device.pair", "member=be", "member=nobody", "refs=nothing", "text=" + url.QueryEscape("no such words at all")} {
		got := ask(none)
		require.Empty(t, got.Entries, none)
		require.Equal(t, []any{0, false}, []any{got.Total, got.More}, none)
	}
	require.Equal(t, len(all), ask("").Total)
	for query, want := range map[string]int{"": 60, "limit=1": 1, "limit=0": 60, "limit=-3": 60, "limit=x": 60, "limit=500": 500, "limit=9999": 500} {
		require.Len(t, told[story](t, x.get("/api/story?"+query)).Entries, min(want, len(all)), query)
	}
}

// TestPagingThroughALogThatGrows: what was there at first is shown once, whatever
// comes meanwhile, also of times long past.
func TestPagingThroughALogThatGrows(t *testing.T) {
	d, _ := lived(t)
	x := d.serve()
	d.pass(time.Hour)
	for _, filter := range []string{"", "&kind=device", "&kind=device.paired,note&text=a"} {
		want := told[story](t, x.get("/api/story?limit=500"+filter))
		there := want.refs()
		for want.More {
			want = told[story](t, x.get("/api/story?limit=500"+filter+"&before="+url.QueryEscape(there[len(there)-1])))
			there = append(there, want.refs()...)
		}
		seen, before := []string{}, ""
		for {
			got := told[story](t, x.get("/api/story?limit=37"+filter+"&before="+url.QueryEscape(before)))
			seen = append(seen, got.refs()...)
			if !got.More {
				break
			}
			before = seen[len(seen)-1]
			at := d.stamp().Wall.At.Add(-time.Duration(len(seen)) * time.Minute)
			_, err := d.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "a late note"}, When: events.Some(events.At(at))},
				member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "a new note"}})
			require.NoError(t, err)
		}
		once := map[string]bool{}
		for _, r := range seen {
			require.False(t, once[r], "%s is shown twice", r)
			once[r] = true
		}
		for _, r := range there {
			require.True(t, once[r], "%s was there and is not shown", r)
		}
	}
}
