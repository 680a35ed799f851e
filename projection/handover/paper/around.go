package paper

import (
	"fmt"

	"codeberg.org/go-pdf/fpdf"
)

const footNumber mm = 24 // beside the foot, for page n of m

// around paints what stands above and below a page.
func (p *press) around(pdf *fpdf.Fpdf, s *sheet, n int) {
	w := width(s.wide)
	right := leftEdge + w
	say := func(f *face, x, y mm, words string, grey int) {
		pdf.SetFont(family, f.style, smallType)
		pdf.SetTextColor(grey, grey, grey)
		pdf.Text(x, y, visual(words))
	}
	across := func(y mm) {
		pdf.SetDrawColor(rule, rule, rule)
		pdf.SetLineWidth(0.15)
		pdf.Line(leftEdge, y, right, y)
	}
	if n > 1 {
		half := w/2 - 16
		say(p.regular, leftEdge, 14, p.regular.short(p.doc.Title, smallType, half), quiet)
		part := p.regular.short(s.part, smallType, half)
		say(p.regular, right-p.regular.width(part, smallType), 14, part, quiet)
		across(16)
	}
	if p.doc.Practice {
		long := p.bold.width(practiceWord, smallType)
		x := leftEdge + (w-long)/2
		pdf.SetFillColor(black, black, black)
		pdf.Rect(x-2, 10.6, long+4, 4.6, "F")
		say(p.bold, x, 14, practiceWord, white)
	}
	y := p.bottom(s.wide) + 2
	across(y)
	for i, l := range p.foot {
		say(p.regular, leftEdge, y+3.4+mm(i)*footLine, l, quiet)
	}
	page := fmt.Sprintf("page %d of %d", n, len(p.sheets))
	say(p.regular, right-p.regular.width(page, smallType), y+3.4, page, quiet)
}
