package handover

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"time"

	"pairwalk/events"
)

// Flaw is something wrong with a file of a pack.
type Flaw struct {
	File string
	What string
}

// String is the flaw in words.
func (f Flaw) String() string { return fmt.Sprintf("%s: %s", said(f.File), f.What) }

// Found is a pack as it lies somewhere.
type Found struct {
	Manifest Manifest
	at       fs.FS
	sums     []sum
}

// textMost bounds the files of a pack that are read whole before anything vouches
// for them.
const textMost = 16 << 20

// ErrNoPack means that a folder is no pack.
var ErrNoPack = errors.New("this is no handover pack: it has no " + SumsFile + "; name the folder that pairwalk handover wrote")

// Check reads a pack and checks that it is what its sums and its pack.json say:
// every file there, unchanged, and no other. It reads files as they are and follows
// no link. The error is ErrNoPack, or says that the folder can't be read.
func Check(at fs.FS) (Found, []Flaw, error) {
	text, err := readSome(at, SumsFile)
	if errors.Is(err, fs.ErrNotExist) {
		return Found{}, nil, ErrNoPack
	}
	if err != nil {
		return Found{}, nil, fmt.Errorf("read pack: %w", err)
	}
	sums, flaws := readSums(text)
	found := Found{at: at, sums: sums}
	there, more, err := found.walk()
	if err != nil {
		return Found{}, nil, fmt.Errorf("read pack: %w", err)
	}
	flaws = append(flaws, more...)
	for _, s := range sums {
		plain, seen := there[s.name]
		if !seen {
			flaws = append(flaws, Flaw{s.name, "is missing"})
		}
		if !plain {
			continue
		}
		if is, err := found.sumNow(s.name); err != nil {
			flaws = append(flaws, Flaw{s.name, "can't be read: " + err.Error()})
		} else if is != s.hex {
			flaws = append(flaws, Flaw{s.name, "is not what " + SumsFile + " says: it was changed or damaged"})
		}
		if m := photoName.FindStringSubmatch(s.name); m != nil && m[1] != s.hex {
			flaws = append(flaws, Flaw{s.name, "is not the picture it is called"})
		}
	}
	return found, append(flaws, found.readMark(there)...), nil
}

// walk finds what is there, true for plain files, and what has no place.
func (f *Found) walk() (there map[string]bool, flaws []Flaw, err error) {
	there = map[string]bool{}
	listed := map[string]bool{SumsFile: true}
	folders := map[string]bool{".": true}
	for _, s := range f.sums {
		listed[s.name] = true
		folders[path.Dir(s.name)] = true
	}
	err = fs.WalkDir(f.at, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && folders[name]:
		case d.IsDir():
			flaws = append(flaws, Flaw{name, "is a folder that is not in " + SumsFile})
			return fs.SkipDir
		case !d.Type().IsRegular():
			flaws = append(flaws, Flaw{name, "is a link or something else that is no plain file"})
			there[name] = false
		case !listed[name]:
			flaws = append(flaws, Flaw{name, "is not in " + SumsFile + ": somebody added it"})
		default:
			there[name] = true
		}
		return nil
	})
	return there, flaws, err
}

// sumNow is the checksum of a file as it is.
func (f *Found) sumNow(name string) (string, error) {
	file, err := f.at.Open(name)
	if err != nil {
		return "", err
	}
	defer file.Close()
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// readMark reads pack.json and holds it against what is there.
func (f *Found) readMark(there map[string]bool) (flaws []Flaw) {
	for _, name := range always {
		if name != SumsFile && !slices.ContainsFunc(f.sums, func(s sum) bool { return s.name == name }) {
			flaws = append(flaws, Flaw{name, "is not in " + SumsFile + ", and every pack has it"})
		}
	}
	if !there[MarkFile] {
		return flaws
	}
	text, err := readSome(f.at, MarkFile)
	if err == nil {
		f.Manifest, err = readManifest(text)
	}
	if err != nil {
		return append(flaws, Flaw{MarkFile, err.Error()})
	}
	for _, name := range f.Manifest.Files {
		if name != SumsFile && !slices.ContainsFunc(f.sums, func(s sum) bool { return s.name == name }) {
			flaws = append(flaws, Flaw{name, "is named in " + MarkFile + " and not in " + SumsFile})
		}
	}
	for _, s := range f.sums {
		if !slices.Contains(f.Manifest.Files, s.name) {
			flaws = append(flaws, Flaw{s.name, "is not named in " + MarkFile})
		}
	}
	return flaws
}

// readSome reads a plain file that should not be large.
func readSome(at fs.FS, name string) ([]byte, error) {
	if info, err := fs.Lstat(at, name); err != nil {
		return nil, err
	} else if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no plain file", name)
	}
	file, err := at.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	b, err := io.ReadAll(io.LimitReader(file, textMost+1))
	if err == nil && len(b) > textMost {
		err = fmt.Errorf("%s is far too long", name)
	}
	return b, err
}

