package cobie_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover/cobie"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
	"pairwalk/testdata/invent"
)

// What is read back is what the register says, cell by cell.
func TestReadBack(t *testing.T) {
	for name, h := range map[string]*projection.History{"works": works(), "bare": handed.Bare(), "hostile": hostile(), "nothing": {}} {
		t.Run(name, func(t *testing.T) {
			f := open(t, workbook(t, h))
			names := []string{"Instruction"}
			for _, s := range book(h).Sheets {
				names = append(names, s.Name)
				rows, err := f.GetRows(s.Name, excelize.Options{RawCellValue: true})
				require.NoError(t, err)
				require.Len(t, rows, len(s.Rows)+1, s.Name)
				for i, c := range s.Columns {
					require.Equal(t, c.Name, rows[0][i])
				}
				for y, row := range s.Rows {
					for i, text := range row {
						require.Equal(t, asXML(text), rows[y+1][i], "%s.%s", s.Name, s.Columns[i].Name)
					}
				}
			}
			require.Equal(t, names, f.GetSheetList())
		})
	}
}

// asXML is a text as XML can hold it.
func asXML(s string) string {
	return strings.ReplaceAll(s, "\ufffe", string(utf8.RuneError))
}

// No cell is a formula, and none that people wrote is a number, a date or a truth.
func TestWhatPeopleWroteIsText(t *testing.T) {
	h := hostile()
	f := open(t, workbook(t, h))
	n := 0
	for _, s := range book(h).Sheets {
		for y := range len(s.Rows) + 1 {
			for x, c := range s.Columns {
				at, err := excelize.CoordinatesToCellName(x+1, y+1)
				require.NoError(t, err)
				formula, err := f.GetCellFormula(s.Name, at)
				require.NoError(t, err)
				require.Empty(t, formula, "%s!%s", s.Name, at)
				kind, err := f.GetCellType(s.Name, at)
				require.NoError(t, err)
				if y == 0 || !c.Number || s.Rows[y-1][x] == "n/a" {
					require.Equal(t, excelize.CellTypeSharedString, kind, "%s!%s", s.Name, at)
					n++
				}
			}
		}
	}
	require.Greater(t, n, 100)
}

// A remark that no cell holds is cut between characters, and says where it is whole.
func TestATextLongerThanACell(t *testing.T) {
	s := tale.New()
	s.Lead.Say("09:00", events.RoomListed{Room: "hall", Note: strings.Repeat("💡", 4000)})
	rows, err := open(t, workbook(t, handed.History(s))).GetRows("Space")
	require.NoError(t, err)
	require.True(t, rows[1][5] == strings.Repeat("💡", 4000), "the longest remark there can be is whole")
	for _, letter := range []string{"💡", "x", "_x0041_"} {
		long := cobie.Clean(strings.Repeat(letter, 40000))
		n := len(utf16.Encode([]rune(long)))
		require.True(t, n <= 32767, "%d", n)
		require.True(t, utf8.ValidString(long))
		require.True(t, strings.HasSuffix(long, " … [cut: a cell holds no more]"))
	}
	require.True(t, cobie.Clean(strings.Repeat("x", 32767)) == strings.Repeat("x", 32767), "just fits")
}

// The same site gives the same bytes: again, and in another process.
func TestSameBytes(t *testing.T) {
	sum := func() string { return fmt.Sprintf("%x", sha256.Sum256(workbook(t, handed.Works()))) }
	if os.Getenv("PAIRWALK_TEST_SUM") != "" {
		fmt.Println("sum", sum())
		return
	}
	one := sum()
	require.Equal(t, one, sum())
	other := exec.Command(os.Args[0], "-test.run=^TestSameBytes$")
	other.Env = append(os.Environ(), "PAIRWALK_TEST_SUM=1", "TZ=Asia/Tokyo", "LANG=de_AT.UTF-8")
	out, err := other.Output()
	require.NoError(t, err)
	require.Contains(t, string(out), "sum "+one)
}

// No clock is read: entries of the archive have no times, and the properties those
// of the pack.
func TestNoTimesOfItsOwn(t *testing.T) {
	file := worksBook()
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	for _, f := range z.File {
		require.True(t, f.Modified.IsZero() || f.Modified.Year() < 1981, "%s: %v", f.Name, f.Modified)
		if f.Name != "docProps/core.xml" {
			continue
		}
		r, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		at := works().At(projection.Moment{}).Moment.When.Value.Time().Format("2006-01-02T15:04:05Z")
		require.Equal(t, 2, strings.Count(string(text), at), string(text))
	}
}

// The first sheet says what this is, and on a made-up site that it is made up.
func TestInstruction(t *testing.T) {
	rows, err := open(t, worksBook()).GetRows("Instruction")
	require.NoError(t, err)
	var text []string
	for _, row := range rows {
		text = append(text, strings.Join(row, ": "))
	}
	require.Contains(t, text, "Title: Lime Works")
	require.Contains(t, text, "Practice: This is a practice site. Everything in it is made up.")
	require.Contains(t, text, "Law: Local codes and licensed practice govern. This log is a record, not a permit to work.")
	require.Contains(t, text, "As of: 2026-03-02T19:10:00")
}

// It is laid out to be read: the heading stays and filters, and columns are as wide
// as what is in them.
func TestLayout(t *testing.T) {
	f := open(t, worksBook())
	panes, err := f.GetPanes("Component")
	require.NoError(t, err)
	require.True(t, panes.Freeze)
	require.Equal(t, 1, panes.YSplit)
	filters, titles := 0, 0
	for _, n := range f.GetDefinedName() {
		if strings.Contains(n.Name, "FilterDatabase") {
			filters++
		}
		if strings.Contains(n.Name, "Print_Titles") {
			titles++
		}
	}
	require.Equal(t, []int{9, 9}, []int{filters, titles}, "on every sheet of COBie's")
	narrow, err := f.GetColWidth("Component", "A")
	require.NoError(t, err)
	wide, err := f.GetColWidth("Component", "D")
	require.NoError(t, err)
	require.Less(t, narrow, wide)
	require.LessOrEqual(t, wide, 60.0)
}

// BenchmarkWrite is the workbook of a site of 2,000 devices.
func BenchmarkWrite(b *testing.B) {
	s := tale.New()
	at := tale.T("08:30")
	for _, p := range invent.Site(invent.Size{Devices: 2000}) {
		s.Lead.SayAt(at, p)
	}
	src := source(handed.History(s))
	n := 0
	for b.Loop() {
		var out bytes.Buffer
		_, err := cobie.Write(&out, src)
		require.NoError(b, err)
		n = out.Len()
	}
	b.ReportMetric(float64(n)/1024, "KiB")
}
