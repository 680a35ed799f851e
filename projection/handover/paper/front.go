package paper

import (
	"fmt"

	"codeberg.org/go-pdf/fpdf"
)

const practiceWord = "PRACTICE"

// setCover sets the title and the facts, at the height the eye looks for them.
func (p *press) setCover() {
	p.turn(false)
	p.y = 62
	if p.doc.Practice {
		p.y -= 20
		w := p.bold.width(practiceWord, partType) + 10
		p.fill(leftEdge, p.y, w, 12, black)
		p.write(p.bold, partType, leftEdge+5, p.y+(12-line(partType))/2, practiceWord, white)
		p.y += 20
	}
	for _, l := range p.bold.lines(p.doc.Title, coverType, p.width()) {
		p.need(line(coverType))
		p.write(p.bold, coverType, leftEdge, p.y, l, black)
		p.y += line(coverType)
	}
	if p.doc.Under != "" {
		p.y += 2
		paragraph{p.doc.Under, headType}.set(p)
	}
	p.y += 3
	p.stroke(leftEdge, p.y, leftEdge+p.width(), p.y, 0.8, black)
	p.y += 6
	facts(p.doc.Facts).set(p)
}

const (
	pageNumber  mm = 14 // of the contents: room for a page's number
	sectionStep mm = 6
)

// setContents sets the contents of what is already set. shift is how many sheets
// stand before it and will stand, page says where each sheet is.
func (p *press) setContents(anchors []anchor, page func(*sheet) int, links []int) {
	p.part = "Contents"
	p.turn(false)
	for _, l := range p.bold.lines("Contents", partType, p.width()) {
		p.write(p.bold, partType, leftEdge, p.y, l, black)
		p.y += line(partType)
	}
	p.y += 1
	p.stroke(leftEdge, p.y, leftEdge+p.width(), p.y, 0.5, black)
	p.y += 4
	if len(anchors) == 0 {
		p.write(p.regular, bodyType, leftEdge, p.y, "None: this pack has no parts.", black)
	}
	for i, a := range anchors {
		f, size, indent := p.bold, bodyType+0.5, 0.0
		if a.level > 0 {
			f, size, indent = p.regular, bodyType-0.5, sectionStep
		} else if i > 0 {
			p.gap(1.8)
		}
		lines := f.lines(a.title, size, p.width()-indent-pageNumber)
		tall := line(size) * mm(len(lines))
		if a.level == 0 && i+1 < len(anchors) && anchors[i+1].level > 0 {
			p.need(tall + line(size)) // a part is not parted from its first section
		}
		p.need(min(tall, p.full(false)))
		p.entry(f, size, indent, lines, fmt.Sprint(page(a.sheet)), links, i)
	}
}

// entry prints a line of the contents, with a leader to its page.
func (p *press) entry(f *face, size pt, indent mm, lines []string, number string, links []int, i int) {
	top, x := p.y, leftEdge+indent
	for j, l := range lines {
		p.need(line(size))
		top = min(top, p.y)
		p.write(f, size, x, p.y, l, black)
		if j == len(lines)-1 {
			from, to := x+f.width(l, size)+2, leftEdge+p.width()-f.width(number, size)-2
			base := p.y + line(size)*0.72
			p.draw(func(pdf *fpdf.Fpdf) { leader(pdf, from, to, base) })
			p.writeRight(f, size, leftEdge+p.width(), p.y, number, black)
		}
		p.y += line(size)
	}
	w, h := p.width()-indent, p.y-top
	p.draw(func(pdf *fpdf.Fpdf) {
		if i < len(links) {
			pdf.Link(x, top, w, h, links[i])
		}
	})
}

// leader draws dots that stand in line with those of other entries.
func leader(pdf *fpdf.Fpdf, from, to, y mm) {
	const step mm = 1.6
	pdf.SetFillColor(rule, rule, rule)
	for n := int(from/step) + 1; mm(n)*step < to; n++ {
		pdf.Rect(mm(n)*step, y, 0.25, 0.25, "F")
	}
}
