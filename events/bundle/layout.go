package bundle

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// layout follows the body of a bundle line by line and holds it to the format:
// order, chain, holes and branches. Writer and reader both go through it, so that
// what is written can be read.
type layout struct {
	site events.SiteID

	feed  events.FeedID
	last  events.Head // the last line or hole of the feed; its hash is zero after an unproved hole
	open  int         // holes since the last line
	known map[events.Head]bool
	fork  events.Head // the first line of the newest branch but the main one

	heads map[events.FeedID]events.Head
	forks map[events.FeedID][]events.Head // tips of the branches after the main one
}

// place says how a line sits after the one before it.
type place int

const (
	runsOn    place = iota // directly after the last line
	afterHole              // after one or more holes, the last of which it proves
	branches               // elsewhere in the same feed
	begins                 // the first line of a feed
)

// line takes the next event.
func (l *layout) line(v seal.Verified) (place, error) {
	if v.Header().Site != l.site {
		return 0, fmt.Errorf("%w: line %d of feed %s is of another site", ErrLines, v.Seq(), v.Feed().Short())
	}
	at, err := l.placeOf(v)
	if err != nil {
		return 0, err
	}
	if l.known[v.Head()] {
		return 0, fmt.Errorf("%w: line %d of feed %s twice", ErrLines, v.Seq(), v.Feed().Short())
	}
	switch at {
	case afterHole:
		l.known[events.Head{Seq: v.Seq() - 1, Hash: v.Prev()}] = true
	case branches:
		if err := l.branch(v); err != nil {
			return 0, err
		}
	}
	l.last, l.open = v.Head(), 0
	l.known[l.last] = true
	if n := len(l.forks[l.feed]); n > 0 {
		l.forks[l.feed][n-1] = l.last
	} else {
		l.heads[l.feed] = l.last
	}
	return at, nil
}

func (l *layout) placeOf(v seal.Verified) (place, error) {
	fresh := v.Feed() != l.feed
	if err := l.enter(v.Feed()); err != nil {
		return 0, err
	}
	next := v.Seq() == l.last.Seq+1
	switch {
	case l.open > 0 && next && l.last.Hash == v.Prev():
		return afterHole, nil
	case l.open > 0:
		return 0, fmt.Errorf("%w: hole %d of feed %s is not proved by the next line", ErrLines, l.last.Seq, l.feed.Short())
	case fresh && v.Seq() == 1:
		return begins, nil
	case fresh:
		return 0, fmt.Errorf("%w: feed %s begins at line %d", ErrLines, l.feed.Short(), v.Seq())
	case next && l.last.Hash == v.Prev():
		return runsOn, nil
	}
	return branches, nil
}

// branch takes the first line of another branch. Branches are sorted by their
// first lines, so that each comes after the one it leaves.
func (l *layout) branch(v seal.Verified) error {
	if !l.follows(v) {
		return fmt.Errorf("%w: line %d of feed %s follows none that is there", ErrLines, v.Seq(), l.feed.Short())
	}
	if compareHeads(l.fork, v.Head()) >= 0 {
		return fmt.Errorf("%w: branches of feed %s are not sorted", ErrLines, l.feed.Short())
	}
	l.fork = v.Head()
	l.forks[l.feed] = append(l.forks[l.feed], l.fork)
	return nil
}

// follows says whether the line that v follows has been there.
func (l *layout) follows(v seal.Verified) bool {
	return l.known[events.Head{Seq: v.Seq() - 1, Hash: v.Prev()}]
}

func compareHeads(a, b events.Head) int {
	return cmp.Or(cmp.Compare(a.Seq, b.Seq), bytes.Compare(a.Hash[:], b.Hash[:]))
}

// hole takes the next hole; its hash is zero if another follows.
func (l *layout) hole(feed events.FeedID, head events.Head) error {
	if err := l.enter(feed); err != nil {
		return err
	}
	if head.Seq != l.last.Seq+1 || l.open > 0 && l.last.Hash != (events.Hash{}) {
		return fmt.Errorf("%w: hole %d of feed %s is out of place", ErrLines, head.Seq, feed.Short())
	}
	l.last, l.open = head, l.open+1
	return nil
}

// enter goes on to a feed, if it is not the one at hand.
func (l *layout) enter(feed events.FeedID) error {
	if feed == l.feed {
		return nil
	}
	if feed < l.feed {
		return fmt.Errorf("%w: feed %s after %s", ErrLines, feed.Short(), l.feed.Short())
	}
	if err := l.leave(); err != nil {
		return err
	}
	l.feed, l.last, l.open = feed, events.Head{}, 0
	l.known, l.fork = map[events.Head]bool{{}: true}, events.Head{}
	return nil
}

// leave ends the feed at hand, which may not end in a hole.
func (l *layout) leave() error {
	if l.open > 0 {
		return fmt.Errorf("%w: feed %s ends in a hole", ErrLines, l.feed.Short())
	}
	return nil
}

// end looks back on the whole body.
func (l *layout) end(heads map[events.FeedID]events.Head) error {
	if err := l.leave(); err != nil {
		return err
	}
	if !maps.Equal(l.heads, heads) {
		return ErrHeads
	}
	return nil
}

func newLayout(site events.SiteID) *layout {
	return &layout{
		site:  site,
		heads: map[events.FeedID]events.Head{},
		forks: map[events.FeedID][]events.Head{},
	}
}
