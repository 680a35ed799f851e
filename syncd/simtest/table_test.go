package simtest_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pairwalk/syncd/simtest"
)

// totals is what all worlds came to.
type totals struct {
	from, next uint64 // seeds
	simtest.Report
	in      simtest.Tally // worlds with a fault
	none    int           // worlds without any
	breaks  map[simtest.Promise]int
	broken  int
	longest int // healing
}

func newTotals(from uint64) *totals {
	return &totals{from: from, next: from, Report: simtest.Report{Injected: simtest.Tally{}}, in: simtest.Tally{}, breaks: map[simtest.Promise]int{}}
}

func (a *totals) add(l lived) {
	r := l.report
	a.next = l.seed + 1
	a.Members += r.Members
	a.Entries += r.Entries
	a.Messages += r.Messages
	a.Judged += r.Judged
	a.Ready += r.Ready
	a.Unheard += r.Unheard
	a.Forks += r.Forks
	a.Photos += r.Photos
	a.Fetched += r.Fetched
	a.longest = max(a.longest, r.Healing)
	for f, n := range r.Injected {
		a.Injected[f] += n
		a.in[f]++
	}
	if r.Injected.Sum() == 0 {
		a.none++
	}
	if l.broken != nil {
		a.breaks[l.broken.Promise]++
		a.broken++
	}
}

func (a *totals) seeds() string {
	if a.worlds() == 0 {
		return "none was lived through"
	}
	return fmt.Sprintf("seeds %d to %d", a.from, a.next-1)
}

func (a *totals) worlds() int { return int(a.next - a.from) }

// table is for people to read.
func (a *totals) table() string {
	var b strings.Builder
	row := func(what string, n int, more string, args ...any) {
		fmt.Fprintln(&b, strings.TrimRight(fmt.Sprintf("%-18s %10s   %s", what, grouped(n), fmt.Sprintf(more, args...)), " "))
	}
	row("worlds", a.worlds(), "%s", a.seeds())
	row("members", a.Members, "")
	row("entries", a.Entries, "%s on branches of forked feeds", grouped(a.Forks))
	row("messages", a.Messages, "until all was quiet again, at most %s", grouped(a.longest))
	row("judgements", a.Judged, "%s times push might go; %s times a colleague had to be asked", grouped(a.Ready), grouped(a.Unheard))
	row("photos", a.Photos, "fetched %s times", grouped(a.Fetched))
	fmt.Fprintf(&b, "\n%-18s %10s %8s\n", "fault", "times", "worlds")
	for _, f := range simtest.Faults {
		fmt.Fprintf(&b, "%-18s %10s %8s\n", f, grouped(a.Injected[f]), grouped(a.in[f]))
	}
	fmt.Fprintf(&b, "%-18s %10s %8s\n\n", "all", grouped(a.Injected.Sum()), grouped(a.worlds()-a.none))
	row("violations", a.broken, "")
	for _, p := range slices.Sorted(maps.Keys(a.breaks)) {
		row("  "+string(p), a.breaks[p], "")
	}
	return b.String()
}

// grouped writes a number with its thousands apart.
func grouped(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}
