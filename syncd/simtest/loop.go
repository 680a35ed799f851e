package simtest

import (
	"container/heap"
	"time"

	"pairwalk/events"
)

// loop is the true time and what is still to happen.
type loop struct {
	now   events.Instant
	due   agenda
	order int
	nth   int // of those that are due at the same time
	busy  int // requests and messages under way
}

// deed is something that happens at a time.
type deed struct {
	at    events.Instant
	order int
	do    func()
}

// later has something happen after a while.
func (l *loop) later(wait time.Duration, do func()) {
	l.order++
	heap.Push(&l.due, deed{l.now.Add(wait), l.order, do})
}

// next lets the next thing happen, if it is due by then, after something else.
func (l *loop) next(by events.Instant, first func()) bool {
	if len(l.due) == 0 || l.due[0].at > by {
		return false
	}
	d := heap.Pop(&l.due).(deed)
	if l.nth++; d.at != l.now {
		l.nth = 0
	}
	l.now = d.at
	first()
	d.do()
	return true
}

// agenda is a heap of deeds; what comes at the same time keeps its order.
type agenda []deed

func (a agenda) Len() int { return len(a) }
func (a agenda) Less(i, j int) bool {
	return a[i].at < a[j].at || a[i].at == a[j].at && a[i].order < a[j].order
}
func (a agenda) Swap(i, j int) { a[i], a[j] = a[j], a[i] }
func (a *agenda) Push(x any)   { *a = append(*a, x.(deed)) }
func (a *agenda) Pop() any {
	last := len(*a) - 1
	d := (*a)[last]
	(*a)[last] = deed{}
	*a = (*a)[:last]
	return d
}
