package simtest

import (
	"errors"
	"io"
	"sync"

	"pairwalk/events/journal"
)

// errDead is what a process sees of its disk once it is dead; nobody else does.
var errDead = errors.New("this process has died")

// disk is a folder as one process sees it. When its fuse has burnt down the
// process is dead: the call it dies in has half an effect, or its whole effect,
// and no later call has any.
type disk struct {
	mem *journal.MemFS

	mu    sync.Mutex // over what a call changes: files are read by several goroutines
	fuse  int        // calls left to live; negative for no end
	whole bool       // the last call has its effect

	said   int     // how often it refused a call
	noted  int     // of those, how many are in the tally
	cause  Fault   // of the last one
	ending bool    // the process is about to give up
	part   float64 // of the last write, if it is not whole
	dead   bool
	short  *shortage
	locks  []io.Closer
}

var _ journal.FS = (*disk)(nil)

func newDisk(mem *journal.MemFS, short *shortage) *disk {
	return &disk{mem: mem, fuse: -1, short: short}
}

// kill ends the process: its locks are free, and it does nothing more.
func (d *disk) kill() {
	d.dead = true
	for _, l := range d.locks {
		_ = l.Close() // a lock of a MemFS is freed in any case
	}
	d.locks = nil
}

// call makes one call for the process, if it lives.
func (d *disk) call(do func() error) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.dead {
		return errDead
	}
	if d.fuse == 0 {
		d.dead = true
		if d.whole {
			_ = do() // nobody is left to hear of it
		}
		return errDead
	}
	if d.fuse > 0 {
		d.fuse--
	}
	return do()
}

func (d *disk) Read(name string) (b []byte, err error) {
	err = d.call(func() (e error) { b, e = d.mem.Read(name); return })
	return b, err
}

func (d *disk) Open(name string) (r io.ReadCloser, err error) {
	err = d.call(func() (e error) { r, e = d.mem.Open(name); return })
	return r, err
}

// ReadAt is not counted: whoever dies in it dies as before the next call.
func (d *disk) ReadAt(name string, b []byte, offset int64) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.dead {
		return errDead
	}
	return d.mem.ReadAt(name, b, offset)
}

func (d *disk) List(dir string) (names []string, err error) {
	err = d.call(func() (e error) { names, e = d.mem.List(dir); return })
	return names, err
}

func (d *disk) Append(name string) (journal.File, error) { return d.open(d.mem.Append, name) }
func (d *disk) Create(name string) (journal.File, error) { return d.open(d.mem.Create, name) }

func (d *disk) open(how func(string) (journal.File, error), name string) (journal.File, error) {
	var f journal.File
	err := d.call(func() (e error) { f, e = how(name); return })
	if err != nil {
		return nil, err
	}
	return &file{d, f}, nil
}

func (d *disk) Truncate(name string, size int64) error {
	return d.call(func() error { return d.mem.Truncate(name, size) })
}

func (d *disk) Rename(from, to string) error {
	return d.call(func() error { return d.mem.Rename(from, to) })
}

func (d *disk) Remove(name string) error { return d.call(func() error { return d.mem.Remove(name) }) }
func (d *disk) Mkdir(dir string) error   { return d.call(func() error { return d.mem.Mkdir(dir) }) }
func (d *disk) SyncDir(dir string) error { return d.call(func() error { return d.mem.SyncDir(dir) }) }

func (d *disk) Lock(name string) (l io.Closer, err error) {
	err = d.call(func() (e error) { l, e = d.mem.Lock(name); return })
	if l != nil {
		d.locks = append(d.locks, l)
	}
	return l, err
}

// file is an open file of a process.
type file struct {
	disk *disk
	f    journal.File
}

func (f *file) Write(b []byte) (n int, err error) {
	if !f.disk.dead && f.disk.short.full {
		n, _ = f.f.Write(b[:f.disk.short.fits(len(b))])
		return n, f.disk.refuse(Full, errFull)
	}
	last := !f.disk.dead && f.disk.fuse == 0 && !f.disk.whole
	err = f.disk.call(func() (e error) { n, e = f.f.Write(b); return })
	if last {
		n, _ = f.f.Write(b[:int(f.disk.part*float64(len(b)))])
	}
	return n, err
}

func (f *file) Sync() error {
	if !f.disk.dead && f.disk.short.syncs > 0 {
		f.disk.short.syncs--
		return f.disk.refuse(SyncFail, errSync)
	}
	return f.disk.call(f.f.Sync)
}

func (f *file) Close() error { return f.f.Close() }
