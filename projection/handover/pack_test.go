package handover_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/tale"
)

// pages stand in for the rendered ones: a pack asks of them no more than a name.
var pages = []handover.File{
	{Name: "report.pdf", Content: []byte("%PDF-1.7 a report\n")}, {Name: "report.html", Content: []byte("<p>a report")},
	{Name: "cobie.xlsx", Content: []byte("PK sheets")}, {Name: "csv/devices.csv", Content: []byte("tag\n1-1\n")},
	{Name: "csv/faults.csv", Content: bytes.Repeat([]byte("a row of many\r\n"), 1000)},
}

var (
	leak  = []byte("GIF89a a leak")
	crack = []byte("GIF89a a crack")
)

func hashOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// photographed is a site with two pictures, of which one is held here.
func photographed() *tale.Story {
	s := tale.New()
	bo := s.Join("bo", events.Tech)
	s.Lead.Say("09:00", events.HubListed{Hub: "H1"})
	s.Lead.Say("09:01", events.DeviceListed{Device: "1-1", Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains})
	for _, x := range [][]byte{leak, crack} {
		bo.Say("09:05", events.PhotoAdded{Of: events.Device("1-1"), Picture: events.Picture{SHA256: hashOf(x), Bytes: int64(len(x)), Type: "image/gif"}})
	}
	return s
}

func sourceOf(h *projection.History) handover.Source {
	return handover.NewSource(h, projection.Moment{}, func(sum string) ([]byte, bool) {
		return leak, sum == hashOf(leak) || sum == hashOf(crack) // the other was swapped
	})
}

func bound(t *testing.T, s handover.Source) handover.Pack {
	t.Helper()
	p, err := handover.Bind(s, pages, "tools 1", func(of string) ([]byte, error) { return []byte("a log sealed for " + of), nil })
	require.NoError(t, err)
	return p
}

func lying(p handover.Pack) fstest.MapFS {
	at := fstest.MapFS{}
	for _, f := range p.Files {
		at[f.Name] = &fstest.MapFile{Data: bytes.Clone(f.Content), Mode: 0o644}
	}
	return at
}

func flawsOf(t *testing.T, at fs.FS) []string {
	t.Helper()
	_, flaws, err := handover.Check(at)
	require.NoError(t, err)
	var out []string
	for _, f := range flaws {
		out = append(out, f.String())
	}
	return out
}

func TestAPackIsWhatItsSumsSay(t *testing.T) {
	p := bound(t, sourceOf(photographed().History()))
	require.Equal(t, []string{hashOf(crack)}, p.Absent, "what is held under its name is another picture")
	at := lying(p)
	require.Empty(t, flawsOf(t, at))
	require.Contains(t, at, "photos/"+hashOf(leak)+".gif")

	var names []string
	for line := range strings.Lines(string(at["SHA256SUMS"].Data)) {
		require.Regexp(t, regexp.MustCompile(`^[0-9a-f]{64}  [!-~]+\n$`), line)
		sum, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		require.Equal(t, hashOf(at[name].Data), sum, name)
		names = append(names, name)
	}
	require.Len(t, names, len(p.Files)-1)
	require.True(t, slices.IsSorted(names))
	require.Equal(t, p.Manifest.Files, fileNames(p))
}

func fileNames(p handover.Pack) (out []string) {
	for _, f := range p.Files {
		out = append(out, f.Name)
	}
	return out
}

func TestThePageToReadFirst(t *testing.T) {
	p := bound(t, sourceOf(photographed().History()))
	text := string(p.Files[0].Content)
	require.Equal(t, handover.ReadMeFile, p.Files[0].Name)
	for _, want := range []string{
		"HANDOVER PACK: Lime Works ====", "PRACTICE: a made-up job.", "as they stood at 2026-03-02 09:05:00 +00:00",
		"sha256sum -c SHA256SUMS", "shasum -a 256 -c SHA256SUMS", "pairwalk verify FOLDER",
		"from bo, the last at 2026-03-02 09:05:00 +00:00", "absence-of-voltage test", "A hold is not a lockout.",
		"Local codes and licensed practice govern. This log is a record, not a permit to work.",
	} {
		require.Contains(t, strings.Join(strings.Fields(text), " "), want)
	}
	for _, name := range fileNames(p)[1:] {
		if dir := path.Dir(name); dir != "." {
			name = dir + "/"
		}
		require.Contains(t, text, name, "it says what each file is")
	}
	require.NotContains(t, text, "\r")
	for line := range strings.Lines(text) {
		require.LessOrEqual(t, len([]rune(line)), 90, line)
	}
	pageless := bound(t, sourceOf(tale.New().History()))
	require.NotContains(t, string(pageless.Files[0].Content), "photos/", "nor of one that is not there")
}

