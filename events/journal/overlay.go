package journal

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"path"
	"slices"
	"sync"
)

// OverlayFS reads a folder and never writes to it: what is written stays in
// memory, and is what is read from then on. On it a journal can be opened to see
// what opening would find and mend, while another process has the folder. It is
// safe for use by many goroutines.
type OverlayFS struct {
	at  FS
	mem *MemFS

	mu   sync.Mutex
	here map[string]bool // files that are in mem, or that were removed where false
}

// Overlay is a folder as an FS whose writing leaves the folder alone.
func Overlay(at FS) *OverlayFS {
	return &OverlayFS{at: at, mem: Memory(), here: map[string]bool{}}
}

// Changed lists the files that are other than in the folder, made or gone, sorted.
func (o *OverlayFS) Changed() []string {
	o.mu.Lock()
	defer o.mu.Unlock()
	var names []string
	for name, here := range o.here {
		was, err := o.at.Read(name)
		there := err == nil
		now, _ := o.mem.Read(name)
		if here != there || here && !bytes.Equal(was, now) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// Read returns a file as last written, or as the folder has it.
func (o *OverlayFS) Read(name string) ([]byte, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	name = path.Clean(name)
	if here, known := o.here[name]; known {
		if !here {
			return nil, missing("read", name)
		}
		return o.mem.Read(name)
	}
	return o.at.Read(name)
}

// Open opens a file as last written, or as the folder has it.
func (o *OverlayFS) Open(name string) (io.ReadCloser, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	name = path.Clean(name)
	if here, known := o.here[name]; known {
		if !here {
			return nil, missing("open", name)
		}
		return o.mem.Open(name)
	}
	return o.at.Open(name)
}

// ReadAt fills b from a file as last written, or as the folder has it.
func (o *OverlayFS) ReadAt(name string, b []byte, offset int64) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	name = path.Clean(name)
	if here, known := o.here[name]; known {
		if !here {
			return missing("read", name)
		}
		return o.mem.ReadAt(name, b, offset)
	}
	return o.at.ReadAt(name, b, offset)
}

// List returns the names in a folder, sorted.
func (o *OverlayFS) List(dir string) ([]string, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	names, err := o.at.List(dir)
	if err != nil {
		return nil, err
	}
	made, err := o.mem.List(path.Clean(dir))
	if err != nil {
		return nil, err
	}
	names = append(slices.Clone(names), made...)
	names = slices.DeleteFunc(names, func(name string) bool {
		here, known := o.here[path.Join(dir, name)]
		return known && !here
	})
	slices.Sort(names)
	return slices.Compact(names), nil
}

// Append opens a file to be written at its end, in memory.
func (o *OverlayFS) Append(name string) (File, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	name = path.Clean(name)
	if err := o.fetch(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return o.open(name, o.mem.Append)
}

// Create opens an empty file in memory.
func (o *OverlayFS) Create(name string) (File, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.open(path.Clean(name), o.mem.Create)
}

func (o *OverlayFS) open(name string, how func(string) (File, error)) (File, error) {
	if err := o.mem.Mkdir(path.Dir(name)); err != nil {
		return nil, err
	}
	o.here[name] = true
	return how(name)
}

// Truncate shortens a file, in memory.
func (o *OverlayFS) Truncate(name string, size int64) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	name = path.Clean(name)
	if err := o.fetch(name); err != nil {
		return err
	}
	return o.mem.Truncate(name, size)
}

// Rename gives a file a new name, in memory.
func (o *OverlayFS) Rename(from, to string) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	from, to = path.Clean(from), path.Clean(to)
	if err := o.fetch(from); err != nil {
		return err
	}
	if err := o.mem.Mkdir(path.Dir(to)); err != nil {
		return err
	}
	o.here[from], o.here[to] = false, true
	return o.mem.Rename(from, to)
}

// Remove takes a file out of sight.
func (o *OverlayFS) Remove(name string) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	name = path.Clean(name)
	if err := o.fetch(name); err != nil {
		return err
	}
	o.here[name] = false
	return o.mem.Remove(name)
}

// Mkdir makes a folder, in memory.
func (o *OverlayFS) Mkdir(dir string) error { return o.mem.Mkdir(path.Clean(dir)) }

// SyncDir does nothing: what is in memory is never durable.
func (o *OverlayFS) SyncDir(string) error { return nil }

// Lock takes a lock in memory, whoever has the folder's own.
func (o *OverlayFS) Lock(name string) (io.Closer, error) { return o.mem.Lock(path.Clean(name)) }

// fetch brings a file of the folder into memory, to be changed there.
func (o *OverlayFS) fetch(name string) error {
	if here, known := o.here[name]; known {
		if !here {
			return missing("open", name)
		}
		return nil
	}
	b, err := o.at.Read(name)
	if err != nil {
		return err
	}
	o.mem.Put(name, b)
	o.here[name] = true
	return nil
}

func missing(op, name string) error {
	return &fs.PathError{Op: op, Path: name, Err: fs.ErrNotExist}
}
