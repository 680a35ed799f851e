package mesh

import "pairwalk/events"

// Change is what another net differs in: each device once at most, in the site's
// order.
type Change struct {
	Lost     []events.Tag // had a path and have none, or none that is sure; or may have had one and surely have none
	Gained   []events.Tag // the other way round
	Weaker   []events.Tag // keep their path at a smaller margin
	Shaken   []events.Tag // keep their path and its margin, but no second one beside it
	Doubtful []events.Tag // were observed to have a path, which may be gone; nothing else is known of them
	Dark     []events.Tag // have no power any more, or are taken away
	Joined   []events.Tag // are on the net and were not
	Left     []events.Tag // the other way round
}

// rank orders answers: the more the better.
func (a Answer) rank() int {
	switch a {
	case Yes:
		return 2
	case Unknown:
		return 1
	}
	return 0
}

// Compare tells what changes from one net to another of the same site, as for a
// supposition.
func Compare(before, after *Net) Change {
	var c Change
	for i := range before.reaches {
		b := &before.reaches[i]
		a, on := after.Reach(b.Device)
		d, known := after.s.Device(b.Device)
		was, had := before.s.Device(b.Device)
		switch {
		case !on:
			c.Left = append(c.Left, b.Device)
		case known && had && !after.powered(d) && before.powered(was):
			c.Dark = append(c.Dark, b.Device)
		case b.Answer == Yes && a.Answer == Unknown && a.Path == nil:
			c.Doubtful = append(c.Doubtful, b.Device)
		case a.Answer.rank() < b.Answer.rank():
			c.Lost = append(c.Lost, b.Device)
		case a.Answer.rank() > b.Answer.rank():
			c.Gained = append(c.Gained, b.Device)
		case a.Answer == No:
		case weaker(&a, b):
			c.Weaker = append(c.Weaker, b.Device)
		case b.Disjoint.Known && b.Disjoint.Value && !(a.Disjoint.Known && a.Disjoint.Value):
			c.Shaken = append(c.Shaken, b.Device)
		}
	}
	for i := range after.reaches {
		if _, was := before.Reach(after.reaches[i].Device); !was {
			c.Joined = append(c.Joined, after.reaches[i].Device)
		}
	}
	return c
}

// weaker says whether the weakest link of a path is less good than it was. A path
// that is no more known is no better.
func weaker(a, b *Reach) bool {
	switch {
	case b.Weakest == nil:
		return false
	case a.Weakest == nil:
		return true
	}
	return a.Weakest.Mean < b.Weakest.Mean
}
