package workbook_test

import (
	"archive/zip"
	"bytes"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
)

// book is a workbook under construction, with one sheet called Sheet1.
type book struct {
	*excelize.File
	t *testing.T
}

func newBook(t *testing.T, rows ...[]any) book {
	b := book{excelize.NewFile(), t}
	for i, row := range rows {
		b.set("Sheet1", i+1, row...)
	}
	return b
}

func (b book) set(sheet string, row int, cells ...any) {
	b.t.Helper()
	ref, err := excelize.CoordinatesToCellName(1, row)
	require.NoError(b.t, err)
	require.NoError(b.t, b.SetSheetRow(sheet, ref, &cells))
}

// look gives a cell a number format.
func (b book) look(ref string, style excelize.Style) {
	b.t.Helper()
	id, err := b.NewStyle(&style)
	require.NoError(b.t, err)
	require.NoError(b.t, b.SetCellStyle("Sheet1", ref, ref, id))
}

func custom(code string) excelize.Style { return excelize.Style{CustomNumFmt: &code} }

func (b book) bytes() []byte {
	b.t.Helper()
	out, err := b.WriteToBuffer()
	require.NoError(b.t, err)
	return out.Bytes()
}

// edited rewrites one part of a workbook.
func edited(t *testing.T, data []byte, part string, edit func(string) string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	found := false
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		content, err := io.ReadAll(r)
		require.NoError(t, err)
		if f.Name == part {
			found = true
			before := string(content)
			content = []byte(edit(before))
			require.NotEqual(t, before, string(content), "nothing was edited")
		}
		to, err := w.Create(f.Name)
		require.NoError(t, err)
		_, err = to.Write(content)
		require.NoError(t, err)
	}
	require.True(t, found, "no part is called %s", part)
	require.NoError(t, w.Close())
	return out.Bytes()
}

const sheet1 = "xl/worksheets/sheet1.xml"

// withRows puts rows of XML at the end of the first sheet.
func withRows(t *testing.T, data []byte, rows string) []byte {
	return edited(t, data, sheet1, func(s string) string { return strings.Replace(s, "</sheetData>", rows+"</sheetData>", 1) })
}

// only reads a workbook with one table.
func only(t *testing.T, data []byte) intake.Table {
	t.Helper()
	require.True(t, workbook.Is(data))
	tables, err := workbook.Read(data)
	require.NoError(t, err)
	require.Len(t, tables, 1)
	return tables[0]
}