// SealedFor is the checksum of all but the log, for which the log should be sealed.
func (f Found) SealedFor() string { return pagesOf(f.sums) }

// Log opens the log in a pack.
func (f Found) Log() (io.ReadCloser, error) { return f.at.Open(LogFile) }

// Photo gives a picture out of the pack; see [Source].
func (f Found) Photo(sha256 string) ([]byte, bool) {
	for _, s := range f.sums {
		if m := photoName.FindStringSubmatch(s.name); m != nil && m[1] == sha256 {
			content, err := fs.ReadFile(f.at, s.name)
			return content, err == nil && sumOf(content) == sha256
		}
	}
	return nil, false
}

// Moment is the moment that the pack says it is of.
func (f Found) Moment() (events.Instant, error) {
	at, err := time.Parse(time.RFC3339, f.Manifest.Moment)
	if err != nil {
		return 0, fmt.Errorf("%s names no moment: %w", MarkFile, err)
	}
	return events.InstantOf(at), nil
}

// Against holds the pack against the one that follows from its log. Where another
// version made it, its pages would read otherwise, and they are not compared; with
// other tools, those that are compressed are not.
func (f Found) Against(made Pack) (flaws []Flaw, compared Compared) {
	compared = f.comparable(made.Manifest)
	flaws = f.facts(made.Manifest)
	if compared == NoPage {
		return flaws, compared
	}
	sums := map[string]string{}
	for _, s := range f.sums {
		sums[s.name] = s.hex
	}
	for _, x := range made.Files {
		skip := x.Name == SumsFile || x.Name == LogFile ||
			compared == PlainPages && (x.Name == PDFFile || x.Name == COBieFile || x.Name == MarkFile)
		switch is, there := sums[x.Name]; {
		case skip:
		case !there:
			flaws = append(flaws, Flaw{x.Name, "follows from the log and is not there"})
		case is != sumOf(x.Content):
			flaws = append(flaws, Flaw{x.Name, "does not follow from the log in the pack: somebody changed it"})
		}
		delete(sums, x.Name)
	}
	for _, s := range f.sums {
		if _, left := sums[s.name]; left {
			flaws = append(flaws, Flaw{s.name, "does not follow from the log in the pack"})
		}
	}
	return flaws, compared
}

// Compared says how much of a pack was made again and compared.
type Compared string

// How much was compared.
const (
	AllPages   Compared = "all"
	PlainPages Compared = "plain" // all but those that other tools compressed
	NoPage     Compared = "none"  // another version made it
)

func (f Found) comparable(made Manifest) Compared {
	switch m := f.Manifest; {
	case m.Version != made.Version:
		return NoPage
	case m.Tools != made.Tools:
		return PlainPages
	}
	return AllPages
}

// facts holds what pack.json says against what the log says, whatever version
// wrote it.
func (f Found) facts(made Manifest) (flaws []Flaw) {
	is, should := f.Manifest, made
	is.Files, is.Version, is.Tools = nil, "", ""
	should.Files, should.Version, should.Tools = nil, "", ""
	for _, x := range []struct {
		name       string
		is, should Manifest
	}{
		{"site", Manifest{Site: is.Site}, Manifest{Site: should.Site}},
		{"practice", Manifest{Practice: is.Practice}, Manifest{Practice: should.Practice}},
		{"heads", Manifest{Heads: is.Heads}, Manifest{Heads: should.Heads}},
		{"entries", Manifest{Entries: is.Entries}, Manifest{Entries: should.Entries}},
		{"known", Manifest{Known: is.Known}, Manifest{Known: should.Known}},
	} {
		if string(x.is.bytes()) != string(x.should.bytes()) {
			flaws = append(flaws, Flaw{MarkFile, "says of its " + x.name + " what the log in the pack does not"})
		}
	}
	return flaws
}

// IsPack says whether a folder holds a pack and nothing besides, whatever state its
// files are in: whether it may make room for another.
func IsPack(at fs.FS) bool {
	text, err := readSome(at, SumsFile)
	if err != nil {
		return false
	}
	sums, _ := readSums(text)
	found := Found{at: at, sums: sums}
	_, flaws, err := found.walk()
	return err == nil && len(flaws) == 0 && slices.ContainsFunc(sums, func(s sum) bool { return s.name == MarkFile })
}

// LooksLikePack says whether a folder has a pack's own files, whatever else lies there.
func LooksLikePack(at fs.FS) bool {
	for _, name := range []string{SumsFile, MarkFile, LogFile} {
		if info, err := fs.Lstat(at, name); err != nil || !info.Mode().IsRegular() {
			return false
		}
	}
	return true
}
