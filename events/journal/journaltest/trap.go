package journaltest

import (
	"errors"
	"fmt"
	"io"
	"sync"

	"pairwalk/events/journal"
)

// ErrFault is how a call in a trap fails.
var ErrFault = errors.New("made-up fault")

// How says how a call fails.
type How string

// The ways.
const (
	Undone  How = "fails and does nothing"
	Halfway How = "fails, and a write is half done"
	Done    How = "fails, and is done all the same"
)

// Trap counts the calls of folders and makes the n-th fail, counted from 1, and all
// after it if it is for good.
type Trap struct {
	Calls, N int
	How      How
	Good     bool
	Full     bool // a full disk: writes fail, everything else works

	// Files with a sync that failed. The system may call their bytes clean from
	// then on, and answer every later sync with success though it writes nothing.
	lies map[string]bool
}

// counting is held while a trap counts, since files are read by several goroutines. It
// is none of the trap's own, which tests copy.
var counting sync.Mutex

// spring says whether this call fails, and whether it is to be done first.
func (p *Trap) spring() (do bool, err error) {
	counting.Lock()
	defer counting.Unlock()
	p.Calls++
	if p.N == 0 || p.Calls < p.N || p.Calls > p.N && !p.Good {
		return true, nil
	}
	return p.How == Done && p.Calls == p.N, ErrFault
}

func (p *Trap) lie(name string, lies bool) {
	if p.lies == nil {
		p.lies = map[string]bool{}
	}
	p.lies[name] = lies
}

// Faulty is a folder with a trap in it. Several may share one.
func Faulty(at journal.FS, trap *Trap) journal.FS { return faulty{at, trap} }

type faulty struct {
	journal.FS
	trap *Trap
}

func call[T any](p *Trap, do func() (T, error)) (T, error) {
	ok, fault := p.spring()
	var out T
	if ok {
		var err error
		if out, err = do(); err != nil {
			return out, err
		}
	}
	if fault != nil {
		var none T
		return none, fault
	}
	return out, nil
}

func (f faulty) call(do func() error) error {
	_, err := call(f.trap, func() (struct{}, error) { return struct{}{}, do() })
	return err
}

func (f faulty) Read(name string) ([]byte, error) {
	return call(f.trap, func() ([]byte, error) { return f.FS.Read(name) })
}

func (f faulty) Open(name string) (io.ReadCloser, error) {
	return call(f.trap, func() (io.ReadCloser, error) {
		from, err := f.FS.Open(name)
		return faultyReader{from, f.trap}, err
	})
}

func (f faulty) ReadAt(name string, b []byte, offset int64) error {
	return f.call(func() error { return f.FS.ReadAt(name, b, offset) })
}

func (f faulty) List(dir string) ([]string, error) {
	return call(f.trap, func() ([]string, error) { return f.FS.List(dir) })
}

func (f faulty) Append(name string) (journal.File, error) { return f.file(f.FS.Append, name) }

func (f faulty) Create(name string) (journal.File, error) {
	f.trap.lie(name, false)
	return f.file(f.FS.Create, name)
}

func (f faulty) file(open func(string) (journal.File, error), name string) (journal.File, error) {
	return call(f.trap, func() (journal.File, error) {
		file, err := open(name)
		return faultyFile{file, f.trap, name}, err
	})
}

func (f faulty) Truncate(name string, size int64) error {
	return f.call(func() error { return f.FS.Truncate(name, size) })
}
func (f faulty) Rename(from, to string) error {
	f.trap.lie(to, f.trap.lies[from])
	return f.call(func() error { return f.FS.Rename(from, to) })
}
func (f faulty) Remove(name string) error { return f.call(func() error { return f.FS.Remove(name) }) }
func (f faulty) Mkdir(dir string) error   { return f.call(func() error { return f.FS.Mkdir(dir) }) }
func (f faulty) SyncDir(dir string) error { return f.call(func() error { return f.FS.SyncDir(dir) }) }

func (f faulty) Lock(name string) (io.Closer, error) {
	if _, err := f.trap.spring(); err != nil {
		return nil, err
	}
	return f.FS.Lock(name)
}

type faultyReader struct {
	io.ReadCloser
	trap *Trap
}

func (f faultyReader) Read(b []byte) (int, error) {
	return call(f.trap, func() (int, error) { return f.ReadCloser.Read(b) })
}

type faultyFile struct {
	journal.File
	trap *Trap
	name string
}

func (f faultyFile) Write(b []byte) (int, error) {
	if f.trap.Full {
		n, _ := f.File.Write(b[:len(b)/2])
		return n, fmt.Errorf("%w: no space left", ErrFault)
	}
	do, err := f.trap.spring()
	switch {
	case do:
		if n, failed := f.File.Write(b); failed != nil {
			return n, failed
		}
	case f.trap.How == Halfway && f.trap.Calls == f.trap.N:
		n, _ := f.File.Write(b[:len(b)/2])
		return n, err
	}
	if err != nil {
		return 0, err
	}
	return len(b), nil
}

func (f faultyFile) Sync() error {
	do, err := f.trap.spring()
	if do && !f.trap.lies[f.name] {
		return errors.Join(f.File.Sync(), err)
	}
	f.trap.lie(f.name, err != nil || f.trap.lies[f.name])
	return err
}

func (f faultyFile) Close() error {
	_, err := call(f.trap, func() (struct{}, error) { return struct{}{}, f.File.Close() })
	return err
}
