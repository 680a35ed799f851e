package member

import (
	"bytes"
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// forking is the lines of one feed as the tree that its branches make. Which of
// them came first on this device does not show in it.
type forking struct {
	lines []seal.Verified
	next  [][]int // the lines that follow each
	roots []int   // the lines that follow none
	tip   []int   // the end of the longest branch from each
}

// newForking takes the lines as the journal yields them: those of a branch in
// their order. A line after a gap follows the one before the gap.
func newForking(lines []seal.Verified) *forking {
	f := &forking{lines: lines, next: make([][]int, len(lines)), tip: make([]int, len(lines))}
	at := make(map[events.Head]int, len(lines))
	for i, v := range lines {
		at[v.Head()] = i
	}
	for i, v := range lines {
		before, held := at[events.Head{Seq: v.Seq() - 1, Hash: v.Prev()}]
		switch {
		case held:
			f.next[before] = append(f.next[before], i)
		case i > 0 && lines[i-1].Seq() < v.Seq():
			f.next[i-1] = append(f.next[i-1], i)
		default:
			f.roots = append(f.roots, i)
		}
	}
	for _, i := range f.bySeq() {
		f.tip[i] = i
		if len(f.next[i]) > 0 {
			f.tip[i] = f.tip[f.longest(f.next[i])]
		}
	}
	return f
}

// bySeq lists the lines from the last to the first.
func (f *forking) bySeq() []int {
	out := make([]int, len(f.lines))
	for i := range out {
		out[i] = i
	}
	slices.SortFunc(out, func(a, b int) int { return cmp.Compare(f.lines[b].Seq(), f.lines[a].Seq()) })
	return out
}

// longest is which of some lines the longest branch goes on from; of two as long,
// the one that ends in the lesser hash, as the facts have it.
func (f *forking) longest(of []int) int {
	return slices.MinFunc(of, func(a, b int) int {
		x, y := f.lines[f.tip[a]], f.lines[f.tip[b]]
		hx, hy := x.Hash(), y.Hash()
		return cmp.Or(cmp.Compare(y.Seq(), x.Seq()), bytes.Compare(hx[:], hy[:]))
	})
}

// inOrder lists the lines branch by branch, the longest first.
func (f *forking) inOrder() []seal.Verified {
	var out []seal.Verified
	starts := [][]int{f.roots}
	for len(starts) > 0 {
		of := starts[0]
		starts = starts[1:]
		for len(of) > 0 {
			i := f.longest(of)
			out = append(out, f.lines[i])
			if rest := slices.DeleteFunc(slices.Clone(of), func(x int) bool { return x == i }); len(rest) > 0 {
				starts = append(starts, rest)
			}
			of = f.next[i]
		}
	}
	return out
}