// Every byte of a pack counts, also those of the list of sums.
func TestNoByteOfAPackChangesUnseen(t *testing.T) {
	p := bound(t, sourceOf(photographed().History()))
	for _, f := range p.Files {
		stride := 1
		if len(f.Content) > 8000 {
			stride = 37
		}
		for i := 0; i < len(f.Content); i += stride {
			at := lying(p)
			at[f.Name].Data[i] ^= 1 << (i % 8)
			require.NotEmpty(t, flawsOf(t, at), "%s, byte %d", f.Name, i)
		}
		for name, change := range map[string]func([]byte) []byte{
			"cut by one": func(b []byte) []byte { return b[:len(b)-1] },
			"cut":        func(b []byte) []byte { return b[:len(b)/2] },
			"emptied":    func([]byte) []byte { return nil },
			"longer":     func(b []byte) []byte { return append(b, '\n') },
		} {
			at := lying(p)
			at[f.Name].Data = change(at[f.Name].Data)
			require.NotEmpty(t, flawsOf(t, at), "%s %s", f.Name, name)
		}
	}
}

func TestEveryFileOfAPackIsThereAndNoOther(t *testing.T) {
	p := bound(t, sourceOf(photographed().History()))
	for _, name := range fileNames(p)[:len(p.Files)-1] {
		at := lying(p)
		at[path.Join(path.Dir(name), "moved.csv")] = at[name]
		delete(at, name)
		require.Contains(t, flawsOf(t, at), name+": is missing")
		require.Len(t, flawsOf(t, at), 2, "and the other was added")
		at = lying(p)
		at[name].Mode = fs.ModeSymlink
		require.Equal(t, []string{name + ": is a link or something else that is no plain file"}, flawsOf(t, at))
	}
	for name, file := range map[string]*fstest.MapFile{
		"csv/extra.csv": {Data: []byte("x")}, ".hidden": {}, "csv/.hidden": {}, "more/deep/x": {}, "empty": {Mode: fs.ModeDir},
		"photos/" + hashOf(crack) + ".gif": {Data: crack}, "pipe": {Mode: fs.ModeNamedPipe},
	} {
		at := lying(p)
		at[name] = file
		require.Len(t, flawsOf(t, at), 1, name)
	}
}

// summed writes the list of sums anew, as somebody would who changed a file.
func summed(at fstest.MapFS) {
	var lines []string
	for name, f := range at {
		if name != handover.SumsFile {
			lines = append(lines, fmt.Sprintf("%s  %s\n", hashOf(f.Data), name))
		}
	}
	slices.SortFunc(lines, func(a, b string) int { return strings.Compare(a[64:], b[64:]) })
	at[handover.SumsFile] = &fstest.MapFile{Data: []byte(strings.Join(lines, ""))}
}

