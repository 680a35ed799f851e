package album

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"pairwalk/events"
	"pairwalk/events/journal"
)

const (
	folder     = "pictures"
	partEnd    = ".part"
	damagedEnd = ".damaged"
	newEnd     = ".new" // of what journal.Replace is writing
)

// Errors where callers branch.
var (
	// ErrWrong means that content is not what its name or its entry says.
	ErrWrong = errors.New("the picture is not what its name says")
	// ErrTooLarge means that a picture is past what is kept.
	ErrTooLarge = fmt.Errorf("the picture has more than %d MiB; make it smaller first", events.MaxPicture>>20)
	// ErrDamaged means that a picture that was held is spoilt. It is also
	// fs.ErrNotExist.
	ErrDamaged = errors.New("the picture is damaged on this device; it is fetched again from whoever holds it")
)

var named = regexp.MustCompile(`^[0-9a-f]{64}$`)

// Album is the pictures kept beside one site's journal. Its methods may be called
// from many goroutines.
type Album struct {
	at journal.FS // the site's folder

	mu      sync.Mutex
	made    bool // the folder is there, durably
	held    map[string]bool
	damaged map[string]bool
	parts   map[string]int64 // bytes of each part; negative where they must be counted
	recent  []picture        // the newest last
}

type picture struct {
	name    string
	content []byte
}

// Open looks at what is kept. It reads no picture: each is compared when it is
// read.
func Open(at journal.FS) (*Album, error) {
	a := &Album{at: at, held: map[string]bool{}, damaged: map[string]bool{}, parts: map[string]int64{}}
	names, err := at.List(folder)
	if err != nil {
		return nil, fmt.Errorf("list pictures: %w", err)
	}
	for _, file := range names {
		name, end, _ := strings.Cut(file, ".")
		if !named.MatchString(name) {
			continue
		}
		switch {
		case end == "":
			a.held[name] = true
		case "."+end == partEnd:
			a.parts[name] = -1
		case "."+end == damagedEnd:
			a.damaged[name] = true
		case "."+end == newEnd:
			_ = at.Remove(in(file)) // where it stays it costs room and nothing else
		}
	}
	for name := range a.held {
		a.tidy(name)
	}
	return a, nil
}

func in(file string) string { return path.Join(folder, file) }

// Put keeps a whole picture. It is durable when Put returns nil, and whatever was
// damaged of it is mended.
func (a *Album) Put(name string, content []byte) error {
	switch {
	case len(content) > events.MaxPicture:
		return ErrTooLarge
	case nameOf(content) != name:
		return ErrWrong
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.put(name, content)
}

func (a *Album) put(name string, content []byte) error {
	if err := a.make(); err != nil {
		return err
	}
	if err := journal.Replace(a.at, in(name), content); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	a.held[name] = true
	a.forget(name)
	a.tidy(name)
	return nil
}

// tidy takes away what is left beside a whole picture. Where that fails it costs
// room and nothing else, until the album is opened again.
func (a *Album) tidy(name string) {
	a.dropPart(name)
	if a.damaged[name] {
		_ = a.at.Remove(in(name + damagedEnd))
		delete(a.damaged, name)
	}
}

// make makes the folder, durably, unless it is there.
func (a *Album) make() error {
	if a.made {
		return nil
	}
	if err := errors.Join(a.at.Mkdir(folder), a.at.SyncDir(".")); err != nil {
		return fmt.Errorf("make folder of pictures: %w", err)
	}
	a.made = true
	return nil
}

// nameOf is the name of content.
func nameOf(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}

// Holds says whether a picture is here, as far as it was read.
func (a *Album) Holds(name string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.held[name]
}

// Damaged says whether a picture was here and is spoilt.
func (a *Album) Damaged(name string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.damaged[name]
}

// List is all that are held, sorted.
func (a *Album) List() []string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return slices.Sorted(maps.Keys(a.held))
}

// missing is the error for a picture that is not here.
func (a *Album) missing(name string) error {
	if a.damaged[name] {
		return fmt.Errorf("%w (%w)", ErrDamaged, fs.ErrNotExist)
	}
	return fmt.Errorf("picture %.12q: %w", name, fs.ErrNotExist)
}
