package workbook

import (
	"fmt"
	"io"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
)

// broadest is how wide a column gets, in characters of the usual font; the rest of
// a cell shows when it is chosen.
const broadest = 48

// Write writes tables as the sheets of an XLSX file. A sheet's name has at most 31
// characters and none of : \ / ? * [ ]. Every cell is text, so nothing is taken for
// a formula, and a serial keeps its zeros; the header stays in view.
func Write(w io.Writer, tables ...intake.Grid) error {
	f := excelize.NewFile()
	defer func() { _ = f.Close() }() // it holds nothing outside memory
	first := f.GetSheetName(0)
	for i, s := range tables {
		var err error
		if i == 0 {
			err = f.SetSheetName(first, s.Name)
		} else {
			_, err = f.NewSheet(s.Name)
		}
		if err == nil {
			err = fill(f, s)
		}
		if err != nil {
			return fmt.Errorf("write sheet %q: %w", s.Name, err)
		}
	}
	if _, err := f.WriteTo(w); err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	return nil
}

func fill(f *excelize.File, s intake.Grid) error {
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, NumFmt: 49})
	if err != nil {
		return err
	}
	text, err := f.NewStyle(&excelize.Style{NumFmt: 49}) // number format 49 is text: ECMA-376-1 §18.8.30
	if err != nil {
		return err
	}
	for i, row := range append([][]string{s.Header}, s.Rows...) {
		for j, cell := range row {
			at, err := excelize.CoordinatesToCellName(j+1, i+1)
			if err != nil {
				return err
			}
			if err := f.SetCellStr(s.Name, at, cell); err != nil {
				return err
			}
		}
	}
	return dress(f, s, bold, text)
}

// dress sets widths and styles, and keeps the header in view.
func dress(f *excelize.File, s intake.Grid, bold, text int) error {
	for j := range s.Header {
		name, err := excelize.ColumnNumberToName(j + 1)
		if err != nil {
			return err
		}
		width := utf8.RuneCountInString(s.Header[j])
		for _, row := range s.Rows {
			width = max(width, utf8.RuneCountInString(row[j]))
		}
		if err := f.SetColWidth(s.Name, name, name, float64(min(width, broadest)+2)); err != nil {
			return err
		}
		if err := f.SetColStyle(s.Name, name, text); err != nil {
			return err
		}
	}
	if err := f.SetRowStyle(s.Name, 1, 1, bold); err != nil {
		return err
	}
	return f.SetPanes(s.Name, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"})
}
