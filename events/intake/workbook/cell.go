package workbook

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
)

// cell reads one cell.
func (s *sheet) cell(col, row int) (intake.Cell, error) {
	ref, err := excelize.CoordinatesToCellName(col, row)
	if err != nil {
		return intake.Cell{}, err
	}
	kind, err := s.f.GetCellType(s.name, ref)
	if err != nil {
		return intake.Cell{}, err
	}
	formula, err := s.f.GetCellFormula(s.name, ref)
	if err != nil {
		return intake.Cell{}, err
	}
	raw, err := s.f.GetCellValue(s.name, ref, excelize.Options{RawCellValue: true})
	if err != nil {
		return intake.Cell{}, err
	}
	if formula != "" {
		s.formula(ref, raw == "")
		if raw == "" && kind != excelize.CellTypeFormula {
			return intake.Cell{Wrong: fmt.Sprintf("%q is a formula that has no value yet", clip("="+formula)), Right: "open the workbook in a spreadsheet and save it, or put values in place of formulas"}, nil
		}
	}
	switch kind {
	case excelize.CellTypeBool:
		return intake.Cell{Text: map[string]string{"1": "TRUE", "0": "FALSE"}[raw]}, nil
	case excelize.CellTypeError:
		return intake.Cell{Wrong: fmt.Sprintf("%s is an error of the spreadsheet", clip(raw)), Right: "mend its formula, or write the value"}, nil
	case excelize.CellTypeDate:
		return isoDate(raw), nil
	case excelize.CellTypeNumber, excelize.CellTypeUnset:
		return s.number(ref, raw)
	}
	return intake.Cell{Text: raw}, nil
}

// formula remembers a cell that has one, for the notes.
func (s *sheet) formula(ref string, empty bool) {
	into := &s.formulas
	if empty {
		into = &s.emptied
	}
	if n := len(*into); n == 0 || (*into)[n-1] != ref { // a merged cell is read for each of its rows
		*into = append(*into, ref)
	}
}

// isoDate reads a date and time that is written out: 2026-03-31T14:05:00.
func isoDate(raw string) intake.Cell {
	text := strings.Replace(strings.TrimSuffix(raw, "Z"), "T", " ", 1)
	text, _, _ = strings.Cut(text, ".")
	text = strings.TrimSuffix(text, ":00")
	return intake.Cell{Text: text, Value: text, Is: intake.InTime}
}

// number reads a number, which may be a date or time by its format.
func (s *sheet) number(ref, raw string) (intake.Cell, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(raw), 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return intake.Cell{Text: raw}, nil // blank, or what no spreadsheet writes
	}
	f, err := s.format(ref)
	if err != nil {
		return intake.Cell{}, err
	}
	if f.general {
		return intake.Cell{Text: plain(v), Value: plain(v), Is: intake.InNumber}, nil
	}
	shown, err := s.f.GetCellValue(s.name, ref)
	if err != nil {
		return intake.Cell{}, err
	}
	if !f.time() {
		return intake.Cell{Text: strings.TrimSpace(shown), Value: plain(v), Is: intake.InNumber}, nil
	}
	text := shown
	if !f.elapsed {
		if text, err = f.moment(v, s.from1904); err != nil {
			return intake.Cell{Wrong: err.Error(), Right: "is the format of the cell right?"}, nil
		}
	}
	return intake.Cell{Text: text, Value: text, Is: intake.InTime}, nil
}

// format is the number format of a cell.
func (s *sheet) format(ref string) (format, error) {
	id, err := s.f.GetCellStyle(s.name, ref)
	if err != nil {
		return format{}, err
	}
	if f, known := s.formats[id]; known {
		return f, nil
	}
	f := format{general: true}
	if style, err := s.f.GetStyle(id); err == nil { // a style that is not there is none
		f = builtIn(style.NumFmt)
		if style.CustomNumFmt != nil {
			f = custom(*style.CustomNumFmt)
		}
	}
	s.formats[id] = f
	return f, nil
}

func clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// plain writes a number in full, to as many digits as a spreadsheet keeps.
func plain(v float64) string {
	const kept, nothing = 15, 1e-20
	if v > -nothing && v < nothing {
		return "0"
	}
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', kept, 64), 64)
	if err != nil {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}
