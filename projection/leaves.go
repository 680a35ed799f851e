package projection

import (
	"iter"
	"slices"
)

// leaves is a list that grows, and in which one is put in the place of another now and
// then. A copy shares its leaves until it writes them.
type leaves[T any] struct {
	list []*leafOf[T]
	n    int
}

type leafOf[T any] struct {
	fold int // the number of the fold that may write it
	of   [few]*T
}

// few is how many fill a leaf of 256 bytes.
const few = 31

// at is what stands at a place, never to be changed.
func (x *leaves[T]) at(i int) *T { return x.list[i/few].of[i%few] }

// put puts one at a place, or at the end, in the list of the fold of that number.
func (x *leaves[T]) put(i int, one *T, fold int) {
	if i/few == len(x.list) {
		x.list = append(x.list, &leafOf[T]{fold: fold})
	}
	leaf := x.list[i/few]
	if leaf.fold != fold {
		leaf = &leafOf[T]{fold, leaf.of}
		x.list[i/few] = leaf
	}
	leaf.of[i%few] = one
	x.n = max(x.n, i+1)
}

// copied is the same list, for a fold that goes on from this one.
func (x leaves[T]) copied() leaves[T] {
	x.list = slices.Clone(x.list)
	return x
}

// whole is the list in one piece, nil for none.
func (x *leaves[T]) whole() []*T {
	var out []*T
	for i, leaf := range x.list {
		out = append(slices.Grow(out, x.n-len(out)), leaf.of[:min(few, x.n-i*few)]...)
	}
	return out
}

// all yields the places and what stands there.
func (x *leaves[T]) all() iter.Seq2[int, *T] {
	return func(yield func(int, *T) bool) {
		for i := range x.n {
			if !yield(i, x.at(i)) {
				return
			}
		}
	}
}
