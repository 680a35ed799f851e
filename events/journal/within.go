package journal

import (
	"io"
	"path"
)

// Within is the folder dir of another FS, as an FS of its own.
func Within(at FS, dir string) FS { return within{at, dir} }

type within struct {
	at  FS
	dir string
}

func (w within) path(name string) string { return path.Join(w.dir, name) }

func (w within) Read(name string) ([]byte, error)        { return w.at.Read(w.path(name)) }
func (w within) Open(name string) (io.ReadCloser, error) { return w.at.Open(w.path(name)) }
func (w within) ReadAt(name string, b []byte, offset int64) error {
	return w.at.ReadAt(w.path(name), b, offset)
}
func (w within) List(dir string) ([]string, error)      { return w.at.List(w.path(dir)) }
func (w within) Append(name string) (File, error)       { return w.at.Append(w.path(name)) }
func (w within) Create(name string) (File, error)       { return w.at.Create(w.path(name)) }
func (w within) Truncate(name string, size int64) error { return w.at.Truncate(w.path(name), size) }
func (w within) Rename(from, to string) error           { return w.at.Rename(w.path(from), w.path(to)) }
func (w within) Remove(name string) error               { return w.at.Remove(w.path(name)) }
func (w within) Mkdir(dir string) error                 { return w.at.Mkdir(w.path(dir)) }
func (w within) SyncDir(dir string) error               { return w.at.SyncDir(w.path(dir)) }
func (w within) Lock(name string) (io.Closer, error)    { return w.at.Lock(w.path(name)) }
