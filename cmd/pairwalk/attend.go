package main

import (
	"errors"
	"io"
	"slices"
)

// attendant answers what a serving process asks of its caller, by the caller's
// own files and standard input.
type attendant struct {
	files files
	stdin io.Reader
	read  map[int]io.ReadCloser
	write map[int]draft // files and shelves
}

func newAttendant(fs files, stdin io.Reader) *attendant {
	return &attendant{files: fs, stdin: stdin, read: map[int]io.ReadCloser{}, write: map[int]draft{}}
}

// answer is the frame that answers a question.
func (t *attendant) answer(q ask) frame {
	data, err := t.do(q)
	switch {
	case errors.Is(err, io.EOF):
		return frame{kind: frameDone}
	case err != nil:
		words := err.Error()
		return frame{frameFailed, []byte(words[:min(len(words), frameMost)])}
	case data != nil:
		return frame{frameData, data}
	}
	return frame{kind: frameDone}
}

// do does what a question asks for; data is nil where it asks for none.
func (t *attendant) do(q ask) (data []byte, err error) {
	switch q.Op {
	case "stdin":
		return gulpOf(t.stdin, q.Most)
	case "open":
		f, err := t.files.open(string(q.Name))
		if err == nil {
			t.read[q.File] = f
		}
		return nil, err
	case "create":
		d, err := t.files.create(string(q.Name), q.Force)
		if err == nil {
			t.write[q.File] = d
		}
		return nil, err
	case "shelve":
		d, err := t.files.shelve(string(q.Name), q.Force)
		if err == nil {
			t.write[q.File] = d
		}
		return nil, err
	}
	if f, ok := t.read[q.File]; ok {
		return t.reading(f, q)
	}
	if d, ok := t.write[q.File]; ok {
		return nil, t.writing(d, q)
	}
	return nil, errGarbled
}

func (t *attendant) reading(f io.ReadCloser, q ask) ([]byte, error) {
	switch q.Op {
	case "read":
		return gulpOf(f, q.Most)
	case "shut":
		delete(t.read, q.File)
		return nil, f.Close()
	}
	return nil, errGarbled
}

func (t *attendant) writing(d draft, q ask) error {
	switch q.Op {
	case "write":
		_, err := d.Write(q.Data)
		return err
	case "begin":
		if s, ok := d.(shelf); ok {
			return s.begin(string(q.Name))
		}
	case "keep":
		delete(t.write, q.File)
		return d.keep()
	case "drop":
		delete(t.write, q.File)
		d.drop()
		return nil
	}
	return errGarbled
}

// gulpOf reads what there is, up to so many bytes. An error that comes with
// bytes is left to the next read.
func gulpOf(r io.Reader, most int) ([]byte, error) {
	buf := make([]byte, max(0, min(most, frameMost)))
	n, err := r.Read(buf)
	if n > 0 || err == nil {
		return slices.Clip(buf[:n]), nil
	}
	return nil, err
}

// leave lets go of what a serving process that is gone had asked for.
func (t *attendant) leave() {
	for _, f := range t.read {
		_ = f.Close()
	}
	for _, d := range t.write {
		d.drop()
	}
}
