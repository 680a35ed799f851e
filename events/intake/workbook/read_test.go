package workbook_test

import (
	"encoding/csv"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
	"pairwalk/testdata"
)

func TestCells(t *testing.T) {
	text := func(s string) intake.Cell { return intake.Cell{Text: s} }
	number := func(shown, value string) intake.Cell {
		return intake.Cell{Text: shown, Value: value, Is: intake.InNumber}
	}
	moment := func(s string) intake.Cell { return intake.Cell{Text: s, Value: s, Is: intake.InTime} }
	code := func(s string) *excelize.Style { x := custom(s); return &x }
	builtIn := func(id int) *excelize.Style { return &excelize.Style{NumFmt: id} }
	for _, tt := range []struct {
		name  string
		value any
		style *excelize.Style
		want  intake.Cell
	}{
		{"text", "2-101", nil, text("2-101")},
		{"text that looks like a number", "007", nil, text("007")},
		{"text that looks like a formula", "=1+1", nil, text("=1+1")},
		{"text that begins with an apostrophe", "'tis", nil, text("'tis")},
		{"text behind an apostrophe", "=1+1", &excelize.Style{CustomNumFmt: nil}, text("=1+1")},
		{"text of several lines", "one\ntwo", nil, text("one\ntwo")},
		{"yes", true, nil, text("TRUE")},
		{"no", false, nil, text("FALSE")},
		{"a whole number", 101, nil, number("101", "101")},
		{"one that can't be exact", 7.2, nil, number("7.2", "7.2")},
		{"0.1 and 0.2 together", 0.30000000000000004, nil, number("0.3", "0.3")},
		{"1e-5", 1e-5, nil, number("0.00001", "0.00001")},
		{"-1.5e-7", -1.5e-7, nil, number("-0.00000015", "-0.00000015")},
		{"what is left over of a sum", 5.551115123125783e-21, nil, number("0", "0")},
		{"1e15", 1e15, nil, number("1000000000000000", "1000000000000000")},
		{"all its digits, whatever shows", 3.14159, builtIn(2), number("3.14", "3.14159")},
		{"thousands", 1234.5, builtIn(4), number("1,234.50", "1234.5")},
		{"leading zeros that only show", 7, code("000"), number("007", "7")},
		{"per cent", 0.93, builtIn(9), number("93%", "0.93")},
		{"a power of ten", 1_200_000, builtIn(11), number("1.20E+06", "1200000")},
		{"text format", 12, builtIn(49), number("12", "12")},
		{"general, written out", 12, code("General"), number("12", "12")},
		{"a unit that only shows", 12, code(`0" mm"`), number("12 mm", "12")},
		{"a unit with a letter of dates", 12, code(`0\d "days"`), number("12d days", "12")},
		{"a colour", 12, code(`[Red]0.0;[Blue]-0.0`), number("12.0", "12")},
		{"a letter of dates in another section", 12, code(`0;-0;d`), number("12", "12")},
		{"a date", 46112, builtIn(14), moment("2026-03-31")},
		{"a date of another country", 46112, code("dd.mm.yyyy"), moment("2026-03-31")},
		{"a month", 46112, code("mmmm"), moment("2026-03-31")},
		{"a date in brackets", 46112, code("[$-407]d. mmmm yyyy"), moment("2026-03-31")},
		{"a date of the far east", 46112, builtIn(31), moment("2026-03-31")},
		{"a date with a time that doesn't show", 46112.5, builtIn(14), moment("2026-03-31 12:00")},
		{"date and time", 46112.586805555555, builtIn(22), moment("2026-03-31 14:05")},
		{"date and midnight", 46112, builtIn(22), moment("2026-03-31 00:00")},
		{"seconds", 46112.58685185185, code("yyyy-mm-dd hh:mm:ss"), moment("2026-03-31 14:05:04")},
		{"a time", 0.5868055555555556, builtIn(20), moment("14:05")},
		{"a time of twelve hours", 0.5868055555555556, code("h:mm AM/PM"), moment("14:05")},
		{"a time a hair too early", 0.58680555, builtIn(20), moment("14:05")},
		{"midnight", 0, builtIn(20), moment("00:00")},
		{"the last second", 0.99999, builtIn(21), moment("23:59:59")},
		{"a time with its day", 46112.586805555555, builtIn(20), moment("2026-03-31 14:05")},
		{"minutes and seconds", 0.25, builtIn(45), moment("06:00")},
		{"hours that don't end", 1.25, builtIn(46), moment("30:00:00")},
		{"hours that don't end, by a code", 1.25, code("[hh]:mm"), moment("30:00")},
		{"the first day", 1, builtIn(14), moment("1900-01-01")},
		{"the last before the one that never was", 59, builtIn(14), moment("1900-02-28")},
		{"the first after it", 61, builtIn(14), moment("1900-03-01")},
		{"the last day", 2_958_465, builtIn(14), moment("9999-12-31")},
		{"the day that never was", 60, builtIn(14), intake.Cell{Wrong: "29 February 1900 never was", Right: "is the format of the cell right?"}},
		{"day 0", 0, builtIn(14), intake.Cell{Wrong: "0 has no day", Right: "is the format of the cell right?"}},
		{"before the first", -1, builtIn(14), intake.Cell{Wrong: "-1 can't be a date or time", Right: "is the format of the cell right?"}},
		{"behind the last", 2_958_466, builtIn(14), intake.Cell{Wrong: "2958466 can't be a date or time", Right: "is the format of the cell right?"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := newBook(t, []any{tt.value})
			if tt.style != nil {
				b.look("A1", *tt.style)
			}
			if tt.name == "text behind an apostrophe" {
				quoted := edited(t, b.bytes(), "xl/styles.xml", func(s string) string { return strings.Replace(s, "<xf ", `<xf quotePrefix="1" `, 1) })
				require.Equal(t, tt.want, only(t, quoted).Rows[0].Cells[0])
				return
			}
			table := only(t, b.bytes())
			require.Equal(t, tt.want, table.Rows[0].Cells[0])
			require.Empty(t, table.Notes)
		})
	}
}

