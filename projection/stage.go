package projection

import (
	"slices"
	"strings"
	"unsafe"

	"pairwalk/events"
)

// A moment is folded from the last stage before it, not from the first fact on. A
// stage is a fold that stands after so many facts and is not written any more;
// what it holds of its own is what a fact may write, above all the table of devices;
// the rest it shares. Stages are laid on the way, wherever a fold comes by first. They
// lie so far apart that they take no more memory than the facts between them are worth:
// however long the story is, a moment is never farther from a stage than that.
//
// The end of the story is asked for after every entry, so it is a stage of its own that
// moves along: an entry that comes after all others costs itself, and a copy.

// pace is how many facts lie between two stages, at the least.
type pace int

const usualPace pace = 512

// factWorth is the bytes of a stage that go for one fact.
const factWorth = 256

// pathsMost bounds how many paths are kept.
const pathsMost = 4

// path is the stages of folds that leave the same pairings out.
type path struct {
	pace
	stages []stage
	end    stage // of the story, when it was last folded that far; nothing before that

	touched [][]events.Number // the facts that wrote each device, by place in fold.table
	noted   int               // facts of which that is noted
}

// weight is how many facts a stage of a fold is worth.
func (f *fold) weight() int {
	bytes := len(f.table.leaves)*int(unsafe.Sizeof(tableLeaf{})) + 8*(len(f.faults.list)+len(f.exports.list)+len(f.circuits.m)+len(f.hubs.m))
	return bytes / factWorth
}

type stage struct {
	after int // facts
	fold  *fold
}

// pathOf is the path of folds that leave out some pairings.
func (t *timeline) pathOf(lost map[events.Ref]bool) *path {
	var names []string
	for ref := range lost {
		names = append(names, ref.String())
	}
	slices.Sort(names)
	key := strings.Join(names, " ")
	if t.paths[key] == nil {
		if t.paths == nil || len(t.paths) >= pathsMost {
			t.paths = map[string]*path{}
		}
		t.paths[key] = &path{pace: t.pace}
	}
	return t.paths[key]
}

// last is a fold to go on with from the last stage after n facts or fewer; nil if
// there is none.
func (p *path) last(n int) (f *fold, after int) {
	s := p.before(n)
	if s.fold == nil {
		return nil, 0
	}
	return s.fold.copied(), s.after
}

// before is the last stage after n facts or fewer, which may be the end; none if there
// is none.
func (p *path) before(n int) stage {
	s := p.stageBefore(n)
	if p.end.fold != nil && p.end.after <= n && p.end.after > s.after {
		s = p.end
	}
	return s
}

// stageBefore is the last stage after n facts or fewer that is not the end; none if
// there is none.
func (p *path) stageBefore(n int) stage {
	i, found := slices.BinarySearchFunc(p.stages, n, func(s stage, n int) int { return s.after - n })
	if !found {
		i--
	}
	if i < 0 {
		return stage{}
	}
	return p.stages[i]
}

// moveOn makes a fold of all facts the end, and gives one to go on with.
func (p *path) moveOn(f *fold, after int) *fold {
	if p.end.fold != nil && p.end.after == after {
		return f
	}
	f.settle()
	p.end = stage{after, f}
	return f.copied()
}

// settle puts in order what all have in common that go on from a fold.
func (f *fold) settle() {
	f.sortDevices()
	f.sortSchedule()
	for _, x := range f.circuits.m {
		f.circuitAsFact(x)
	}
}

// lay makes a stage of a fold where one belongs, and gives a fold to go on with.
func (p *path) lay(f *fold, after int) *fold {
	if after%int(p.pace) != 0 {
		return f
	}
	i, found := slices.BinarySearchFunc(p.stages, after, func(s stage, n int) int { return s.after - n })
	if found || i > 0 && after-p.stages[i-1].after < f.weight() {
		return f
	}
	f.settle()
	p.stages = slices.Insert(p.stages, i, stage{after, f})
	return f.copied()
}

// note notes which devices the next fact wrote.
func (p *path) note(n events.Number, wrote []int) {
	p.noted++
	for _, at := range wrote {
		for at >= len(p.touched) {
			p.touched = append(p.touched, nil)
		}
		if list := p.touched[at]; len(list) == 0 || list[len(list)-1] != n {
			p.touched[at] = append(list, n)
		}
	}
}

// unnote takes back what was noted beyond n facts, which are no more what they were.
func (p *path) unnote(t *timeline, n int) {
	if p.noted <= n {
		return
	}
	p.noted = n
	first := t.facts[n]
	for at, list := range p.touched {
		for len(list) > 0 && t.comparePoints(list[len(list)-1], first) >= 0 {
			list = list[:len(list)-1]
		}
		p.touched[at] = list
	}
}

// goBack has watch and telling go back to where they stood after n facts.
func (t *timeline) goBack(n int) {
	t.telling.unname(n)
	if t.watch != nil && !t.watch.back(n) {
		t.watch = nil
	}
	if t.watch != nil {
		t.watch.f = nil // its lists may end beyond those of the last stage
	}
}

// forget drops the stages that stand after more than n facts, and what watch and
// telling took from those.
func (t *timeline) forget(n int) {
	if n >= len(t.facts) {
		return
	}
	t.goBack(n)
	for _, p := range t.paths {
		p.stages = slices.DeleteFunc(p.stages, func(s stage) bool { return s.after > n })
		p.unnote(t, n)
		if p.end.after > n {
			p.end = stage{}
		}
		if last := p.before(n); last.fold != nil {
			last.fold.cut()
		}
	}
}
