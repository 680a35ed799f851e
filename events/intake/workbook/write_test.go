package workbook_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
)

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	grids := []intake.Grid{
		{Name: "records", Header: []string{"tag", "serial", "note"}, Rows: [][]string{
			{"2-101", "0012", "=1+1"}, {"2-102", "123456789012345678", "@here"}, {"3-1", "'S1", "two\nlines"}, {"1e5", "TRUE", strings.Repeat("wide ", 50)},
		}},
		{Name: "covers", Header: []string{"export"}, Rows: [][]string{{"X1"}}},
	}
	var file bytes.Buffer
	require.NoError(t, workbook.Write(&file, grids...))
	tables, err := workbook.Read(file.Bytes())
	require.NoError(t, err)
	require.Len(t, tables, len(grids))
	for i, g := range grids {
		require.Equal(t, g.Name, tables[i].Name)
		var got [][]string
		for _, row := range tables[i].Rows {
			var cells []string
			for _, c := range row.Cells {
				require.Equal(t, intake.InText, c.Is)
				cells = append(cells, c.Text)
			}
			got = append(got, cells)
		}
		require.Equal(t, append([][]string{g.Header}, g.Rows...), got)
	}
	require.ErrorContains(t, workbook.Write(&file, intake.Grid{Name: "a/b"}), "a/b")
}

func TestRecordsOfEitherSort(t *testing.T) {
	want := []intake.Record{{Number: 2, Export: "X1", Tag: "2-101", Serial: "0012", Hub: "H1", Kind: "sensor"}}
	grid := intake.Grid{Name: "any", Header: []string{"export", "tag", "serial", "hub", "kind"}, Rows: [][]string{{"X1", "2-101", "0012", "H1", string(events.Sensor)}}}
	var book, text bytes.Buffer
	require.NoError(t, workbook.Write(&book, grid))
	require.NoError(t, intake.WriteCSV(&text, grid.Header, grid.Rows))
	for _, file := range [][]byte{book.Bytes(), text.Bytes()} {
		got, err := workbook.Records(file)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	_, err := workbook.Records(book.Bytes()[:100])
	require.Error(t, err)
}
