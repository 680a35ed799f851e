package intake_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// table makes a table of lines of text, cells between |; a cell that begins with
// # is a number, and one with @ a date or time.
func table(name string, lines ...string) intake.Table {
	t := intake.Table{Name: name}
	for i, line := range lines {
		row := intake.TableRow{Number: i + 1}
		for _, text := range strings.Split(line, "|") {
			c := intake.Cell{Text: text}
			if v, ok := strings.CutPrefix(text, "#"); ok {
				c = intake.Cell{Text: v, Value: v, Is: intake.InNumber}
			} else if v, ok := strings.CutPrefix(text, "@"); ok {
				c = intake.Cell{Text: v, Value: v, Is: intake.InTime}
			}
			row.Cells = append(row.Cells, c)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func TestTheFirstKnownTableIsTaken(t *testing.T) {
	cover := table("Cover", "Kiln Lane", "rev|3")
	list := table("List", "tag|kind|hub", "2-101|dimmer|H1")
	floors := table("Floors", "floor|level", "2|#2")
	hidden := table("Old", "tag|kind|hub", "2-101|dimmer|H9")
	hidden.Hidden = true
	remarks := table("List", "tag|kind|hub", "2-101|dimmer|H1")
	remarks.Notes = []string{"merged cells: A1:B2"}
	for _, tt := range []struct {
		name   string
		tables []intake.Table
		takes  string
		notes  []string
	}{
		{"alone", []intake.Table{list}, "List", nil},
		{"behind a cover", []intake.Table{cover, list}, "List", []string{`sheet "Cover" is not taken: its header row is not known here`}},
		{"before another", []intake.Table{list, floors}, "List", []string{`sheet "Floors" is not taken, and is a floors sheet; name it behind the file to take it: FILE#Floors`}},
		{"behind a hidden one", []intake.Table{hidden, floors}, "Floors", []string{`sheet "Old" is not taken: it is hidden; name it behind the file to take it: FILE#Old`}},
		{"hidden, but alone", []intake.Table{hidden}, "Old", nil},
		{"an empty one is nothing", []intake.Table{table("Sheet2", ""), {Name: "Sheet3"}, list}, "List", nil},
		{"with notes of its own", []intake.Table{remarks}, "List", []string{"merged cells: A1:B2"}},
		{"below a title", []intake.Table{table("List", "Devices of Kiln Lane", "", "tag|kind|hub", "2-101|dimmer|H1")}, "List", []string{"what stands above the header row, row 3, is not taken"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet, err := intake.ReadTables(tt.tables, intake.Options{})
			require.NoError(t, err)
			require.Empty(t, sheet.Problems)
			require.Len(t, sheet.Rows, 1)
			require.Equal(t, tt.takes, sheet.Table)
			require.ElementsMatch(t, tt.notes, texts(sheet.Notes))
		})
	}
	t.Run("the rows are those of the spreadsheet", func(t *testing.T) {
		list := table("List", "", "tag|kind|hub", "", "2-101|dimmer|H1", "2-102|dimer|H1")
		sheet, err := intake.ReadTables([]intake.Table{list}, intake.Options{})
		require.NoError(t, err)
		require.Equal(t, 4, sheet.Rows[0].Number)
		require.Equal(t, 5, sheet.Problems[0].Row)
	})
}

func TestWorkbooksThatCannotBeReadSayWhy(t *testing.T) {
	far := make([]string, 25)
	far[23], far[24] = "tag|kind|hub", "2-101|dimmer|H1"
	for i := range 23 {
		far[i] = "prose"
	}
	hidden := table("Old", "tag|kind|hub", "2-101|dimmer|H9")
	hidden.Hidden = true
	for _, tt := range []struct {
		name   string
		tables []intake.Table
		is     error
		words  string
	}{
		{"no table", nil, intake.ErrEmpty, "nothing is in the file"},
		{"nothing in any", []intake.Table{table("A", ""), table("B", "||", "")}, intake.ErrEmpty, "nothing is in the file"},
		{"no known header", []intake.Table{table("A", "name|phone", "Ilse|1234")}, intake.ErrUnknownSheet, `sheet "A": read sheet: row 1`},
		{"one that looks like a sheet", []intake.Table{table("A", "name|phone", "Ilse|1234"), table("B", "", "tag|kind", "2-101|dimmer")}, intake.ErrHeader, `sheet "B": read sheet: row 2: bad header row: looks like a schedule, but no column is called hub`},
		{"a header alone", []intake.Table{table("A", "tag|kind|hub")}, intake.ErrEmpty, "below the header"},
		{"too far below", []intake.Table{table("A", far...)}, intake.ErrUnknownSheet, `sheet "A"`},
		{"two for one thing", []intake.Table{table("A", "tag|kind|hub|mark", "2-101|dimmer|H1|x")}, intake.ErrHeader, "both mean tag"},
		{"hidden, all of them", []intake.Table{hidden, hidden}, nil, `sheet "Old": it is hidden; name it behind the file to take it: FILE#Old`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := intake.ReadTables(tt.tables, intake.Options{})
			require.Error(t, err)
			if tt.is != nil {
				require.ErrorIs(t, err, tt.is)
			}
			require.ErrorContains(t, err, tt.words)
		})
	}
}

// One row under the columns of a schedule.
func TestCellsOfAWorkbook(t *testing.T) {
	const head = "tag|kind|hub|x_mm|y_m|warranty_start|emergency|serial|note"
	for _, tt := range []struct {
		name, row string
		problems  []string
	}{
		{"a number's point is a point", "2-101|dimmer|H1|#1.234|#0.00001|||", nil},
		{"a text's may be anything", "2-101|dimmer|H1|1.234|4|||", []string{`row 2, column x_mm: "1.234" may be a fraction or thousands: write 1234 or 1.2340`}},
		{"and so may its comma", "2-101|dimmer|H1|1|4,567|||", []string{`row 2, column y_m: "4,567" may be a fraction or thousands: write 4567 or 4.5670`}},
		{"a number for a name", "#101|dimmer|#1|||||", nil},
		{"a date for a name", "@2026-02-10|dimmer|H1|||||", []string{"row 2, column tag: is the date or time 2026-02-10 to the spreadsheet; format the column as text, and write it again"}},
		{"a date for a number", "2-101|dimmer|H1|@2026-02-10|1||", []string{`row 2, column x_mm: "2026-02-10" is not a number: write it like 12.5, without a unit and without signs between thousands`}},
		{"15 digits for a name", "#123456789012345|dimmer|H1|||||", nil},
		{"16 are too many", "#1234567890123456|dimmer|H1|||||", []string{"row 2, column tag: is the number 1234567890123456 to the spreadsheet, which keeps 15 digits; format the column as text, and write it again"}},
		{"a date where one belongs", "2-101|dimmer|H1|||@2026-03-31||", nil},
		{"a date at midnight", "2-101|dimmer|H1|||@2026-03-31 00:00||", nil},
		{"a date with a time", "2-101|dimmer|H1|||@2026-03-31 14:05||", []string{`row 2, column warranty_start: "2026-03-31 14:05" is not a date; write it like 2026-03-31`}},
		{"midnight as text", "2-101|dimmer|H1|||2026-03-31 00:00||", []string{`row 2, column warranty_start: "2026-03-31 00:00" is not a date; write it like 2026-03-31`}},
		{"yes by its number", "2-101|dimmer|H1||||#1|", nil},
		{"no formula behind an equals sign", "2-101|dimmer|H1||||||=1+1", nil},
		{"a date in a note", "2-101|dimmer|H1||||||@2026-03-31", nil},
		{"something beside the table", "2-101|dimmer|H1|||||||oh|x", []string{"row 2: has something in column J, which has no heading; give the column a heading, or clear the cell"}},
		{"space beside the table", "2-101|dimmer|H1||||||| |", nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet, err := intake.ReadTables([]intake.Table{table("A", head, tt.row)}, intake.Options{})
			require.NoError(t, err)
			require.ElementsMatch(t, tt.problems, texts(sheet.Problems))
		})
	}
	t.Run("a name is what shows, a number what it is", func(t *testing.T) {
		list := table("A", "tag|kind|hub|room|x_m|y_m", "2-101|dimmer|H1|r|x|#3")
		list.Rows[1].Cells[3] = intake.Cell{Text: "2.10", Value: "2.1", Is: intake.InNumber}
		list.Rows[1].Cells[4] = intake.Cell{Text: "7", Value: "7.4567", Is: intake.InNumber}
		sheet, err := intake.ReadTables([]intake.Table{list}, intake.Options{})
		require.NoError(t, err)
		d := device(t, sheet, 0)
		require.Equal(t, events.RoomID("2.10"), d.Room)
		require.Equal(t, int64(7457), d.Place.Value.X)
	})
	t.Run("a name that became a power of ten", func(t *testing.T) {
		list := table("A", "tag|kind|hub|model", "2-101|dimmer|H1|12E5")
		list.Rows[1].Cells[3] = intake.Cell{Text: "1.20E+06", Value: "1200000", Is: intake.InNumber}
		sheet, err := intake.ReadTables([]intake.Table{list}, intake.Options{})
		require.NoError(t, err)
		require.Equal(t, []string{"row 2, column model: is the number 1200000 to the spreadsheet; format the column as text, and write it again"}, texts(sheet.Problems))
	})
	t.Run("a cell with no value", func(t *testing.T) {
		list := table("A", "tag|kind|hub|note", "2-101|dimmer|H1|x")
		list.Rows[1].Cells[2] = intake.Cell{Wrong: "#REF! is an error of the spreadsheet", Right: "mend it"}
		sheet, err := intake.ReadTables([]intake.Table{list}, intake.Options{})
		require.NoError(t, err)
		require.Equal(t, []string{"row 2, column hub: #REF! is an error of the spreadsheet; mend it"}, texts(sheet.Problems))
	})
}

// A share that is formatted as per cent holds 0.93 and shows 93 %.
func TestPerCentOfAWorkbook(t *testing.T) {
	for _, heading := range []string{"pdr", "PDR %"} {
		for _, tt := range []struct {
			name string
			cell intake.Cell
			want int64
		}{
			{"formatted", intake.Cell{Text: "93%", Value: "0.93", Is: intake.InNumber}, 930_000},
			{"text", intake.Cell{Text: "93 %"}, 930_000},
		} {
			t.Run(heading+" "+tt.name, func(t *testing.T) {
				list := table("A", "a|b|"+heading, "2-101|H1|")
				list.Rows[1].Cells[2] = tt.cell
				sheet, err := intake.ReadTables([]intake.Table{list}, withLinks(t))
				require.NoError(t, err)
				require.Empty(t, sheet.Problems)
				require.Equal(t, events.Some(tt.want), sheet.Rows[0].Payload.(events.LinkMeasured).PDR)
			})
		}
	}
}

// A file of text and a table of the same cells say the same.
func TestATableSaysWhatTheFileSays(t *testing.T) {
	for _, file := range []string{
		"tag,kind,hub,x_m,y_m,note\n2-101,dimmer,H1,3.5,4,'=x\n\n2-102,dimer,H1,,,\n",
		"floor,material,thickness_mm,points\n2,brick,115,0 0; 1 0\n2,brick,115,1 0\n",
		"a,b,rssi_dbm,when\n2-101,H1,-71,14:05\n2-101,H2,-71,\n",
		"floor,x_m,y_m,channel,rssi_dbm\n2,1,1,6,-50\n2,1,1,60,-50\n",
		"tag,what,when,note\n2-101,fault,14:05,danger: bare wire\n2-101,pared,14:05,\n",
	} {
		t.Run(file[:12], func(t *testing.T) {
			want := read(t, file, withLinks(t))
			got, err := intake.ReadTables([]intake.Table{table("A", strings.Split(strings.ReplaceAll(file, ",", "|"), "\n")...)}, withLinks(t))
			require.NoError(t, err)
			require.Equal(t, want.Rows, got.Rows)
			require.Equal(t, want.Problems, got.Problems)
		})
	}
}
