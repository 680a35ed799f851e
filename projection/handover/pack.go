package handover

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// A pack is a folder of plain files that needs none of our tools:
//
//	READ-ME-FIRST.txt    what each file is, for whom, and how to check them
//	report.pdf           the report, to print and file
//	report.html          the same, for a browser, with nothing fetched from elsewhere
//	cobie.xlsx           for the owner's maintenance system
//	csv/*.csv            the as-built record as tables
//	photos/<sha256>.<ext>  the pictures that its maker held
//	log.pairwalk         the log that everything above follows from, as a sealed bundle
//	pack.json            what the pack is of, for programs
//	SHA256SUMS           the SHA-256 of every file but itself
//
// A pack hangs on the entries in view, the moment, the pictures held and the
// version of the rendering, and on nothing else: made again of these it is the
// same, byte for byte. Only log.pairwalk differs between two makers, by the
// seal of each, and SHA256SUMS with it. A pack is checked in three ways. [Check]
// looks at the sums, which finds damage. [Found.SealedFor] is a checksum of all
// but the log; the maker's seal on the log names it, so whoever changes a page and
// its sum needs a seal of their own. [Found.Against] holds the pack against the
// one that follows from its log, made again: then nobody's word is needed. Whoever
// changes the log itself is caught by the signatures in it.
//
// SHA256SUMS has the form that sha256sum writes and its option -c reads: a line
// for each file, sorted by name, of 64 lower-case hex digits, two spaces, the
// name and a line feed. It is read in that form alone.
type Pack struct {
	Manifest
	Files  []File   // in the order of the list above, SHA256SUMS last
	Absent []string // SHA-256 of pictures that the log speaks of and nobody gave
}

// The names of a pack's files.
const (
	ReadMeFile = "READ-ME-FIRST.txt"
	PDFFile    = "report.pdf"
	HTMLFile   = "report.html"
	COBieFile  = "cobie.xlsx"
	CSVFolder  = "csv"
	PhotoDir   = "photos"
	LogFile    = "log.pairwalk"
	MarkFile   = "pack.json"
	SumsFile   = "SHA256SUMS"
)

// always are the files that every pack has.
var always = []string{ReadMeFile, PDFFile, HTMLFile, COBieFile, LogFile, MarkFile, SumsFile}

var (
	tableName = regexp.MustCompile(`^csv/[a-z0-9][a-z0-9_-]*\.csv$`)
	photoName = regexp.MustCompile(`^photos/([0-9a-f]{64})\.([a-z0-9]{1,8})$`)
)

// fits says whether a pack may have a file of that name. No such name leads out of
// the pack, is hidden, or means another file on another system.
func fits(name string) bool {
	return slices.Contains(always, name) || tableName.MatchString(name) || photoName.MatchString(name)
}

// Bind makes a pack of its pages: the report, the sheets and the tables. Tools names
// what compressed them: where it differs, pages that are compressed may differ. Seal
// gives the log they follow from, sealed for a checksum of all else in the pack.
func Bind(s Source, pages []File, tools string, seal func(pages string) ([]byte, error)) (Pack, error) {
	photos, absent := photosOf(s)
	files := append(slices.Clone(pages), photos...)
	p := Pack{Manifest: manifestOf(s, tools), Absent: absent}
	p.Manifest.Files = []string{ReadMeFile}
	for _, f := range files {
		p.Manifest.Files = append(p.Manifest.Files, f.Name)
	}
	p.Manifest.Files = append(p.Manifest.Files, LogFile, MarkFile, SumsFile)
	mark := File{MarkFile, p.Manifest.bytes()}
	p.Files = append([]File{{ReadMeFile, readMe(p.Manifest)}}, files...)
	log, err := seal(pagesOf(sumsOf(append(slices.Clone(p.Files), mark))))
	if err != nil {
		return Pack{}, fmt.Errorf("seal log: %w", err)
	}
	p.Files = append(p.Files, File{LogFile, log}, mark)
	p.Files = append(p.Files, File{SumsFile, sumText(sumsOf(p.Files))})
	return p, p.check()
}

// check looks for a file that no pack may have, one twice, or one that is missing.
func (p Pack) check() error {
	seen := map[string]bool{}
	for _, f := range p.Files {
		if !fits(f.Name) || seen[f.Name] {
			return fmt.Errorf("bind pack: %q is no file of a pack, or is there twice", f.Name)
		}
		seen[f.Name] = true
	}
	for _, name := range always {
		if !seen[name] {
			return errors.New("bind pack: no " + name)
		}
	}
	return nil
}

// photosOf gives the pictures that are held, and names those that are not. What is
// held under a name and is not what that name says is not held.
func photosOf(s Source) (held []File, absent []string) {
	type picture struct{ sum, kind string }
	var all []picture
	for _, p := range s.Site.Photos {
		all = append(all, picture{p.Picture.SHA256, p.Picture.Type})
	}
	slices.SortFunc(all, func(a, b picture) int { return cmp.Or(strings.Compare(a.sum, b.sum), strings.Compare(a.kind, b.kind)) })
	all = slices.CompactFunc(all, func(a, b picture) bool { return a.sum == b.sum })
	for _, x := range all {
		var content []byte
		ok := false
		if s.Photo != nil {
			content, ok = s.Photo(x.sum)
		}
		if !ok || sumOf(content) != x.sum {
			absent = append(absent, x.sum)
			continue
		}
		held = append(held, File{PhotoDir + "/" + x.sum + "." + extension(x.kind), content})
	}
	return held, absent
}

// extension is what a file of a media type is usually called by.
func extension(kind string) string {
	switch kind {
	case "image/jpeg":
		return "jpg"
	case "image/png":
		return "png"
	case "image/gif":
		return "gif"
	case "image/webp":
		return "webp"
	case "image/heic":
		return "heic"
	}
	return "bin"
}

func sumOf(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}
