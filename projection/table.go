package projection

import "unsafe"

// table is the devices of a fold, by the order in which they were heard of. It is in
// leaves: a copy of a fold shares them until it writes one.
type table struct {
	leaves []*tableLeaf
	n      int
	spare  *[]*tableLeaf // to be written anew, by any fold of the timeline
}

type tableLeaf struct {
	fold int // the number of the fold that may write it
	of   [leafLen]device
}

// leafLen is how many make a leaf that fills four KiB, which is what a bit less takes too.
const leafLen = (4096 - 8) / int(unsafe.Sizeof(device{}))

// at is a device, to be read.
func (t *table) at(i int) *device { return &t.leaves[i/leafLen].of[i%leafLen] }

// own is a device, to be written by the fold of that number.
func (t *table) own(i, fold int) *device {
	leaf := t.leaves[i/leafLen]
	if leaf.fold != fold {
		leaf = t.copied(leaf)
		leaf.fold = fold
		t.leaves[i/leafLen] = leaf
	}
	return &leaf.of[i%leafLen]
}

func (t *table) copied(leaf *tableLeaf) *tableLeaf {
	var c *tableLeaf
	if n := len(*t.spare); n > 0 {
		c, *t.spare = (*t.spare)[n-1], (*t.spare)[:n-1]
	} else {
		c = new(tableLeaf)
	}
	*c = *leaf
	return c
}

// release gives back the leaves that only the fold of that number has. Nobody may read
// the table any more.
func (t *table) release(fold int) {
	for _, leaf := range t.leaves {
		if leaf.fold == fold {
			*t.spare = append(*t.spare, leaf)
		}
	}
	t.leaves = nil
}

// extend makes room for so many devices, of which nobody has heard yet.
func (t *table) extend(n, fold int) {
	for t.n < n {
		t.add(fold)
	}
}

// add makes room for a device, and tells its place.
func (t *table) add(fold int) int {
	if t.n%leafLen == 0 {
		t.leaves = append(t.leaves, &tableLeaf{fold: fold})
	}
	t.n++
	return t.n - 1
}
