package projection

// table is the devices of a fold, by the order in which they were heard of. It is in
// leaves: a copy of a fold shares them until it writes one.
type table struct {
	leaves []*tableLeaf
	n      int
}

type tableLeaf struct {
	fold int // the number of the fold that may write it
	of   [leafLen]device
}

const leafLen = 32

// at is a device, to be read.
func (t *table) at(i int) *device { return &t.leaves[i/leafLen].of[i%leafLen] }

// own is a device, to be written by the fold of that number.
func (t *table) own(i, fold int) *device {
	leaf := t.leaves[i/leafLen]
	if leaf.fold != fold {
		c := *leaf
		c.fold = fold
		leaf = &c
		t.leaves[i/leafLen] = leaf
	}
	return &leaf.of[i%leafLen]
}

// add makes room for a device, and tells its place.
func (t *table) add(fold int) int {
	if t.n%leafLen == 0 {
		t.leaves = append(t.leaves, &tableLeaf{fold: fold})
	}
	t.n++
	return t.n - 1
}
