package syncd

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Bounds on what one member tells or asks another.
const (
	MaxReply    = 256 << 10 // bytes of lines in a reply, and on their way from one peer
	MaxAhead    = 1 << 20   // bytes of replies that have come and are not kept yet, of all peers; past that nobody is asked
	MaxInFlight = 4         // requests to one peer at a time
	MaxTips     = 4096      // in a have
	MaxBranches = 32        // of one feed, in a have
	MaxHoles    = 1024      // of one feed, in a have
	MaxFeeds    = 128       // of one member; feeds past that are not fetched

	maxHave = 1 << 20 // bytes of a have
)

// Version is the v of every message.
const Version = 1

// Log is what the exchange reads of a member's log.
type Log interface {
	// Tips are the newest lines of all branches of all feeds.
	Tips() []events.Ref
	// Holes are the places below the tips whose line is missing or damaged, one
	// branch's after the other's, with their hash where it is known.
	Holes() map[events.FeedID][]events.Head
	// Holds says whether that very line is held.
	Holds(events.Ref) bool
	// HashAt is the hash known of a place of a feed's main branch, or zero.
	HashAt(events.FeedID, events.Seq) events.Hash
	// Descent yields the lines of the branch that a held line stands on, from a
	// number on, up to the branch's tip. Missing ones are left out. One that is held
	// and that the disk does not give back is an error, and those after it follow.
	Descent(of events.Ref, from events.Seq) iter.Seq2[seal.Verified, error]
	// Copies yields the numbers and the bytes of those lines, which are good until the
	// next are asked for. What the disk does not give back is left out.
	Copies(of events.Ref, from events.Seq) iter.Seq2[events.Seq, []byte]
}

// Have is what a member holds of a site's log.
type Have struct {
	Tips  []events.Ref                   // newest line of every branch, sorted
	Holes map[events.FeedID][]events.Seq // places below whose line is missing
}

// HaveOf is what a log holds of the feeds whose author is known to belong to
// the site.
func HaveOf(log Log, proven func(events.Key) bool) Have {
	h := Have{Holes: map[events.FeedID][]events.Seq{}}
	tips := slices.SortedFunc(slices.Values(log.Tips()), func(a, b events.Ref) int {
		return cmp.Or(cmp.Compare(a.Feed, b.Feed), slices.Compare(a.Hash[:], b.Hash[:]))
	})
	branches := 0
	for i, tip := range tips {
		if i > 0 && tips[i-1].Feed != tip.Feed {
			branches = 0
		}
		if branches++; branches <= MaxBranches && len(h.Tips) < MaxTips && proven(tip.Feed.Key()) {
			h.Tips = append(h.Tips, tip)
		}
	}
	slices.SortFunc(h.Tips, events.Ref.Compare)
	for feed, heads := range log.Holes() {
		if !proven(feed.Key()) {
			continue
		}
		for _, head := range heads[:min(len(heads), MaxHoles)] {
			h.Holes[feed] = append(h.Holes[feed], head.Seq)
		}
	}
	return h
}

// Same says whether two members hold the same branches up to the same lines.
func (h Have) Same(o Have) bool { return slices.Equal(h.Tips, o.Tips) }

// Since is the tips that o does not name.
func (h Have) Since(o Have) Have {
	var grown Have
	for _, tip := range h.Tips {
		if _, ok := slices.BinarySearchFunc(o.Tips, tip, events.Ref.Compare); !ok {
			grown.Tips = append(grown.Tips, tip)
		}
	}
	return grown
}

// place is a line's number and short hash on the wire: [7,"0123456789abcdef"].
type place struct {
	seq  events.Seq
	hash events.Hash8
}

func (p place) MarshalJSON() ([]byte, error) {
	return fmt.Appendf(nil, `[%d,"%s"]`, p.seq, p.hash), nil
}

func (p *place) UnmarshalJSON(b []byte) error {
	var pair [2]json.RawMessage
	var hash string
	if err := json.Unmarshal(b, &pair); err != nil {
		return err
	}
	if err := errors.Join(json.Unmarshal(pair[0], &p.seq), json.Unmarshal(pair[1], &hash)); err != nil {
		return err
	}
	var err error
	p.hash, err = events.ParseHash8(hash)
	if err == nil && (p.seq < 1 || p.seq > maxSeq) {
		err = fmt.Errorf("number %d is out of range", p.seq)
	}
	return err
}

// maxSeq keeps sums of numbers from outside in range.
const maxSeq = 1 << 53

type haveWire struct {
	V     int                            `json:"v"`
	Tips  map[events.FeedID][]place      `json:"tips"`
	Holes map[events.FeedID][]events.Seq `json:"holes,omitempty"`
}

// Encode writes a have as bytes. Equal haves give equal bytes.
func (h Have) Encode() []byte {
	w := haveWire{V: Version, Tips: map[events.FeedID][]place{}, Holes: h.Holes}
	for _, tip := range h.Tips {
		w.Tips[tip.Feed] = append(w.Tips[tip.Feed], place{tip.Seq, tip.Hash})
	}
	b, err := json.Marshal(w)
	if err != nil {
		panic("write have: " + err.Error()) // maps of strings and numbers always encode
	}
	return b
}

// DecodeHave reads what Encode writes. It takes nothing past the bounds of this
// package.
func DecodeHave(b []byte) (Have, error) {
	var w haveWire
	if len(b) > maxHave {
		return Have{}, fmt.Errorf("read have: %d bytes are too many", len(b))
	}
	if err := json.Unmarshal(b, &w); err != nil {
		return Have{}, fmt.Errorf("read have: %w", err)
	}
	if w.V != Version {
		return Have{}, fmt.Errorf("read have: version %d is not known here", w.V)
	}
	h := Have{Holes: map[events.FeedID][]events.Seq{}}
	for feed, places := range w.Tips {
		if _, err := events.ParseFeedID(string(feed)); err != nil {
			return Have{}, fmt.Errorf("read have: %w", err)
		}
		if len(places) > MaxBranches || len(h.Tips)+len(places) > MaxTips {
			return Have{}, errors.New("read have: too many feeds or branches")
		}
		for _, p := range places {
			h.Tips = append(h.Tips, events.Ref{Feed: feed, Seq: p.seq, Hash: p.hash})
		}
	}
	for feed, seqs := range w.Holes {
		if len(seqs) > MaxHoles || len(h.Holes) >= MaxTips || w.Tips[feed] == nil {
			return Have{}, errors.New("read have: holes without measure")
		}
		h.Holes[feed] = slices.Sorted(slices.Values(seqs))
	}
	slices.SortFunc(h.Tips, events.Ref.Compare)
	h.Tips = slices.Compact(h.Tips)
	return h, nil
}
