package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/tale"
)

// smallPack is a pack of a made-up site with pages that say no more than a word.
func smallPack(t *testing.T, word string) handover.Pack {
	src := handover.NewSource(tale.New().History(), projection.Moment{}, nil)
	pages := []handover.File{{Name: "report.pdf"}, {Name: "report.html"}, {Name: "cobie.xlsx"}, {Name: "csv/devices.csv", Content: []byte(word)}}
	p, err := handover.Bind(src, pages, "", func(string) ([]byte, error) { return []byte("log"), nil })
	require.NoError(t, err)
	return p
}

func put(t *testing.T, s shelf, p handover.Pack) {
	a := &app{surroundings: surroundings{stderr: &bytes.Buffer{}, env: func(string) string { return "" }}, ctx: t.Context(), cli: &cli{}}
	require.NoError(t, a.fill(s, p))
}

func names(t *testing.T, dir string) (out []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func TestAFolderIsThereWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	place := filepath.Join(dir, "pack")
	s, err := disk{}.shelve(place, false)
	require.NoError(t, err)
	put(t, s, smallPack(t, "first"))
	require.NoDirExists(t, place, "not until it is whole")
	require.NoError(t, s.keep())
	require.Equal(t, []string{"pack"}, names(t, dir))

	s, err = disk{}.shelve(place, true)
	require.NoError(t, err)
	put(t, s, smallPack(t, "second"))
	s.drop()
	require.Equal(t, []string{"pack"}, names(t, dir), "given up, it leaves nothing")
	require.Equal(t, "first", read(t, place, "csv/devices.csv"), "and the older one stays")

	s, err = disk{}.shelve(place, true)
	require.NoError(t, err)
	put(t, s, smallPack(t, "third"))
	require.NoError(t, s.keep())
	require.Equal(t, []string{"pack"}, names(t, dir))
	require.Equal(t, "third", read(t, place, "csv/devices.csv"))
}

func read(t *testing.T, dir, name string) string {
	b, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	require.NoError(t, err)
	return string(b)
}

// Somebody puts a file of their own there while the pack is made.
func TestAFolderThatFillsMeanwhileIsLeftAlone(t *testing.T) {
	dir := t.TempDir()
	place := filepath.Join(dir, "pack")
	require.NoError(t, os.Mkdir(place, 0o755))
	s, err := disk{}.shelve(place, true)
	require.NoError(t, err)
	put(t, s, smallPack(t, "word"))
	require.NoError(t, os.WriteFile(filepath.Join(place, "thesis.doc"), nil, 0o644))
	require.ErrorContains(t, s.keep(), "holds more than a handover pack")
	require.Equal(t, []string{"thesis.doc"}, names(t, place))
	require.Equal(t, []string{"pack"}, names(t, dir))
}

func TestAFolderTakesNoFileOutsideIt(t *testing.T) {
	dir := t.TempDir()
	s, err := disk{}.shelve(filepath.Join(dir, "pack"), false)
	require.NoError(t, err)
	defer s.drop()
	for _, name := range []string{"../x", "/x", "csv/../../x", "", "."} {
		require.Error(t, s.begin(name), "%q", name)
	}
	_, err = s.Write([]byte("x"))
	require.ErrorContains(t, err, "no file was begun")
	require.NoError(t, s.begin("x"))
	require.Error(t, s.begin("x"), "twice")
	require.Len(t, names(t, dir), 1)
}

func TestALinkIsNoFolder(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, "there"), 0o755))
	if err := os.Symlink("there", filepath.Join(dir, "link")); err != nil {
		t.Skip("no links here: ", err)
	}
	_, err := disk{}.shelve(filepath.Join(dir, "link"), true)
	require.ErrorContains(t, err, "is no folder")

	s, err := disk{}.shelve(filepath.Join(dir, "pack"), false)
	require.NoError(t, err)
	put(t, s, smallPack(t, "word"))
	require.NoError(t, s.keep())
	_, flaws, err := handover.Check(os.DirFS(filepath.Join(dir, "pack")))
	require.NoError(t, err)
	require.Empty(t, flaws)
	table := filepath.Join(dir, "pack", "csv", "devices.csv")
	require.NoError(t, errors.Join(os.Rename(table, filepath.Join(dir, "moved")), os.Symlink("../../moved", table)))
	_, flaws, err = handover.Check(os.DirFS(filepath.Join(dir, "pack")))
	require.NoError(t, err)
	require.Len(t, flaws, 1, "also where the link leads to the very file")
	require.False(t, handover.IsPack(os.DirFS(filepath.Join(dir, "pack"))), "nor does it make room for another")
}

// A serving process asks its caller for a folder, and can't do more in it than a
// pack needs.
func TestACallerFillsAFolder(t *testing.T) {
	dir := t.TempDir()
	place := filepath.Join(dir, "pack")
	at := newAttendant(disk{}, nil)
	ask1 := func(q ask) byte { return at.answer(q).kind }
	require.EqualValues(t, frameDone, ask1(ask{Op: "shelve", File: 1, Name: []byte(place)}))
	require.EqualValues(t, frameFailed, ask1(ask{Op: "begin", File: 1, Name: []byte("../x")}))
	require.EqualValues(t, frameFailed, ask1(ask{Op: "begin", File: 2, Name: []byte("x")}))
	require.EqualValues(t, frameDone, ask1(ask{Op: "begin", File: 1, Name: []byte("csv/x.csv")}))
	require.EqualValues(t, frameDone, ask1(ask{Op: "write", File: 1, Data: []byte("x")}))
	require.EqualValues(t, frameDone, ask1(ask{Op: "create", File: 3, Name: []byte(filepath.Join(dir, "file"))}))
	require.EqualValues(t, frameFailed, ask1(ask{Op: "begin", File: 3, Name: []byte("x")}), "a file is no folder")
	at.leave()
	require.Empty(t, names(t, dir), "who is gone leaves nothing")
}

// verify takes no site and makes no folder: it is what an owner runs.
func TestAPackIsVerifiedWithoutAHome(t *testing.T) {
	p := newPlace(t)
	pack := filepath.Join(t.TempDir(), "pack")
	code, _, errs := p.call(t.Context(), nil, "handover", pack)
	require.Equal(t, exitDone, code, errs)
	var out, complaint bytes.Buffer
	s := process()
	s.stdout, s.stderr = &out, &complaint
	home := filepath.Join(t.TempDir(), "none")
	s.env = func(string) string { return "" }
	require.Equal(t, exitDone, run(t.Context(), []string{"--home", home, "verify", pack}, s), complaint.String())
	require.Contains(t, out.String(), "made again, it is the same")
	require.NoDirExists(t, home)
}
