package powercut

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"syscall"
)

// sector is how many bytes a disk writes whole or not at all.
const sector = 512

// Disk is a file system in memory. Its methods may be called from many
// goroutines.
type Disk struct {
	mu    sync.Mutex
	root  *node
	left  int // calls that change something until the power goes
	dark  bool
	gone  chan struct{} // closed when the power goes
	freed chan struct{} // closed when calls may fail instead of waiting
	free  sync.Once
	last  uint64 // the newest node's number
}

// New is an empty disk whose power does not go.
func New() *Disk {
	d := &Disk{left: math.MaxInt, gone: make(chan struct{}), freed: make(chan struct{})}
	d.root = d.node(true)
	return d
}

// node is a file or a folder.
type node struct {
	number uint64
	folder bool

	// of a file
	now   []byte
	safe  []byte         // as it was synced; bytes are never changed in place
	dirty map[int64]bool // sectors written since

	// of a folder
	names map[string]*node
	kept  map[string]*node // as it was synced
	since []change
}

// change is one change to the names in a folder.
type change struct {
	name string
	is   *node  // nil: the name was removed
	was  string // the name it had before, "" if none
}

func (c change) apply(names map[string]*node) {
	if c.was != "" {
		delete(names, c.was)
	}
	if c.is == nil {
		delete(names, c.name)
		return
	}
	names[c.name] = c.is
}

func (d *Disk) node(folder bool) *node {
	d.last++
	return &node{number: d.last, folder: folder, dirty: map[int64]bool{}, names: map[string]*node{}, kept: map[string]*node{}}
}

// GoesAfter lets the power go in the middle of the n-th call from now that
// changes something.
func (d *Disk) GoesAfter(n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.left = n
}

// Gone is closed when the power goes.
func (d *Disk) Gone() <-chan struct{} { return d.gone }

// Cut takes the power now, if it has not gone yet.
func (d *Disk) Cut() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.goes()
}

func (d *Disk) goes() {
	if !d.dark {
		d.dark = true
		close(d.gone)
	}
}

// Release lets the calls fail that wait in the dark.
func (d *Disk) Release() { d.free.Do(func() { close(d.freed) }) }

// reading runs a call that changes nothing.
func (d *Disk) reading(call func() syscall.Errno) syscall.Errno {
	d.mu.Lock()
	if d.dark {
		d.mu.Unlock()
		<-d.freed
		return syscall.EIO
	}
	defer d.mu.Unlock()
	return call()
}

// changing runs a call that changes something. What it leaves in memory is there
// also where the power goes in the middle of it.
func (d *Disk) changing(call func() syscall.Errno) syscall.Errno {
	return d.spending(call, func() {})
}

// spending runs a call, and then makes durable what it makes durable, unless the
// power goes before.
func (d *Disk) spending(call func() syscall.Errno, durable func()) syscall.Errno {
	d.mu.Lock()
	if !d.dark {
		errno := call()
		if errno == 0 {
			d.left--
		}
		if errno != 0 || d.left > 0 {
			if errno == 0 {
				durable()
			}
			d.mu.Unlock()
			return errno
		}
		d.goes()
	}
	d.mu.Unlock()
	<-d.freed
	return syscall.EIO
}

// write puts bytes into a file; what is between its end and off is zeros.
func (n *node) write(b []byte, off int64) {
	n.resize(max(int64(len(n.now)), off+int64(len(b))))
	copy(n.now[off:], b)
	n.spoil(off, off+int64(len(b)))
}

func (n *node) resize(size int64) {
	was := int64(len(n.now))
	if size <= was {
		n.now = slices.Clone(n.now[:size])
		n.spoil(size, was)
		return
	}
	n.now = append(n.now, make([]byte, size-was)...)
	n.spoil(was, size)
}

func (n *node) spoil(from, to int64) {
	for at := from / sector; at*sector < to; at++ {
		n.dirty[at] = true
	}
}

// sync makes a file's bytes safe, or a folder's names.
func (n *node) sync() {
	n.safe, n.dirty = slices.Clone(n.now), map[int64]bool{}
	n.kept, n.since = maps.Clone(n.names), nil
}

func (n *node) change(c change) {
	c.apply(n.names)
	n.since = append(n.since, c)
}

// Fate chooses what of the bytes and names that were not synced a cut leaves.
type Fate struct {
	All    bool       // everything
	Chance *rand.Rand // of each sector and each name, by chance; nil: nothing, unless All
}

func (f Fate) spares() bool { return f.All || f.Chance != nil && f.Chance.IntN(2) == 0 }

// After is the disk that is found once the power is back. It is for one whose
// power has gone.
func (d *Disk) After(f Fate) *Disk {
	d.mu.Lock()
	defer d.mu.Unlock()
	fresh := New()
	fresh.root = fresh.after(d.root, f, map[*node]*node{})
	return fresh
}

// after is what is left of a node; done are those that were looked at.
func (d *Disk) after(n *node, f Fate, done map[*node]*node) *node {
	if left, ok := done[n]; ok {
		return left
	}
	left := d.node(n.folder)
	done[n] = left
	left.now = f.content(n)
	names := maps.Clone(n.kept)
	for _, c := range n.since {
		if f.spares() {
			c.apply(names)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		left.names[name] = d.after(names[name], f, done)
	}
	left.sync()
	return left
}

// content is what is left of a file's bytes.
func (f Fate) content(n *node) []byte {
	out := make([]byte, f.size(int64(len(n.safe)), int64(len(n.now))))
	copy(out, n.safe)
	for _, at := range slices.Sorted(maps.Keys(n.dirty)) {
		from := at * sector
		if !f.spares() || from >= int64(len(out)) || from >= int64(len(n.now)) {
			continue
		}
		copy(out[from:min(from+sector, int64(len(out)))], n.now[from:])
	}
	return out
}

// size is how long a file is found that was so long when it was synced, and so
// long at the end.
func (f Fate) size(safe, now int64) int64 {
	switch {
	case f.All:
		return now
	case f.Chance == nil || safe == now:
		return safe
	}
	low, high := min(safe, now), max(safe, now)
	choices := []int64{safe, now}
	for at := (low/sector + 1) * sector; at < high; at += sector {
		choices = append(choices, at)
	}
	return choices[f.Chance.IntN(len(choices))]
}
