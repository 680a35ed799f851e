package paper

import (
	"codeberg.org/go-pdf/fpdf"

	"pairwalk/projection/handover"
)

// What a page is, in millimetres: A4, with room at the left to file it.
const (
	shortSide mm = 210
	longSide  mm = 297
	leftEdge  mm = 20
	rightEdge mm = 15
	topEdge   mm = 24
	footLine  mm = 3.4
	textWide  mm = 175 // no paragraph is wider: the eye would lose its line
)

// Sizes of type.
const (
	smallType pt = 7.5
	tableType pt = 8
	bodyType  pt = 9.5
	headType  pt = 12
	partType  pt = 18
	coverType pt = 26
)

// Greys, 0 is black.
const (
	black    = 0
	quiet    = 70
	rule     = 150
	headGrey = 226
	shade    = 243
	white    = 255
)

// sheet is a page: what is painted on it, in order.
type sheet struct {
	wide  bool
	part  string
	paint []func(*fpdf.Fpdf)
}

// anchor is a place that the contents and the outline lead to.
type anchor struct {
	title string
	level int
	sheet *sheet
	y     mm
}

// press sets a document, sheet by sheet. Nothing is painted before all is set, since
// every page names the number of pages.
type press struct {
	doc     handover.Document
	regular *face
	bold    *face
	foot    []string
	sheets  []*sheet
	anchors []anchor
	part    string
	y       mm
	fresh   bool // nothing but the part's title is on the sheet
}

func (p *press) sheet() *sheet { return p.sheets[len(p.sheets)-1] }

func (p *press) wide() bool { return len(p.sheets) > 0 && p.sheet().wide }

// width of what is printed, by how the sheet lies.
func width(wide bool) mm {
	if wide {
		return longSide - leftEdge - rightEdge
	}
	return shortSide - leftEdge - rightEdge
}

func height(wide bool) mm {
	if wide {
		return shortSide
	}
	return longSide
}

func (p *press) width() mm { return width(p.wide()) }

// column is the width of a paragraph.
func (p *press) column() mm { return min(p.width(), textWide) }

// bottom is where the foot begins.
func (p *press) bottom(wide bool) mm {
	return height(wide) - 12 - footLine*mm(len(p.foot))
}

// room is what is left of the sheet; full is what a sheet without a title has.
func (p *press) room() mm          { return p.bottom(p.wide()) - p.y }
func (p *press) full(wide bool) mm { return p.bottom(wide) - topEdge }

// turn begins a sheet.
func (p *press) turn(wide bool) {
	p.sheets = append(p.sheets, &sheet{wide: wide, part: p.part})
	p.y, p.fresh = topEdge, true
}

// need begins a sheet where less than this is left, unless nothing would be gained.
func (p *press) need(h mm) {
	if h > p.room() && p.y > topEdge {
		p.turn(false)
	}
}

// gap leaves room, but not at the top of a sheet.
func (p *press) gap(h mm) {
	if p.y > topEdge {
		p.y += h
	}
}

func (p *press) draw(op func(*fpdf.Fpdf)) {
	s := p.sheet()
	s.paint = append(s.paint, op)
}

// line is the height of a line of that size.
func line(size pt) mm { return size * pointMM * leading }

// write puts a legible line with its top at y.
func (p *press) write(f *face, size pt, x, y mm, s string, grey int) {
	if s == "" {
		return
	}
	base := y + (line(size)+capHeight*size*pointMM)/2
	p.draw(func(pdf *fpdf.Fpdf) {
		pdf.SetFont(family, f.style, size)
		pdf.SetTextColor(grey, grey, grey)
		pdf.Text(x, base, visual(s))
	})
}

// writeRight puts a line so that it ends at x.
func (p *press) writeRight(f *face, size pt, x, y mm, s string, grey int) {
	p.write(f, size, x-f.width(s, size), y, s, grey)
}

// stroke draws a straight line.
func (p *press) stroke(x1, y1, x2, y2, thick mm, grey int) {
	p.draw(func(pdf *fpdf.Fpdf) {
		pdf.SetDrawColor(grey, grey, grey)
		pdf.SetLineWidth(thick)
		pdf.Line(x1, y1, x2, y2)
	})
}

// fill paints a rectangle.
func (p *press) fill(x, y, w, h mm, grey int) {
	p.draw(func(pdf *fpdf.Fpdf) {
		pdf.SetFillColor(grey, grey, grey)
		pdf.Rect(x, y, w, h, "F")
	})
}

// frame draws a rectangle.
func (p *press) frame(x, y, w, h, thick mm, grey int) {
	p.draw(func(pdf *fpdf.Fpdf) {
		pdf.SetDrawColor(grey, grey, grey)
		pdf.SetLineWidth(thick)
		pdf.Rect(x, y, w, h, "D")
	})
}

// anchorHere lets the contents and the outline lead to here.
func (p *press) anchorHere(title string, level int) {
	p.anchors = append(p.anchors, anchor{title, level, p.sheet(), p.y})
}
