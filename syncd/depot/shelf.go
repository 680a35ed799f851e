package depot

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"sync"

	"pairwalk/events"
	"pairwalk/events/journal/album"
	"pairwalk/syncd/member"
)

// partsMost is how many bytes of pictures of a site may be on their way here.
const partsMost = 64 << 20

// shelf is the pictures as one site's member has them. Those on their way are in
// memory, and lost with the process.
type shelf struct {
	g *gallery

	mu    sync.Mutex
	parts map[string][]byte
}

var _ member.Album = (*shelf)(nil)

func (g *gallery) shelf() *shelf { return &shelf{g: g, parts: map[string][]byte{}} }

// Holds says whether a picture is in the cluster.
func (s *shelf) Holds(name string) bool {
	s.g.mu.Lock()
	defer s.g.mu.Unlock()
	return s.g.held[name]
}

// Damaged says whether a picture was there and is spoilt.
func (s *shelf) Damaged(name string) bool {
	s.g.mu.Lock()
	defer s.g.mu.Unlock()
	return s.g.damaged[name]
}

// Got is how many bytes of a picture that is on its way are here.
func (s *shelf) Got(name string) int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return int64(len(s.parts[name]))
}

// Append writes a piece of a picture that is on its way.
func (s *shelf) Append(name string, from int64, piece []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	part := s.parts[name]
	switch {
	case from < 0 || from > int64(len(part)):
		return fmt.Errorf("keep piece of picture: there are %d bytes of it, and this one begins at %d", len(part), from)
	case from+int64(len(piece)) > events.MaxPicture:
		delete(s.parts, name)
		return fmt.Errorf("keep piece of picture: %w", album.ErrWrong)
	}
	room := partsMost - len(piece)
	for _, p := range s.parts {
		room -= len(p)
	}
	if room < 0 {
		clear(s.parts) // whoever is on the way begins again
		return errors.New("keep piece of picture: too many are on their way at once; they are asked for again")
	}
	s.parts[name] = append(slices.Clip(part[:from]), piece...)
	return nil
}

// Finish puts a whole picture into the cluster.
func (s *shelf) Finish(name string, size int64) error {
	s.mu.Lock()
	part := s.parts[name]
	s.mu.Unlock()
	if int64(len(part)) != size || nameOf(part) != name {
		s.drop(name)
		return fmt.Errorf("finish picture: %w", album.ErrWrong)
	}
	if err := s.g.put(name, part); err != nil {
		return err
	}
	s.drop(name)
	return nil
}

func (s *shelf) drop(name string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.parts, name)
}

// Put keeps a whole picture.
func (s *shelf) Put(name string, content []byte) error { return s.g.put(name, content) }

// Read reads a picture and compares it with its name.
func (s *shelf) Read(name string) ([]byte, error) { return s.g.read(name) }

// Piece is some bytes of a picture, and how many it has in all.
func (s *shelf) Piece(name string, from int64, most int) (piece []byte, of int64, err error) {
	b, err := s.g.read(name)
	if err != nil {
		return nil, 0, err
	}
	if from < 0 || from > int64(len(b)) {
		return nil, int64(len(b)), nil
	}
	rest := b[from:]
	return rest[:min(len(rest), max(most, 0))], int64(len(b)), nil
}

// Check reads every picture in the cluster, of whichever site, and lists those that
// are not as they were.
func (s *shelf) Check() (lost []string, err error) {
	for _, name := range s.g.names() {
		s.g.forget(name)
		switch _, e := s.g.read(name); {
		case errors.Is(e, fs.ErrNotExist):
			lost = append(lost, name)
		case e != nil && err == nil:
			err = e
		}
	}
	return lost, err
}
