package settle

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// brought is what exports have brought home, worked out once for all hubs of a site:
// a site that is looked after for years has thousands of exports, and each of its
// pairings would be looked for in every one of them.
type brought struct {
	exports []*projection.Export
	any     reached
	merged  map[events.HubID]reached // by those merged for a hub; under "", for the whole site
}

// reached is how far exports go in each feed.
type reached map[events.FeedID]furthest

// furthest is the highest number an export holds of a feed, and which lines those
// are: more than one where the feed forked there.
type furthest struct {
	seq    events.Seq
	hashes []events.Hash8
}

func newBrought(s *projection.Site) *brought {
	b := &brought{exports: s.Exports, any: reached{}, merged: map[events.HubID]reached{}}
	for _, x := range s.Exports {
		b.any.take(x.Heads)
		for _, m := range x.Merged {
			if b.merged[m.Hub] == nil {
				b.merged[m.Hub] = reached{}
			}
			b.merged[m.Hub].take(x.Heads)
		}
	}
	return b
}

func (r reached) take(heads map[events.FeedID]events.Head) {
	for feed, head := range heads {
		f := r[feed]
		switch hash := head.Hash.Short(); {
		case head.Seq > f.seq:
			r[feed] = furthest{head.Seq, []events.Hash8{hash}}
		case head.Seq == f.seq && !slices.Contains(f.hashes, hash):
			r[feed] = furthest{f.seq, append(f.hashes, hash)}
		}
	}
}

// covers says whether any of the exports covers an entry, as
// [projection.Export.Covers] does.
func (r reached) covers(ref events.Ref) bool {
	f := r[ref.Feed]
	return f.seq > ref.Seq || f.seq == ref.Seq && slices.Contains(f.hashes, ref.Hash)
}

// home names the last export that covers an entry, and says whether any such export
// has been merged for a hub. The name is of use only where none has.
func (b *brought) home(ref events.Ref, hub events.HubID) (export string, merged bool) {
	if b.merged[hub].covers(ref) || b.merged[""].covers(ref) {
		return "", true
	}
	if !b.any.covers(ref) {
		return "", false
	}
	for i := len(b.exports) - 1; i >= 0; i-- {
		if b.exports[i].Covers(ref) {
			return b.exports[i].ID, false
		}
	}
	return "", false
}