func TestSumsAreReadInOneFormAlone(t *testing.T) {
	p := bound(t, sourceOf(photographed().History()))
	lines := slices.Collect(strings.Lines(string(lying(p)[handover.SumsFile].Data)))
	for name, text := range map[string]string{
		"upper case":            strings.ToUpper(lines[0][:64]) + lines[0][64:] + strings.Join(lines[1:], ""),
		"line ends of Windows":  strings.ReplaceAll(strings.Join(lines, ""), "\n", "\r\n"),
		"the mark of binaries":  strings.ReplaceAll(strings.Join(lines, ""), "  ", " *"),
		"out of order":          lines[1] + lines[0] + strings.Join(lines[2:], ""),
		"a line twice":          lines[0] + strings.Join(lines, ""),
		"an empty line":         strings.Join(lines, "") + "\n",
		"a byte order mark":     "\ufeff" + strings.Join(lines, ""),
		"a remark":              "# sums\n" + strings.Join(lines, ""),
		"a line less":           strings.Join(lines[1:], ""),
		"nothing":               "",
		"itself too":            strings.Join(lines, "") + strings.Repeat("0", 64) + "  SHA256SUMS\n",
		"a file outside":        strings.Join(lines, "") + strings.Repeat("0", 64) + "  ../x\n",
		"a name for a terminal": strings.Join(lines, "") + strings.Repeat("0", 64) + "  x\x1b[2J\n",
	} {
		t.Run(name, func(t *testing.T) {
			at := lying(p)
			at[handover.SumsFile].Data = []byte(text)
			require.NotEmpty(t, flawsOf(t, at))
		})
	}
	at := lying(p)
	delete(at, handover.SumsFile)
	_, _, err := handover.Check(at)
	require.ErrorIs(t, err, handover.ErrNoPack)

	at = lying(p)
	summed(at)
	require.Equal(t, strings.Join(lines, ""), string(at[handover.SumsFile].Data), "the test's own sums are of that form")
}

func TestPackJSONIsReadInOneFormAlone(t *testing.T) {
	p := bound(t, sourceOf(photographed().History()))
	whole := string(lying(p)[handover.MarkFile].Data)
	for name, text := range map[string]string{
		"one space more":  strings.Replace(whole, `"v": 1`, `"v":  1`, 1),
		"a key more":      strings.Replace(whole, `"v": 1`, `"v": 1, "x": 1`, 1),
		"a later version": strings.Replace(whole, `"v": 1`, `"v": 2`, 1),
		"something else":  strings.Replace(whole, `"pack"`, `"box"`, 1),
		"a file less":     strings.Replace(whole, "  \"cobie.xlsx\",\n", "", 1),
		"a file more":     strings.Replace(whole, `"cobie.xlsx"`, `"cobie.xlsx", "csv/more.csv"`, 1),
		"two documents":   whole + whole,
	} {
		t.Run(name, func(t *testing.T) {
			require.NotEqual(t, whole, text)
			at := lying(p)
			at[handover.MarkFile].Data = []byte(text)
			summed(at)
			require.NotEmpty(t, flawsOf(t, at))
		})
	}
}

// Who changes a page and its sum, and even pack.json, is caught twice: the log is
// sealed for other pages, and it gives another pack when it is made again.
func TestAChangedPageWithItsSum(t *testing.T) {
	s := sourceOf(photographed().History())
	p := bound(t, s)
	for name, change := range map[string]func(fstest.MapFS){
		"csv/devices.csv": func(at fstest.MapFS) { at["csv/devices.csv"].Data = []byte("tag\n1-2\n") },
		"report.pdf":      func(at fstest.MapFS) { at["report.pdf"].Data[0]++ },
		"csv/more.csv": func(at fstest.MapFS) {
			at["csv/more.csv"] = &fstest.MapFile{Data: []byte("x\n")}
			at[handover.MarkFile].Data = bytes.Replace(at[handover.MarkFile].Data, []byte("  \"log.pairwalk\""), []byte("  \"csv/more.csv\",\n  \"log.pairwalk\""), 1)
		},
		"csv/faults.csv": func(at fstest.MapFS) {
			delete(at, "csv/faults.csv")
			at[handover.MarkFile].Data = bytes.Replace(at[handover.MarkFile].Data, []byte("  \"csv/faults.csv\",\n"), nil, 1)
		},
		handover.ReadMeFile: func(at fstest.MapFS) { at[handover.ReadMeFile].Data[0]++ },
	} {
		t.Run(name, func(t *testing.T) {
			at := lying(p)
			change(at)
			summed(at)
			found, flaws, err := handover.Check(at)
			require.NoError(t, err)
			require.Empty(t, flaws, "the sums fit")
			require.NotEqual(t, sealedFor(t, lying(p)), found.SealedFor())
			flaws, compared := found.Against(bound(t, s))
			require.Equal(t, handover.AllPages, compared)
			require.True(t, slices.ContainsFunc(flaws, func(f handover.Flaw) bool { return f.File == name }), "%v", flaws)
		})
	}
	found, _, err := handover.Check(lying(p))
	require.NoError(t, err)
	flaws, _ := found.Against(bound(t, s))
	require.Empty(t, flaws, "nothing changed")
}

