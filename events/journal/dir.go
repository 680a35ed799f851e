package journal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"github.com/gofrs/flock"
)

// Dir is a real folder as an FS. Files are made for their owner alone (0600),
// folders too (0700).
func Dir(path string) FS { return dir(path) }

type dir string

func (d dir) path(name string) string { return filepath.Join(string(d), filepath.FromSlash(name)) }

func (d dir) Read(name string) ([]byte, error) { return os.ReadFile(d.path(name)) }

func (d dir) Open(name string) (io.ReadCloser, error) {
	f, err := os.Open(d.path(name))
	if err != nil {
		return nil, err // not a ReadCloser that holds a nil *os.File
	}
	return f, nil
}

func (d dir) ReadAt(name string, b []byte, offset int64) error {
	f, err := os.Open(d.path(name))
	if err != nil {
		return err
	}
	_, err = f.ReadAt(b, offset)
	if errors.Is(err, io.EOF) {
		err = &fs.PathError{Op: "read", Path: f.Name(), Err: io.ErrUnexpectedEOF}
	}
	return errors.Join(err, f.Close())
}

func (d dir) List(name string) ([]string, error) {
	entries, err := os.ReadDir(d.path(name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.Name()
	}
	return names, nil
}

func (d dir) Append(name string) (File, error) {
	return d.open(name, os.O_WRONLY|os.O_CREATE|os.O_APPEND)
}

func (d dir) Create(name string) (File, error) {
	return d.open(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC)
}

func (d dir) open(name string, flag int) (File, error) {
	f, err := os.OpenFile(d.path(name), flag, 0o600)
	if err != nil {
		return nil, err // not a File that holds a nil *os.File
	}
	return f, nil
}

func (d dir) Truncate(name string, size int64) error { return os.Truncate(d.path(name), size) }
func (d dir) Rename(from, to string) error           { return os.Rename(d.path(from), d.path(to)) }
func (d dir) Remove(name string) error               { return os.Remove(d.path(name)) }
func (d dir) Mkdir(name string) error                { return os.MkdirAll(d.path(name), 0o700) }

func (d dir) SyncDir(name string) error {
	if runtime.GOOS == "windows" {
		return nil // folders can't be synced there; renames are journalled by the system
	}
	f, err := os.Open(d.path(name))
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func (d dir) Lock(name string) (io.Closer, error) {
	lock := flock.New(d.path(name), flock.SetPermissions(0o600))
	got, err := lock.TryLock()
	if err != nil {
		return nil, fmt.Errorf("lock %s: %w", d.path(name), err)
	}
	if !got {
		return nil, ErrLocked
	}
	return lock, nil
}