// ECMA-376 Part 1, §18.17.4.1: days from 1900 and from 1904 lie 1462 apart (value
// from memory).
func TestWorkbooksThatCountFrom1904(t *testing.T) {
	yes := true
	for _, tt := range []struct {
		value float64
		style int
		want  string
	}{{46112 - 1462, 14, "2026-03-31"}, {46112 - 1462 + 0.5, 22, "2026-03-31 12:00"}, {60, 14, "1904-03-01"}, {0, 14, "1904-01-01"}, {0.5, 20, "12:00"}} {
		b := newBook(t, []any{tt.value})
		require.NoError(t, b.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}))
		b.look("A1", excelize.Style{NumFmt: tt.style})
		require.Equal(t, tt.want, only(t, b.bytes()).Rows[0].Cells[0].Value)
	}
}

func TestFormulas(t *testing.T) {
	plain := newBook(t, []any{"tag", "kind", "hub", "x_m", "y_m"}, []any{"2-101", "dimmer", "H1", 3, 0}).bytes()
	for _, tt := range []struct {
		name, cell string // XML of E2
		want       intake.Cell
		note       string
	}{
		{"with its value", `<c r="E2"><f>D2+1</f><v>4</v></c>`, intake.Cell{Text: "4", Value: "4", Is: intake.InNumber}, "formulas, taken with the value they had when the workbook was saved: E2"},
		{"with a text", `<c r="E2" t="str"><f>"4"</f><v>4</v></c>`, intake.Cell{Text: "4"}, "formulas, taken with the value they had when the workbook was saved: E2"},
		{"with an empty text", `<c r="E2" t="str"><f>""</f><v></v></c>`, intake.Cell{}, "formulas whose value was empty when the workbook was saved: E2"},
		{"without a value", `<c r="E2"><f>D2+1</f></c>`, intake.Cell{Wrong: `"=D2+1" is a formula that has no value yet`, Right: "open the workbook in a spreadsheet and save it, or put values in place of formulas"}, "formulas whose value was empty when the workbook was saved: E2"},
		{"with an empty value", `<c r="E2"><f>D2+1</f><v></v></c>`, intake.Cell{Wrong: `"=D2+1" is a formula that has no value yet`, Right: "open the workbook in a spreadsheet and save it, or put values in place of formulas"}, "formulas whose value was empty when the workbook was saved: E2"},
		{"with an error", `<c r="E2" t="e"><f>D2/0</f><v>#DIV/0!</v></c>`, intake.Cell{Wrong: "#DIV/0! is an error of the spreadsheet", Right: "mend its formula, or write the value"}, "formulas, taken with the value they had when the workbook was saved: E2"},
		{"shared", `<c r="E2"><f t="shared" ref="E2:E3" si="0">D2+1</f><v>4</v></c>`, intake.Cell{Text: "4", Value: "4", Is: intake.InNumber}, "formulas, taken with the value they had when the workbook was saved: E2"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			table := only(t, edited(t, plain, sheet1, func(s string) string { return strings.Replace(s, `<c r="E2"><v>0</v></c>`, tt.cell, 1) }))
			require.Equal(t, tt.want, table.Rows[1].Cells[4])
			require.Equal(t, []string{tt.note}, table.Notes)
		})
	}
}

