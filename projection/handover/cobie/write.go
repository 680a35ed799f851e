package cobie

import (
	"fmt"
	"io"

	"github.com/xuri/excelize/v2"

	"pairwalk/projection/handover"
	"pairwalk/projection/handover/cobie/register"
)

// Asks are what the log can't fill.
type Asks = register.Asks

// Write writes the site as a COBie 2.4 workbook, and says what nobody told.
func Write(w io.Writer, s handover.Source) (Asks, error) {
	book := register.Of(s.History, s.Moment, s.Site)
	if err := write(w, book, instruction(s)); err != nil {
		return nil, fmt.Errorf("write COBie workbook: %w", err)
	}
	return book.Asks, nil
}

// page writes one workbook; after the first error it does nothing.
type page struct {
	file *excelize.File
	look looks
	err  error
}

func (p *page) do(err error) {
	if p.err == nil {
		p.err = err
	}
}

func write(w io.Writer, book register.Book, say notes) error {
	p := &page{file: excelize.NewFile()}
	defer p.file.Close()
	p.look = p.styles()
	p.properties(say)
	p.instruct(say)
	for _, s := range book.Sheets {
		p.sheet(s)
	}
	if p.err != nil {
		return p.err
	}
	p.file.SetActiveSheet(0)
	return p.file.Write(w)
}

// properties fixes what the library would fill in by itself.
func (p *page) properties(say notes) {
	p.do(p.file.SetDocProps(&excelize.DocProperties{
		Title: clean(say.title), Creator: "pairwalk", LastModifiedBy: "pairwalk", Created: say.at, Modified: say.at,
	}))
	p.do(p.file.SetAppProps(&excelize.AppProperties{Application: "pairwalk"}))
}

// sheet writes one of COBie's sheets.
func (p *page) sheet(s register.Sheet) {
	_, err := p.file.NewSheet(s.Name)
	p.do(err)
	widths := make([]int, len(s.Columns))
	for i, c := range s.Columns {
		p.text(s.Name, i+1, 1, c.Name)
		widths[i] = width(c.Name) + 3 // room for the filter's button
	}
	for y, row := range s.Rows {
		for i, value := range row {
			p.cell(s.Name, i+1, y+2, value, s.Columns[i].Number)
			widths[i] = max(widths[i], width(value)+1)
		}
	}
	p.layout(s, widths)
}

// at names a cell.
func (p *page) at(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column, row)
	p.do(err)
	return name
}

func (p *page) text(sheet string, column, row int, value string) {
	p.do(p.file.SetCellStr(sheet, p.at(column, row), clean(value)))
}
