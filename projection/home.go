package projection

import (
	"slices"

	"pairwalk/events"
)

// home is how far each feed is in the design file, by its number in timeline.exported.
// It is never changed in place.
type home []brought

// brought is the head of a feed that goes farthest of those that were brought home: its
// place, and the export that says so. Of heads at one place of a fork the first stands.
type brought struct {
	upto events.Seq // 0 for not at all
	by   events.Number
}

// bringHome notes that an export is in the design file, for a hub or the whole site.
func (f *fold) bringHome(hub events.HubID, export events.Number) {
	all := f.home.own(f.number)
	now := slices.Clone(all[hub])
	for feed, head := range f.headsIn(export) {
		at := f.exportedFeed(feed)
		for at >= len(now) {
			now = append(now, brought{})
		}
		if head.Seq > now[at].upto {
			now[at] = brought{head.Seq, export}
		}
	}
	all[hub] = now
}

// headsIn is what an export held.
func (t *timeline) headsIn(export events.Number) map[events.FeedID]events.Head {
	return t.ranks.Event(export).Payload.(events.RecordsExported).Heads
}

// exportedFeed numbers the feeds that exports speak of, of which nothing else need be
// known yet.
func (t *timeline) exportedFeed(id events.FeedID) int {
	at, known := t.exported[id]
	if !known {
		at = len(t.exported)
		t.exported[id] = at
	}
	return at
}

// homecoming tells which pairings of a hub have come home: an export that covers it
// has been merged by now, for its hub or the whole site. It keeps the heads of the
// feed asked for last, since most pairings of a hub are by one person.
type homecoming struct {
	*timeline
	of, all home
	feed    events.FeedID
	heads   [2]events.Head
}

func (f *fold) homecoming(hub events.HubID) *homecoming {
	return &homecoming{timeline: f.timeline, of: f.home.m[hub], all: f.home.m[""]}
}

func (x *homecoming) covers(e *events.Event) bool {
	if x.feed != e.Feed {
		x.feed, x.heads = e.Feed, [2]events.Head{x.head(x.of, e.Feed), x.head(x.all, e.Feed)}
	}
	for _, head := range x.heads {
		if head.Seq > e.Seq || head.Seq == e.Seq && head.Hash == e.Hash {
			return true
		}
	}
	return false
}

// head is how far a feed is in the design file, zero for not at all.
func (x *homecoming) head(in home, feed events.FeedID) events.Head {
	at, spokenOf := x.exported[feed]
	if !spokenOf || at >= len(in) || in[at].upto == 0 {
		return events.Head{}
	}
	return x.headsIn(in[at].by)[feed]
}
