package workbook_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
)

// Workbooks that other programs wrote (testdata/README.md says which) say the
// same field sheet.
func TestWorkbooksOfOtherPrograms(t *testing.T) {
	for _, tt := range []struct {
		file    string
		formula intake.Cell
		note    string
	}{
		{"testdata/openpyxl.xlsx", intake.Cell{Wrong: `"=1+1" is a formula that has no value yet`, Right: "open the workbook in a spreadsheet and save it, or put values in place of formulas"}, "formulas whose value was empty when the workbook was saved: F2"},
		{"testdata/xlsxwriter.xlsx", intake.Cell{Text: "2", Value: "2", Is: intake.InNumber}, "formulas, taken with the value they had when the workbook was saved: F2"},
	} {
		t.Run(tt.file, func(t *testing.T) {
			data, err := os.ReadFile(tt.file)
			require.NoError(t, err)
			tables, err := workbook.Read(data)
			require.NoError(t, err)
			require.Len(t, tables, 2)
			require.Equal(t, []bool{false, true}, []bool{tables[0].Hidden, tables[1].Hidden})
			require.Equal(t, []string{tt.note, "merged cells, of which each row takes the value: A2:A3", "taken though hidden: row 4"}, tables[0].Notes)
			require.Equal(t, tt.formula, tables[0].Rows[1].Cells[5])
			require.Equal(t, intake.Cell{Text: "93%", Value: "0.93", Is: intake.InNumber}, tables[0].Rows[3].Cells[5])
			require.Equal(t, "2026-03-02 14:05", tables[0].Rows[1].Cells[2].Value)
			require.Equal(t, "14:07:30", tables[0].Rows[2].Cells[2].Value)

			for i := range tables[0].Rows {
				tables[0].Rows[i].Cells = tables[0].Rows[i].Cells[:5]
			}
			sheet, err := intake.ReadTables(tables, intake.Options{
				Site: intake.Listing{Devices: map[events.Tag]events.DeviceListed{"2-101": {Hub: "H1", Device: "2-101"}, "2-102": {Hub: "H1", Device: "2-102"}}},
				Day:  time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC),
			})
			require.NoError(t, err)
			require.Empty(t, sheet.Problems)
			at := func(h, m, s int) events.Maybe[events.Interval] {
				return events.Some(events.At(events.InstantOf(time.Date(2026, 3, 2, h, m, s, 0, time.UTC))))
			}
			require.Equal(t, []intake.Row{
				{Number: 2, Payload: events.DeviceFitted{Device: "2-101", Serial: "0012", Source: events.OnPaper}, When: at(14, 5, 0)},
				{Number: 2, Payload: events.NoteAdded{Of: events.Device("2-101"), Text: "by the door"}, When: at(14, 5, 0)},
				{Number: 3, Payload: events.DevicePaired{Device: "2-101", Hub: "H1", Serial: "0012"}, When: at(14, 7, 30)},
				{Number: 4, Payload: events.DeviceSkipped{Device: "2-102", Why: events.NoAccess, Note: "locked"}, When: at(9, 40, 0)},
			}, sheet.Rows)
		})
	}
}
