package album

import (
	"errors"
	"fmt"
	"io/fs"

	"pairwalk/events"
)

// Got is how many bytes of a picture that is on its way are here, from its first
// one on.
func (a *Album) Got(name string) int64 {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.got(name)
}

func (a *Album) got(name string) int64 {
	n, known := a.parts[name]
	if !known || n >= 0 {
		return n
	}
	b, err := a.at.Read(in(name + partEnd))
	if err != nil {
		return 0 // it is begun anew
	}
	a.parts[name] = int64(len(b))
	return a.parts[name]
}

// Append writes a piece that begins at one of the picture's bytes. What the part
// held from there on is thrown away. A piece that would leave a gap is refused.
func (a *Album) Append(name string, from int64, piece []byte) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if !named.MatchString(name) {
		return ErrWrong
	}
	got := a.got(name)
	switch {
	case from < 0 || from > got:
		return fmt.Errorf("keep piece of a picture: it begins at byte %d, and %d are here", from, got)
	case from+int64(len(piece)) > events.MaxPicture:
		return ErrTooLarge
	}
	if err := a.make(); err != nil {
		return err
	}
	a.parts[name] = -1 // until it is known what became of it
	if err := a.write(in(name+partEnd), from, got, piece); err != nil {
		return fmt.Errorf("keep piece of a picture: %w", err)
	}
	a.parts[name] = from + int64(len(piece))
	return nil
}

// write puts a piece behind the first bytes of a file.
func (a *Album) write(file string, from, got int64, piece []byte) error {
	open := a.at.Append
	switch {
	case from == 0:
		open = a.at.Create
	case from < got:
		if err := a.at.Truncate(file, from); err != nil {
			return err
		}
	}
	f, err := open(file)
	if err != nil {
		return err
	}
	_, err = f.Write(piece)
	return errors.Join(err, f.Close())
}

// Finish makes a picture of its part, if that is whole, and durable. The part of
// one that has other bytes, or not so many, is thrown away: [ErrWrong].
func (a *Album) Finish(name string, size int64) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	b, err := a.at.Read(in(name + partEnd))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		delete(a.parts, name)
		return ErrWrong
	case err != nil:
		return fmt.Errorf("read part of a picture: %w", err)
	case int64(len(b)) != size || nameOf(b) != name:
		a.dropPart(name)
		return ErrWrong
	}
	return a.put(name, b)
}

// Drop throws a part away.
func (a *Album) Drop(name string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.dropPart(name)
}

// dropPart throws a part away. One that can't be removed is written over from its
// first byte.
func (a *Album) dropPart(name string) {
	if _, there := a.parts[name]; !there {
		return
	}
	if err := a.at.Remove(in(name + partEnd)); err == nil || errors.Is(err, fs.ErrNotExist) {
		delete(a.parts, name)
		return
	}
	a.parts[name] = 0
}
