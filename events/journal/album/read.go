package album

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
)

// recentMost is how many bytes of pictures stay in memory while others fetch them.
const recentMost = 32 << 20

// Read reads a picture from its file and compares it. The error is fs.ErrNotExist
// where it is not here, and [ErrDamaged] besides where it was.
func (a *Album) Read(name string) ([]byte, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.read(name)
}

func (a *Album) read(name string) ([]byte, error) {
	if !a.held[name] {
		return nil, a.missing(name)
	}
	b, err := a.at.Read(in(name))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		delete(a.held, name) // somebody took it away
		a.forget(name)
		return nil, a.missing(name)
	case err != nil:
		return nil, fmt.Errorf("read picture: %w", err)
	case nameOf(b) != name:
		a.spoilt(name)
		return nil, a.missing(name)
	}
	return b, nil
}

// spoilt puts a picture aside that is another than it was. Where that fails the
// file stays under its name, until the next reading or a whole one in its place.
func (a *Album) spoilt(name string) {
	_ = a.at.Rename(in(name), in(name+damagedEnd))
	delete(a.held, name)
	a.damaged[name] = true
	a.forget(name)
}

// Piece is at most so many bytes of a picture from one of its bytes on, and how
// many it has in all.
func (a *Album) Piece(name string, from int64, most int) (piece []byte, of int64, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	b, err := a.lately(name)
	if err != nil {
		return nil, 0, err
	}
	if from < 0 || from > int64(len(b)) {
		return nil, int64(len(b)), nil
	}
	rest := b[from:]
	return rest[:min(len(rest), max(most, 0))], int64(len(b)), nil
}

// lately reads a picture, or has it still.
func (a *Album) lately(name string) ([]byte, error) {
	for i, p := range a.recent {
		if p.name == name {
			a.recent = append(slices.Delete(a.recent, i, i+1), p)
			return p.content, nil
		}
	}
	b, err := a.read(name)
	if err != nil {
		return nil, err
	}
	a.recent = append(a.recent, picture{name, b})
	for size := a.bytes(); size > recentMost && len(a.recent) > 1; size = a.bytes() {
		a.recent = slices.Delete(a.recent, 0, 1)
	}
	return b, nil
}

func (a *Album) bytes() int {
	n := 0
	for _, p := range a.recent {
		n += len(p.content)
	}
	return n
}

func (a *Album) forget(name string) {
	a.recent = slices.DeleteFunc(a.recent, func(p picture) bool { return p.name == name })
}

// Check reads every picture, and lists those that turn out to be damaged or gone.
// The error is the first that could not be read at all.
func (a *Album) Check() (lost []string, err error) {
	for _, name := range a.List() {
		if _, e := a.Read(name); errors.Is(e, fs.ErrNotExist) {
			lost = append(lost, name)
		} else if err == nil {
			err = e
		}
	}
	return lost, err
}
