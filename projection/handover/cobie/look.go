package cobie

import (
	"github.com/xuri/excelize/v2"

	"pairwalk/projection/handover/cobie/register"
)

// looks are the workbook's styles.
type looks struct{ head, text, number, wrapped int }

// asText is the built-in number format @: what is typed into such a cell stays text.
const asText = 49

func (p *page) styles() looks {
	style := func(s excelize.Style) int {
		id, err := p.file.NewStyle(&s)
		p.do(err)
		return id
	}
	return looks{
		head: style(excelize.Style{
			NumFmt:    asText,
			Font:      &excelize.Font{Bold: true},
			Fill:      excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"E7E6E6"}},
			Border:    []excelize.Border{{Type: "bottom", Color: "404040", Style: 1}},
			Alignment: &excelize.Alignment{Vertical: "center"},
		}),
		text:    style(excelize.Style{NumFmt: asText, Alignment: &excelize.Alignment{Vertical: "top"}}),
		number:  style(excelize.Style{Alignment: &excelize.Alignment{Vertical: "top"}}),
		wrapped: style(excelize.Style{NumFmt: asText, Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}}),
	}
}

// layout makes a filled sheet readable: its heading stays in view and filters.
func (p *page) layout(s register.Sheet, widths []int) {
	last, rows := len(s.Columns), len(s.Rows)+1
	for i, w := range widths {
		column, err := excelize.ColumnNumberToName(i + 1)
		p.do(err)
		p.do(p.file.SetColWidth(s.Name, column, column, float64(w)))
		body := p.look.text
		if s.Columns[i].Number {
			body = p.look.number
		}
		if rows > 1 {
			p.do(p.file.SetCellStyle(s.Name, p.at(i+1, 2), p.at(i+1, rows), body))
		}
	}
	p.do(p.file.SetCellStyle(s.Name, "A1", p.at(last, 1), p.look.head))
	p.do(p.file.SetPanes(s.Name, &excelize.Panes{
		Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight",
	}))
	p.do(p.file.AutoFilter(s.Name, "A1:"+p.at(last, rows), nil))
	p.do(p.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: s.Name + "!$1:$1", Scope: s.Name}))
	p.onPaper(s.Name)
}

// onPaper fits a sheet to the width of a page, however many pages that takes.
func (p *page) onPaper(sheet string) {
	landscape, fit := "landscape", true
	wide, any := 1, 0
	p.do(p.file.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &wide, FitToHeight: &any}))
	p.do(p.file.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit}))
}
