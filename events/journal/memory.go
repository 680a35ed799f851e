package journal

import (
	"bytes"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"
)

// MemFS is a folder in memory that knows what a power cut would leave of it:
// bytes count as durable once their file was synced, names once their folder
// was. It is safe for use by many goroutines.
type MemFS struct {
	mu      sync.Mutex
	names   map[string]*inode // files and folders as they are
	durable map[string]*inode // as a power cut would leave them
	locks   map[string]*memLock
}

// inode is a file, or a folder where dir is set.
type inode struct {
	dir  bool
	now  []byte
	disk []byte
}

// Loss says what a power cut takes. The zero value takes everything that was
// not synced.
type Loss struct {
	KeepBytes int  // so many of the bytes appended since the last sync survive, in each file
	KeepNames bool // names made, moved and removed survive even where the folder was not synced
}

// Memory is an empty folder in memory.
func Memory() *MemFS {
	return &MemFS{names: map[string]*inode{}, durable: map[string]*inode{}, locks: map[string]*memLock{}}
}

// Crash is a power cut: whatever was not synced is lost, and so are the locks.
// Files open at the time write into nothing from then on.
func (m *MemFS) Crash(loss Loss) {
	m.mu.Lock()
	defer m.mu.Unlock()
	left := m.durable
	if loss.KeepNames {
		left = m.names
	}
	m.names, m.durable, m.locks = map[string]*inode{}, map[string]*inode{}, map[string]*memLock{}
	for name, n := range left {
		data := n.disk
		if len(n.now) > len(n.disk) && bytes.HasPrefix(n.now, n.disk) {
			data = n.now[:min(len(n.now), len(n.disk)+loss.KeepBytes)]
		}
		if parent := path.Dir(name); parent != "." && left[parent] == nil {
			continue // its folder is gone
		}
		fresh := &inode{dir: n.dir, now: bytes.Clone(data), disk: bytes.Clone(data)}
		m.names[name], m.durable[name] = fresh, fresh
	}
}

// Clone is a copy of the folder with nothing locked, everything in it durable.
func (m *MemFS) Clone() *MemFS {
	m.mu.Lock()
	defer m.mu.Unlock()
	c := Memory()
	for name, n := range m.names {
		fresh := &inode{dir: n.dir, now: bytes.Clone(n.now), disk: bytes.Clone(n.now)}
		c.names[name], c.durable[name] = fresh, fresh
	}
	return c
}

// Put makes a durable file of these bytes, for tests that tamper.
func (m *MemFS) Put(name string, b []byte) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := &inode{now: bytes.Clone(b), disk: bytes.Clone(b)}
	m.names[name], m.durable[name] = n, n
}

// Files lists every file, sorted.
func (m *MemFS) Files() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	var files []string
	for name, n := range m.names {
		if !n.dir {
			files = append(files, name)
		}
	}
	slices.Sort(files)
	return files
}

// Read returns a copy of a file's bytes.
func (m *MemFS) Read(name string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n, err := m.file("read", name)
	if err != nil {
		return nil, err
	}
	return bytes.Clone(n.now), nil
}

// Open opens a file to be read as it is now.
func (m *MemFS) Open(name string) (io.ReadCloser, error) {
	b, err := m.Look(name)
	if err != nil {
		return nil, err
	}
	return io.NopCloser(bytes.NewReader(b)), nil
}

// ReadAt fills b with the bytes of a file from an offset on.
func (m *MemFS) ReadAt(name string, b []byte, offset int64) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	n, err := m.file("read", name)
	if err != nil {
		return err
	}
	if offset < 0 || offset > int64(len(n.now)) || copy(b, n.now[offset:]) < len(b) {
		return &fs.PathError{Op: "read", Path: name, Err: io.ErrUnexpectedEOF}
	}
	return nil
}

// Look returns a file's bytes as they are, for tests that look often. They must not
// be changed. What is done to the file later does not show in them.
func (m *MemFS) Look(name string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	n, err := m.file("look at", name)
	if err != nil {
		return nil, err
	}
	return slices.Clip(n.now), nil
}

// List returns the names in a folder, sorted.
func (m *MemFS) List(dir string) ([]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var names []string
	for name := range m.names {
		if path.Dir(name) == dir {
			names = append(names, path.Base(name))
		}
	}
	slices.Sort(names)
	return names, nil
}

// Append opens a file to be written at its end.
func (m *MemFS) Append(name string) (File, error) { return m.open(name, false) }

// Create opens an empty file under that name.
func (m *MemFS) Create(name string) (File, error) { return m.open(name, true) }

func (m *MemFS) open(name string, empty bool) (File, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if parent := path.Dir(name); parent != "." && m.names[parent] == nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	n := m.names[name]
	if n == nil {
		n = &inode{}
		m.names[name] = n
	}
	if empty {
		n.now = nil
	}
	return &memFile{m, n}, nil
}

// Truncate shortens a file.
func (m *MemFS) Truncate(name string, size int64) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	n, err := m.file("truncate", name)
	if err != nil {
		return err
	}
	size = min(int64(len(n.now)), size)
	n.now = n.now[:size:size] // clipped: disk may share the bytes after it
	return nil
}

// Rename moves a file, over another of that name.
func (m *MemFS) Rename(from, to string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	n, err := m.file("rename", from)
	if err != nil {
		return err
	}
	m.names[to] = n
	delete(m.names, from)
	return nil
}

// Remove deletes a file.
func (m *MemFS) Remove(name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, err := m.file("remove", name); err != nil {
		return err
	}
	delete(m.names, name)
	return nil
}

// Mkdir makes a folder and those above it.
func (m *MemFS) Mkdir(dir string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for d := dir; d != "."; d = path.Dir(d) {
		if m.names[d] == nil {
			m.names[d] = &inode{dir: true}
		}
	}
	return nil
}

// SyncDir makes the names in a folder durable, and the absence of others.
func (m *MemFS) SyncDir(dir string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	maps.DeleteFunc(m.durable, func(name string, _ *inode) bool { return path.Dir(name) == dir })
	for name, n := range m.names {
		if path.Dir(name) == dir {
			m.durable[name] = n
		}
	}
	return nil
}

// Lock takes a lock within this MemFS.
func (m *MemFS) Lock(name string) (io.Closer, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.locks[name] != nil {
		return nil, ErrLocked
	}
	m.locks[name] = &memLock{m, name}
	return m.locks[name], nil
}

func (m *MemFS) file(op, name string) (*inode, error) {
	n := m.names[strings.TrimPrefix(name, "./")]
	if n == nil || n.dir {
		return nil, &fs.PathError{Op: op, Path: name, Err: fs.ErrNotExist}
	}
	return n, nil
}

type memFile struct {
	fs *MemFS
	n  *inode
}

func (f *memFile) Write(b []byte) (int, error) {
	f.fs.mu.Lock()
	defer f.fs.mu.Unlock()
	f.n.now = append(f.n.now, b...)
	return len(b), nil
}

func (f *memFile) Sync() error {
	f.fs.mu.Lock()
	defer f.fs.mu.Unlock()
	f.n.disk = f.n.now // appending never changes the bytes they share
	return nil
}

func (f *memFile) Close() error { return nil }

type memLock struct {
	fs   *MemFS
	name string
}

func (l *memLock) Close() error {
	l.fs.mu.Lock()
	defer l.fs.mu.Unlock()
	if l.fs.locks[l.name] == l { // not one that was taken after a crash
		delete(l.fs.locks, l.name)
	}
	return nil
}