func TestWhatPeopleShouldKnowOfASheet(t *testing.T) {
	head := []any{"tag", "kind", "hub", "room"}
	for _, tt := range []struct {
		name string
		make func(b book)
		want []string
	}{
		{"nothing", func(book) {}, nil},
		{"a hidden row", func(b book) { require.NoError(t, b.SetRowVisible("Sheet1", 3, false)) }, []string{"taken though hidden: row 3"}},
		{"a hidden column", func(b book) { require.NoError(t, b.SetColVisible("Sheet1", "C", false)) }, []string{"taken though hidden: column C"}},
		{"hidden columns", func(b book) { require.NoError(t, b.SetColVisible("Sheet1", "B:C", false)) }, []string{"taken though hidden: columns B, C"}},
		{"blank rows between", func(b book) { b.set("Sheet1", 6, "2-105", "dimmer", "H1", "") }, []string{"passed over as blank: rows 4 to 5"}},
		{"a blank row before the first, and one that is hidden", func(b book) {
			require.NoError(t, b.InsertRows("Sheet1", 1, 1))
			require.NoError(t, b.SetRowVisible("Sheet1", 1, false))
		}, nil},
		{"nothing but space in a last row", func(b book) { b.set("Sheet1", 6, " ") }, nil},
		{"merged cells", func(b book) { require.NoError(t, b.MergeCell("Sheet1", "D2", "D3")) }, []string{"merged cells, of which each row takes the value: D2:D3"}},
		{"merged cells below the last row", func(b book) { require.NoError(t, b.MergeCell("Sheet1", "D12", "D13")) }, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := newBook(t, head, []any{"2-101", "dimmer", "H1", "201"}, []any{"2-102", "dimmer", "H1", nil})
			tt.make(b)
			require.Equal(t, tt.want, only(t, b.bytes()).Notes)
		})
	}
}

// What people see merged over several rows is meant for each of them.
func TestMergedCells(t *testing.T) {
	b := newBook(t, []any{"tag", "kind", "hub", "room"}, []any{"2-101", "dimmer", "H1", "201"}, []any{"2-102", "dimmer"}, []any{}, []any{"2-104", "dimmer", "H2"})
	require.NoError(t, b.MergeCell("Sheet1", "C2", "D2"))
	require.NoError(t, b.MergeCell("Sheet1", "C3", "C3"))
	require.NoError(t, b.MergeCell("Sheet1", "B3", "B5"))
	table := only(t, edited(t, b.bytes(), sheet1, func(s string) string {
		return strings.Replace(s, `</c></row><row r="3">`, `</c><c r="D2" t="str"><v>hidden beneath</v></c></row><row r="3">`, 1)
	}))
	var got []string
	for _, r := range table.Rows {
		var cells []string
		for _, c := range r.Cells {
			cells = append(cells, c.Text)
		}
		got = append(got, strconv.Itoa(r.Number)+": "+strings.Join(cells, "|"))
	}
	require.Equal(t, []string{"1: tag|kind|hub|room", "2: 2-101|dimmer|H1|", "3: 2-102|dimmer||", "5: 2-104|dimmer|H2|"}, got)

	tall := newBook(t, []any{"tag", "room"}, []any{"2-101", "201"}, []any{"2-102"})
	require.NoError(t, tall.MergeCell("Sheet1", "B2", "B9"))
	rows := only(t, tall.bytes()).Rows
	require.Len(t, rows, 3, "a row of nothing but a merged cell is blank")
	require.Equal(t, "201", rows[2].Cells[1].Text, "the last cell of a row that ends before it")
}

