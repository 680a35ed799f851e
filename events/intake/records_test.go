package intake_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

func TestTheOfficesKindsAreReadInItsWords(t *testing.T) {
	got, err := intake.ReadRecords(strings.NewReader("Position,S/N,Kind\n2-101,S1,Light fitting\n2-102,S2,portable control\n2-103,S3,teapot\n"))
	require.NoError(t, err)
	require.Equal(t, []string{"driver", "wall-control", "teapot"}, []string{got[0].Kind, got[1].Kind, got[2].Kind})
	require.Equal(t, events.Tag("2-101"), got[0].Tag)
}

func TestTheOfficesWorkbookComesBack(t *testing.T) {
	text := func(cells ...string) []intake.Cell {
		out := make([]intake.Cell, len(cells))
		for i, c := range cells {
			out[i] = intake.Cell{Text: c}
		}
		return out
	}
	rows := []intake.TableRow{
		{Number: 1, Cells: text("From the office")},
		{Number: 3, Cells: text("Export", "Tag", "Serial")},
		{Number: 4, Cells: text("x1", "2-101", "=S1")},
	}
	other := intake.Table{Name: "prices", Rows: []intake.TableRow{{Number: 1, Cells: text("a", "b")}}}
	got, err := intake.RecordTables([]intake.Table{other, {Name: "old", Hidden: true, Rows: rows}, {Name: "rows", Rows: rows}})
	require.NoError(t, err)
	require.Equal(t, []intake.Record{{Number: 4, Export: "x1", Tag: "2-101", Serial: "=S1"}}, got)

	_, err = intake.RecordTables([]intake.Table{other})
	require.ErrorContains(t, err, "no sheet of the office's workbook has the columns tag and serial")
	rows[2].Cells[2] = intake.Cell{Wrong: "the formula has no value", Right: "open and save the workbook"}
	_, err = intake.RecordTables([]intake.Table{{Name: "rows", Rows: rows}})
	require.ErrorContains(t, err, `sheet "rows": row 4: the formula has no value; open and save the workbook`)
}

func TestTheOfficesRecordsComeBack(t *testing.T) {
	got, err := intake.ReadRecords(strings.NewReader("\uFEFFExport;Tag;Colour;Serial;Hub\r\nx1;2-101;white;'=S1;H1\r\n\r\nx1;2-102;;;\r\n"))
	require.NoError(t, err)
	require.Equal(t, []intake.Record{
		{Number: 2, Export: "x1", Tag: "2-101", Serial: "=S1", Hub: "H1"},
		{Number: 4, Export: "x1", Tag: "2-102"},
	}, got)

	for _, tt := range []struct{ name, file, words string }{
		{"nothing", "", "nothing is in the file"},
		{"no serial", "tag,hub\n2-101,H1\n", "needs the columns tag and serial; it has tag, hub"},
		{"a row without tag", "tag,serial\n,S1\n", "row 2: has no tag"},
		{"a stray quote", "tag,serial\n2-101,S\"1\n", "row 2"},
		{"a stray quote in the header", "ta\"g,serial\n2-101,S1\n", "bad header row"},
		{"no rows", "tag,serial\n", "a header and no rows"},
		{"another encoding", "tag,serial\n2-101,B\xfc1\n", "row 2: not UTF-8 text; save the file as CSV in UTF-8"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := intake.ReadRecords(strings.NewReader(tt.file))
			require.ErrorContains(t, err, tt.words)
		})
	}
}
