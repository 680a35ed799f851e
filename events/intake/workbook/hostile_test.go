package workbook_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
)

// zipOf makes a zip file of parts by name and content.
func zipOf(t *testing.T, parts ...string) []byte {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for i := 0; i < len(parts); i += 2 {
		f, err := w.Create(parts[i])
		require.NoError(t, err)
		_, err = f.Write([]byte(parts[i+1]))
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return out.Bytes()
}

func TestWhatIsNoWorkbookIsRefusedInWords(t *testing.T) {
	fine := newBook(t, []any{"tag", "kind", "hub"}, []any{"2-101", "dimmer", "H1"}).bytes()
	locked, err := newBook(t, []any{"tag"}).WriteToBuffer()
	require.NoError(t, err)
	sealed, err := excelize.Encrypt(locked.Bytes(), &excelize.Options{Password: "kiln"})
	require.NoError(t, err)
	zeros := strings.Repeat("0", 1<<20)
	for _, tt := range []struct {
		name  string
		data  []byte
		is    error
		words string
	}{
		{"an old binary workbook", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on"), workbook.ErrNotWorkbook, "it is an old binary file, such as .xls; save it as .xlsx, or as CSV"},
		{"one behind a password", sealed, workbook.ErrNotWorkbook, "it is behind a password; save it without one"},
		{"text", []byte("tag,kind,hub\n"), workbook.ErrNotWorkbook, "it is no zip file"},
		{"nothing", nil, workbook.ErrNotWorkbook, "it is no zip file"},
		{"another zip file", zipOf(t, "photo.jpg", "…"), workbook.ErrNotWorkbook, "it is a zip file of something else; unpack it first"},
		{"an empty zip file", zipOf(t), workbook.ErrNotWorkbook, "it is a zip file of something else"},
		{"a text document", zipOf(t, "[Content_Types].xml", "<x/>", "word/document.xml", "<x/>"), workbook.ErrNotWorkbook, "it is a text document"},
		{"an OpenDocument sheet", zipOf(t, "mimetype", "application/vnd.oasis.opendocument.spreadsheet"), workbook.ErrNotWorkbook, "such as .ods; save it as .xlsx"},
		{"a binary workbook", zipOf(t, "[Content_Types].xml", "<x/>", "xl/workbook.bin", "…"), workbook.ErrNotWorkbook, "binary workbook (.xlsb)"},
		{"cut off", fine[:len(fine)*3/4], workbook.ErrDamaged, "get the file again"},
		{"cut off at once", fine[:4], workbook.ErrDamaged, "get the file again"},
		{"a flipped byte", flipped(fine), workbook.ErrDamaged, "get the file again"},
		{"a sheet that ends too early", edited(t, fine, sheet1, func(s string) string { return s[:strings.LastIndex(s, "<")+3] }), workbook.ErrDamaged, "a sheet ends too early"},
		{"a sheet that is missing", edited(t, fine, "xl/_rels/workbook.xml.rels", func(s string) string { return strings.ReplaceAll(s, "sheet1", "sheet9") }), workbook.ErrDamaged, "save it again"},
		{"a text that is missing", edited(t, fine, sheet1, func(s string) string { return strings.Replace(s, "<v>0</v>", "<v>999</v>", 1) }), workbook.ErrDamaged, "save it again"},
		{"a cell nowhere", withRows(t, fine, `<row r="3"><c r="3C"><v>1</v></c></row>`), workbook.ErrDamaged, "save it again"},
		{"a row nowhere", withRows(t, fine, `<row r="1048577"><c r="A1048577"><v>1</v></c></row>`), workbook.ErrDamaged, "save it again"},
		{"a formula shared by nobody", withRows(t, fine, `<row r="3"><c r="A3"><f t="shared" si="7"/><v>1</v></c></row>`), workbook.ErrDamaged, "a formula is missing"},
		{"a merged range nowhere", edited(t, fine, sheet1, func(s string) string {
			return strings.Replace(s, "</sheetData>", `</sheetData><mergeCells count="1"><mergeCell ref="A1:nowhere"/></mergeCells>`, 1)
		}), workbook.ErrDamaged, "save it again"},
		{"another encoding", edited(t, fine, sheet1, func(s string) string { return strings.Replace(s, "UTF-8", "UTF-16", 1) }), workbook.ErrNotWorkbook, "is written in UTF-16"},
		{"a file too large", append([]byte("PK\x03\x04"), make([]byte, intake.MaxBytes)...), workbook.ErrTooLarge, "more than 32 MiB"},
		{"too many parts", zipOf(t, manyParts()...), workbook.ErrTooLarge, "it has 10001 parts"},
		{"a bomb of one part", bomb(t, 1, 129), workbook.ErrTooLarge, "unpacks to more than 128 MiB"},
		{"a bomb of many parts", bomb(t, 129, 1), workbook.ErrTooLarge, "unpacks to more than 128 MiB"},
		{"a sheet too large to build", edited(t, fine, sheet1, func(s string) string { return s + strings.Repeat("<!--"+zeros+"-->", 49) }), workbook.ErrTooLarge, "xl/worksheets/sheet1.xml unpacks to more than 48 MiB"},
		{"a size that is a lie", lying(t, fine), workbook.ErrDamaged, "get the file again"},
		{"wide rows of one cell", withRows(t, fine, wideRows(62)), workbook.ErrTooLarge, "more cells, empty or merged ones, than 1000000"},
		{"wide rows of unnamed cells", withRows(t, fine, wide("<c/>", 2_000)), workbook.ErrTooLarge, "more cells"},
		{"merged cells without end", edited(t, fine, sheet1, func(s string) string {
			rows := ""
			for i := range 990 {
				rows += fmt.Sprintf(`<row r="%d"><c r="ALL%d"/></row>`, i+3, i+3)
			}
			return strings.Replace(s, "</sheetData>", rows+"</sheetData><mergeCells>"+strings.Repeat(`<mergeCell ref="A1:B1"/>`, 210)+"</mergeCells>", 1)
		}), workbook.ErrTooLarge, "more cells"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := workbook.Read(tt.data)
			require.ErrorIs(t, err, tt.is)
			require.ErrorContains(t, err, tt.words)
		})
	}
}

func flipped(data []byte) []byte {
	out := bytes.Clone(data)
	out[60] ^= 0xFF // within the first part's content
	return out
}

func manyParts() []string {
	var out []string
	for i := range 10_001 {
		out = append(out, fmt.Sprint("p", i), "")
	}
	return out
}

// bomb is a workbook with so many parts that each say they unpack to so many MiB:
// the sizes count before anything is unpacked.
func bomb(t *testing.T, parts, mib int) []byte {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	_, err := w.Create("xl/workbook.xml")
	require.NoError(t, err)
	for i := range parts {
		_, err := w.CreateRaw(&zip.FileHeader{Name: fmt.Sprintf("xl/media/%d.png", i), Method: zip.Deflate, UncompressedSize64: uint64(mib) << 20})
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return out.Bytes()
}

// lying tells a size of one byte for every part, in each part's central header
// (APPNOTE.TXT §4.3.12: the size is at 24; value from memory).
func lying(t *testing.T, data []byte) []byte {
	t.Helper()
	out := bytes.Clone(data)
	n := 0
	for i := 0; i+28 < len(out); i++ {
		if bytes.HasPrefix(out[i:], []byte("PK\x01\x02")) {
			copy(out[i+24:], []byte{1, 0, 0, 0})
			n++
		}
	}
	require.Positive(t, n)
	return out
}

func wideRows(n int) string {
	rows := ""
	for i := range n {
		rows += fmt.Sprintf(`<row r="%d"><c r="XFD%d"><v>1</v></c></row>`, i+3, i+3)
	}
	return rows
}

func wide(cell string, rows int) string {
	return strings.Repeat("<row>"+strings.Repeat(cell, 501)+"</row>", rows)
}

// A few kilobytes must not cost gigabytes: measured before it is built.
func TestASmallFileCostsLittleMemory(t *testing.T) {
	data := withRows(t, newBook(t, []any{"tag"}).bytes(), wideRows(5_000))
	require.Less(t, len(data), 64<<10)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := workbook.Read(data)
	runtime.ReadMemStats(&after)
	require.ErrorIs(t, err, workbook.ErrTooLarge)
	require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(32<<20))
}

// Office programs end a sheet with an empty last row, or format whole rows.
func TestLargeButHarmlessSheetsAreRead(t *testing.T) {
	fine := newBook(t, []any{"tag", "kind", "hub"}, []any{"2-101", "dimmer", "H1"}).bytes()
	table := only(t, withRows(t, fine, `<row r="1048576" ht="12.8"/>`))
	require.Len(t, table.Rows, 2)
	require.Empty(t, table.Notes)
	table = only(t, withRows(t, fine, `<row r="3"><c r="XFD3" s="0"/></row><row r="4"><c r="A4"><v>2</v></c></row>`))
	require.Len(t, table.Rows, 3)
}

// Cells may come without their names, and in any order.
func TestCellsInOddOrder(t *testing.T) {
	fine := newBook(t, []any{"tag", "kind", "hub"}).bytes()
	table := only(t, withRows(t, fine, `<row><c t="str"><v>2-101</v></c><c t="inlineStr"><is><t>dimmer</t></is></c></row><row r="9"><c r="C9" t="str"><v>H1</v></c><c r="A9" t="str"><v>2-109</v></c></row>`))
	require.Equal(t, 2, table.Rows[1].Number)
	require.Equal(t, "dimmer", table.Rows[1].Cells[1].Text)
	require.Equal(t, 9, table.Rows[2].Number)
	require.Equal(t, []string{"2-109", "", "H1"}, []string{table.Rows[2].Cells[0].Text, table.Rows[2].Cells[1].Text, table.Rows[2].Cells[2].Text})
}

func TestIsGoesByContent(t *testing.T) {
	require.True(t, workbook.Is(zipOf(t)))
	require.True(t, workbook.Is(zipOf(t, "a", "b")))
	require.True(t, workbook.Is([]byte{0xD0, 0xCF, 0x11, 0xE0, 0}))
	require.False(t, workbook.Is([]byte("PKW-1,dimmer,H1\n")))
	require.False(t, workbook.Is(nil))
}

// MS-OFFCRYPTO: the wrapped workbook's name stands in UTF-16.
func TestAPasswordIsKnownByTheName(t *testing.T) {
	data := []byte("\xd0\xcf\x11\xe0")
	for _, c := range utf16.Encode([]rune("EncryptedPackage")) {
		data = append(data, byte(c), byte(c>>8))
	}
	_, err := workbook.Read(data)
	require.ErrorContains(t, err, "password")
}

// Whatever the bytes: reading ends without a panic, says the same again, and
// what comes of it can be read on.
func FuzzRead(f *testing.F) {
	t := &testing.T{}
	f.Add(newBook(t, []any{"tag", "kind", "hub", "x_m"}, []any{"2-101", "dimmer", "H1", 1.5}).bytes())
	f.Add(newBook(t, []any{"a", "b", "rssi_dbm"}, []any{"2-101", "H1", -71}).bytes())
	f.Add(zipOf(t, "xl/workbook.xml", "<workbook/>"))
	f.Add([]byte("\xd0\xcf\x11\xe0"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		tables, err := workbook.Read(data)
		again, other := workbook.Read(data)
		require.Equal(t, err == nil, other == nil)
		require.Equal(t, tables, again)
		if err == nil {
			_, _ = intake.ReadTables(tables, intake.Options{})
		}
	})
}

// Whatever stands in a sheet: the same.
func FuzzSheet(f *testing.F) {
	for _, seed := range []string{
		`<row r="3"><c r="A3"><v>1</v></c></row>`, `<row><c t="e"><v>#N/A</v></c><c t="b"><v>1</v></c></row>`,
		`<row r="2"><c r="B2" s="1"><f t="shared" ref="B2:B3" si="0">A1</f><v>1e309</v></c></row>`, `<row r="0"><c r="A0"/></row>`,
		`</sheetData><mergeCells><mergeCell ref="A1:C3"/></mergeCells><sheetData>`, `<row r="1"><c r="A1" t="d"><v>2026-03-31T14:05:00Z</v></c></row>`,
		`<row r="5" hidden="1"><c r="Z5" t="s"><v>-1</v></c></row>`, `<row r="-1"/>`, `<row r="4"><c r="B4"/><c r="A4" t="inlineStr"><is><t>x</t></is></c></row>`,
	} {
		f.Add(seed)
	}
	b := book{excelize.NewFile(), &testing.T{}}
	b.set("Sheet1", 1, "tag", "kind", "hub", "x_m", "y_m")
	base := b.bytes()
	f.Fuzz(func(t *testing.T, rows string) {
		if len(rows) > 1<<12 || !strings.Contains(rows, "<") {
			return
		}
		data := withRows(t, base, rows)
		tables, err := workbook.Read(data)
		again, other := workbook.Read(data)
		require.Equal(t, err == nil, other == nil)
		require.Equal(t, tables, again)
		if err != nil {
			return
		}
		last := 0
		for _, r := range tables[0].Rows {
			require.Greater(t, r.Number, last)
			last = r.Number
		}
		sheet, err := intake.ReadTables(tables, intake.Options{})
		if err == nil {
			for _, p := range sheet.Problems {
				require.NotEmpty(t, p.Wrong)
			}
		}
	})
}