func sealedFor(t *testing.T, at fs.FS) string {
	found, _, err := handover.Check(at)
	require.NoError(t, err)
	log, err := fs.ReadFile(at, handover.LogFile)
	require.NoError(t, err)
	require.Equal(t, "a log sealed for "+found.SealedFor(), string(log))
	return found.SealedFor()
}

func TestPagesOfAnotherVersionAreNotCompared(t *testing.T) {
	s := sourceOf(photographed().History())
	found, _, err := handover.Check(lying(bound(t, s)))
	require.NoError(t, err)

	later := s
	later.Version = "another"
	p, err := handover.Bind(later, []handover.File{{Name: "report.pdf"}, {Name: "report.html"}, {Name: "cobie.xlsx"}}, "tools 1", func(string) ([]byte, error) { return nil, nil })
	require.NoError(t, err)
	flaws, compared := found.Against(p)
	require.Equal(t, handover.NoPage, compared)
	require.Empty(t, flaws)

	tools := slices.Clone(pages)
	tools[0].Content = []byte("%PDF packed otherwise")
	p, err = handover.Bind(s, tools, "tools 2", func(string) ([]byte, error) { return nil, nil })
	require.NoError(t, err)
	flaws, compared = found.Against(p)
	require.Equal(t, handover.PlainPages, compared)
	require.Empty(t, flaws, "a PDF may be packed otherwise")
	tools[1].Content = []byte("<p>another report")
	p, err = handover.Bind(s, tools, "tools 2", func(string) ([]byte, error) { return nil, nil })
	require.NoError(t, err)
	flaws, _ = found.Against(p)
	require.Len(t, flaws, 1, "text may not")

	more := photographed()
	more.Lead.Say("10:00", events.NoteAdded{Of: events.Site(), Text: "later"})
	later = sourceOf(more.History())
	later.Version = "another"
	p, err = handover.Bind(later, pages, "tools 1", func(string) ([]byte, error) { return nil, nil })
	require.NoError(t, err)
	flaws, _ = found.Against(p)
	require.NotEmpty(t, flaws, "but the log must be the one that pack.json names, whatever the version")
}

func TestAPictureIsWhatItIsCalled(t *testing.T) {
	at := lying(bound(t, sourceOf(photographed().History())))
	name := "photos/" + hashOf(leak) + ".gif"
	at[name].Data = crack
	summed(at)
	require.Equal(t, []string{name + ": is not the picture it is called"}, flawsOf(t, at))
}

// Nothing that a site, a page or a log is called leads out of a pack.
func TestHostileNamesStayInThePack(t *testing.T) {
	for _, name := range []string{"../x", "/etc/x", "csv/../../x.csv", "csv/x", "csv/.csv", "csv/a/b.csv", `csv\x.csv`, "CSV/x.csv", "csv/x\n.csv", "photos/x.gif", "", "SHA256SUMS", "log.pairwalk", "con"} {
		_, err := handover.Bind(sourceOf(tale.New().History()), append(slices.Clone(pages), handover.File{Name: name}), "", func(string) ([]byte, error) { return nil, nil })
		require.Error(t, err, "%q", name)
	}
	s := tale.New()
	s.Lead.Say("09:00", events.PhotoAdded{Of: events.Site(), Picture: events.Picture{SHA256: hashOf(leak), Bytes: 1, Type: "../../etc/passwd"}})
	require.Contains(t, fileNames(bound(t, sourceOf(s.History()))), "photos/"+hashOf(leak)+".bin")
}

func TestWhatMayMakeRoomForAnotherPack(t *testing.T) {
	p := bound(t, sourceOf(photographed().History()))
	require.True(t, handover.IsPack(lying(p)))
	damaged := lying(p)
	damaged["csv/devices.csv"].Data = nil
	require.True(t, handover.IsPack(damaged), "a damaged one is one still")
	more := lying(p)
	more["csv/my notes.txt"] = &fstest.MapFile{}
	require.False(t, handover.IsPack(more), "somebody's own file is in it")
	require.False(t, handover.IsPack(fstest.MapFS{"SHA256SUMS": {}}))
	require.False(t, handover.IsPack(fstest.MapFS{"thesis.doc": {}}))
}
