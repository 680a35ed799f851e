package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"pairwalk/projection/handover"
)

// shelf is a folder being filled, file by file: what is written goes into the file
// begun last. It is there whole in the end, or not at all.
type shelf interface {
	io.Writer
	begin(name string) error
	keep() error // make it durable and put it in its place
	drop()       // leave nothing behind
}

// shelve begins a folder for a handover pack. What stands there already must be
// empty, or an older pack and nothing else, which makes room only when told so.
func (disk) shelve(name string, force bool) (shelf, error) {
	if name == "" {
		return nil, usef("say where to write it: a folder name")
	}
	place, err := filepath.Abs(name)
	if err != nil {
		return nil, err
	}
	if here, err := os.Getwd(); err == nil && holds(place, here) {
		return nil, fmt.Errorf("%s holds the folder you are in; name a new one of its own", name)
	}
	if outer := packAround(place); outer != "" {
		return nil, fmt.Errorf("%s would lie inside the handover pack %s, which would then no longer be whole; choose a folder beside it", name, outer)
	}
	d := &diskShelf{place: place, name: name, force: force}
	if _, err := d.room(); err != nil {
		return nil, err
	}
	if d.draft, err = os.MkdirTemp(filepath.Dir(place), ".pairwalk-*"); err != nil {
		return nil, fmt.Errorf("write %s: %w; the folder it is to lie in must be there, and be writable", name, err)
	}
	if err := os.Chmod(d.draft, 0o755); err != nil {
		d.drop()
		return nil, fmt.Errorf("write %s: %w", name, err)
	}
	return d, nil
}

// holds says whether a folder is another or has it somewhere inside.
func holds(outer, inner string) bool {
	rel, err := filepath.Rel(outer, inner)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// packAround finds the pack that a place lies inside of, "" for none. A pack that was
// added to is one still.
func packAround(place string) string {
	for dir := filepath.Dir(place); ; dir = filepath.Dir(dir) {
		if handover.LooksLikePack(os.DirFS(dir)) {
			return dir
		}
		if dir == filepath.Dir(dir) {
			return ""
		}
	}
}

// diskShelf fills a hidden folder beside its place.
type diskShelf struct {
	place, name string
	force       bool
	draft       string
	file        *os.File
}

// occupant is what stands where a folder is to go.
type occupant string

const (
	nobody    occupant = "nobody"
	emptiness occupant = "an empty folder"
	olderPack occupant = "an older pack"
)

func (d *diskShelf) room() (occupant, error) {
	info, err := os.Lstat(d.place)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nobody, nil
	case err != nil:
		return "", err
	case !info.IsDir():
		return "", fmt.Errorf("%s is there and is no folder; choose another name", d.name)
	}
	entries, err := os.ReadDir(d.place)
	switch {
	case err != nil:
		return "", err
	case len(entries) == 0:
		return emptiness, nil
	case !handover.IsPack(os.DirFS(d.place)):
		return "", fmt.Errorf("%s is not empty, and holds more than a handover pack; choose another folder", d.name)
	case !d.force:
		return "", fmt.Errorf("%s holds an older pack; choose another folder, or replace it with --force", d.name)
	}
	return olderPack, nil
}

func (d *diskShelf) begin(name string) error {
	if err := d.end(); err != nil {
		return err
	}
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return fmt.Errorf("write %s: %q leads out of it", d.name, name)
	}
	at := filepath.Join(d.draft, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
		return fmt.Errorf("write %s: %w", d.name, err)
	}
	f, err := os.OpenFile(at, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return fmt.Errorf("write %s: %w", d.name, err)
	}
	d.file = f
	return nil
}

func (d *diskShelf) Write(b []byte) (int, error) {
	if d.file == nil {
		return 0, fmt.Errorf("write %s: no file was begun", d.name)
	}
	return d.file.Write(b)
}

// end makes the file begun last durable.
func (d *diskShelf) end() error {
	if d.file == nil {
		return nil
	}
	err := errors.Join(d.file.Sync(), d.file.Close())
	d.file = nil
	return err
}

func (d *diskShelf) keep() error {
	err := d.end()
	if err == nil {
		err = d.settle()
	}
	if err != nil {
		d.drop()
		return fmt.Errorf("write %s: %w", d.name, err)
	}
	syncFolder(filepath.Dir(d.place))
	return nil
}

// settle moves the folder to its place. An older pack steps aside first and is
// taken away last, so that one of the two is always there whole.
func (d *diskShelf) settle() error {
	for _, sub := range []string{".", handover.CSVFolder, handover.PhotoDir} {
		syncFolder(filepath.Join(d.draft, sub))
	}
	was, err := d.room()
	if err != nil {
		return err
	}
	aside := d.draft + "-old"
	switch was {
	case emptiness:
		if err := os.Remove(d.place); err != nil {
			return fmt.Errorf("%w; name a new folder inside it", err) // the root of a memory stick, say
		}
	case olderPack:
		if err := os.Rename(d.place, aside); err != nil {
			return err
		}
	}
	if err := os.Rename(d.draft, d.place); err != nil {
		switch was {
		case emptiness:
			return errors.Join(err, os.Mkdir(d.place, 0o755))
		case olderPack:
			return errors.Join(err, os.Rename(aside, d.place))
		}
		return err
	}
	if was == olderPack {
		syncFolder(filepath.Dir(d.place)) // the new one is in its place for good before the old one goes
		return os.RemoveAll(aside)
	}
	return nil
}

// syncFolder makes the names in a folder durable, where the system can do that.
func syncFolder(dir string) {
	f, err := os.Open(dir)
	if err != nil {
		return
	}
	_ = f.Sync()
	_ = f.Close()
}

func (d *diskShelf) drop() {
	_ = d.end()
	_ = os.RemoveAll(d.draft)
}