func TestSheetsOfAWorkbook(t *testing.T) {
	b := newBook(t, []any{"tag", "kind", "hub"}, []any{"2-101", "dimmer", "H1"})
	for _, name := range []string{"Floors", "Old", "Empty"} {
		_, err := b.NewSheet(name)
		require.NoError(t, err)
	}
	b.set("Floors", 2, "floor", "level")
	b.set("Floors", 3, "2", 2)
	require.NoError(t, b.SetSheetVisible("Old", false))
	require.NoError(t, b.AddChartSheet("Chart", &excelize.Chart{Type: excelize.Col, Series: []excelize.ChartSeries{{Values: "Floors!$B$3:$B$3"}}}))
	tables, err := workbook.Read(b.bytes())
	require.NoError(t, err)
	var names []string
	for _, x := range tables {
		names = append(names, x.Name)
		require.Equal(t, x.Name == "Old", x.Hidden)
	}
	require.Equal(t, []string{"Sheet1", "Floors", "Old", "Empty"}, names, "a chart is none")

	found, err := workbook.Named(tables, "floors")
	require.NoError(t, err)
	require.Equal(t, "Floors", found.Name)
	require.Equal(t, 2, found.Rows[0].Number)
	_, err = workbook.Named(tables, "Roof")
	require.EqualError(t, err, `the workbook has no sheet "Roof"; it has Sheet1, Floors, Old, Empty`)

	sheet, err := intake.ReadTables([]intake.Table{found}, intake.Options{})
	require.NoError(t, err)
	require.Equal(t, []intake.Row{{Number: 3, Payload: events.FloorListed{Floor: "2", Level: 2}}}, sheet.Rows)
}

// The working site's sheets say the same as text and as a workbook, whether its
// numbers are numbers or text there.
func TestTheWorkingSiteIsTheSameInAWorkbook(t *testing.T) {
	options := func(t *testing.T) intake.Options {
		floors, err := intake.Read(strings.NewReader(string(testdata.WorksFloors)), intake.Options{})
		require.NoError(t, err)
		opt := intake.Options{Site: intake.Listing{Floors: map[events.FloorID]events.FloorListed{}}, Day: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)}
		for _, r := range floors.Rows {
			f := r.Payload.(events.FloorListed)
			opt.Site.Floors[f.Floor] = f
		}
		opt.Site.Devices = map[events.Tag]events.DeviceListed{}
		schedule, err := intake.Read(strings.NewReader(string(testdata.WorksSchedule)), opt)
		require.NoError(t, err)
		for _, r := range schedule.Rows {
			if d, ok := r.Payload.(events.DeviceListed); ok {
				opt.Site.Devices[d.Device] = d
			}
		}
		return opt
	}
	for name, file := range map[string][]byte{"schedule": testdata.WorksSchedule, "floors": testdata.WorksFloors, "field sheet": testdata.WorksFieldSheet} {
		for _, typed := range []bool{false, true} {
			t.Run(name+" typed "+strconv.FormatBool(typed), func(t *testing.T) {
				opt := options(t)
				want, err := intake.Read(strings.NewReader(string(file)), opt)
				require.NoError(t, err)
				require.Greater(t, len(want.Rows), 5)
				rows, err := csv.NewReader(strings.NewReader(string(file))).ReadAll()
				require.NoError(t, err)
				b := newBook(t)
				for i, row := range rows {
					cells := make([]any, len(row))
					for j, c := range row {
						if v, err := strconv.ParseFloat(c, 64); typed && err == nil {
							cells[j] = v
						} else if c != "" {
							cells[j] = c
						}
					}
					b.set("Sheet1", i+1, cells...)
				}
				got, err := intake.ReadTables([]intake.Table{only(t, b.bytes())}, opt)
				require.NoError(t, err)
				require.Equal(t, want.Kind, got.Kind)
				require.Equal(t, want.Rows, got.Rows)
				require.Equal(t, want.Problems, got.Problems)
				require.Equal(t, want.Columns(), got.Columns())
			})
		}
	}
}
