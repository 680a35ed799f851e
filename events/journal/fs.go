package journal

import "io"

// FS is the least that a journal asks of a folder. Names are slash-separated
// and relative to it; "." is the folder itself. A name that is not there gives
// an error that is [fs.ErrNotExist]. Every call may fail, and tests make each
// one fail in turn. Files are read by several goroutines at once, and written by one.
type FS interface {
	// Read returns a whole file.
	Read(name string) ([]byte, error)
	// Open opens a file to be read from its beginning to its end.
	Open(name string) (io.ReadCloser, error)
	// ReadAt fills b with the bytes of a file from an offset on. Where the file
	// ends before, the error is [io.ErrUnexpectedEOF].
	ReadAt(name string, b []byte, offset int64) error
	// List returns the names in a folder, sorted; none where there is no folder.
	List(dir string) ([]string, error)
	// Append opens a file for writing at its end, making it if need be.
	Append(name string) (File, error)
	// Create opens an empty file for writing, in place of any of that name.
	Create(name string) (File, error)
	// Truncate shortens a file to size bytes.
	Truncate(name string, size int64) error
	// Rename gives a file a new name, in place of any file of that name.
	Rename(from, to string) error
	// Remove deletes a file.
	Remove(name string) error
	// Mkdir makes a folder and those above it; one that is there is no error.
	Mkdir(dir string) error
	// SyncDir makes the names in a folder durable.
	SyncDir(dir string) error
	// Lock takes a lock that no other process and no other journal can hold at
	// the same time, or fails with ErrLocked at once.
	Lock(name string) (io.Closer, error)
}

// File is an open file that is only written to.
type File interface {
	io.Writer
	// Sync makes what was written durable. After it failed, the bytes since the
	// last success may or may not be on disk, whatever a later Sync says.
	Sync() error
	Close() error
}
