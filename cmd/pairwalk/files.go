package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// files are the files that a command's arguments name, seen from where the user
// called it.
type files interface {
	open(name string) (io.ReadCloser, error)
	// create begins a file that is there whole in the end, or not at all. What
	// stands there already is replaced only when told so, and never if it is no
	// plain file.
	create(name string, force bool) (draft, error)
	shelve(name string, force bool) (shelf, error)
}

// draft is a file being written.
type draft interface {
	io.Writer
	keep() error // make it durable and put it in its place
	drop()       // leave nothing behind
}

// disk is the files of this process.
type disk struct{}

func (disk) open(name string) (io.ReadCloser, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err // not a reader that holds a nil *os.File
	}
	return f, nil
}

func (disk) create(name string, force bool) (draft, error) {
	switch info, err := os.Lstat(name); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no plain file; choose another name", name)
	case !force:
		return nil, fmt.Errorf("%s is there already; choose another name, or replace it with --force", name)
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".pairwalk-*")
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", name, err)
	}
	return &diskDraft{f, name}, nil
}

type diskDraft struct {
	*os.File
	name string
}

func (d *diskDraft) keep() error {
	err := errors.Join(d.Sync(), d.Close())
	if err == nil {
		err = os.Rename(d.File.Name(), d.name)
	}
	if err != nil {
		_ = os.Remove(d.File.Name())
		return err
	}
	syncFolder(filepath.Dir(d.name)) // or a power cut could take the name of what was told of
	return nil
}

func (d *diskDraft) drop() {
	_ = d.Close()
	_ = os.Remove(d.File.Name())
}

// file opens a file that an argument names; - is standard input.
func (a *app) file(name string) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(a.input()), nil
	}
	return a.files.open(name)
}

// called is how to speak of a file that an argument names.
func called(name string) string {
	if name == "-" {
		return "standard input"
	}
	return name
}

// readFile reads a whole file that an argument names.
func (a *app) readFile(name string) ([]byte, error) {
	f, err := a.files.open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(f)
}

// writeFile writes a whole file or leaves none behind.
func (a *app) writeFile(name string, force bool, write func(io.Writer) error) error {
	if name == "" {
		return usef("say where to write it: a file name")
	}
	d, err := a.files.create(name, force)
	if err != nil {
		return err
	}
	if err := write(d); err != nil {
		d.drop()
		return err
	}
	return d.keep()
}

// input is standard input, given up when the command is interrupted.
func (a *app) input() io.Reader { return &input{ctx: a.ctx, from: a.stdin} }

type input struct {
	ctx  context.Context
	from io.Reader
	rest []byte // read, and not yet handed out
}

type gulp struct {
	b   []byte
	err error
}

// Read waits for input in a goroutine of its own: a read of a terminal can't be
// broken off. Its buffer is never the caller's, who may be gone by then.
func (in *input) Read(b []byte) (int, error) {
	if len(in.rest) == 0 {
		done := make(chan gulp, 1)
		go func() {
			buf := make([]byte, frameMost)
			n, err := in.from.Read(buf)
			done <- gulp{buf[:n], err}
		}()
		select {
		case <-in.ctx.Done():
			return 0, errors.New("interrupted")
		case g := <-done:
			if len(g.b) == 0 {
				return 0, g.err
			}
			in.rest = g.b // an error that came with bytes comes again
		}
	}
	n := copy(b, in.rest)
	in.rest = in.rest[n:]
	return n, nil
}
