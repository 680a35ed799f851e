package projection

import (
	"slices"
	"strings"

	"pairwalk/events"
)

// A moment is folded from the last stage before it, not from the first fact on. A
// stage is a fold that stands after so many facts and is not written any more;
// what it holds of its own is what changed since the stage before. Stages are laid
// on the way, wherever a fold comes by first; they lie the farther apart the longer
// the story is.

// pace is how stages are laid.
type pace struct {
	every int // facts between two, at the least
	most  int // stages of one path
}

var usualPace = pace{every: 512, most: 64}

// pathsMost bounds how many paths are kept.
const pathsMost = 4

// path is the stages of folds that leave the same pairings out.
type path struct {
	pace
	stages []stage
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
	i, found := slices.BinarySearchFunc(p.stages, n, func(s stage, n int) int { return s.after - n })
	if !found {
		i--
	}
	if i < 0 {
		return nil, 0
	}
	return p.stages[i].fold.copied(), p.stages[i].after
}

// lay makes a stage of a fold where one belongs, and gives a fold to go on with.
func (p *path) lay(f *fold, after int) *fold {
	if after%p.every != 0 {
		return f
	}
	i, found := slices.BinarySearchFunc(p.stages, after, func(s stage, n int) int { return s.after - n })
	if found {
		return f
	}
	f.sortDevices()
	f.sortSchedule()
	p.stages = slices.Insert(p.stages, i, stage{after, f})
	if len(p.stages) > p.most {
		p.every *= 2
		p.stages = slices.DeleteFunc(p.stages, func(s stage) bool { return s.after%p.every != 0 })
	}
	return f.copied()
}

// forget drops the stages that stand after more than n facts, and what watch and
// telling took from those.
func (t *timeline) forget(n int) {
	t.telling.unname(n)
	if t.watch != nil && !t.watch.back(n) {
		t.watch = nil
	}
	for _, p := range t.paths {
		p.stages = slices.DeleteFunc(p.stages, func(s stage) bool { return s.after > n })
		if last := len(p.stages) - 1; last >= 0 {
			p.stages[last].fold.cut()
		}
	}
}
