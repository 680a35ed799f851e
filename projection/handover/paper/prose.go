package paper

import (
	"codeberg.org/go-pdf/fpdf"

	"pairwalk/projection/handover"
)

// headline is a heading; it never stands alone at the foot of a page.
type headline struct {
	handover.Heading
	next piece // nil for none
}

const headGap mm = 4.5

func (h headline) lying(p *press) bool { return h.next != nil && h.next.lying(p) }

func (h headline) tall(p *press, wide bool) mm {
	return line(headType)*mm(len(p.bold.lines(h.Text, headType, min(width(wide), textWide)))) + 1.5
}

func (h headline) begin(p *press, wide bool) mm {
	need := h.tall(p, wide)
	if h.next != nil {
		need += headGap + h.next.begin(p, wide) // no piece leaves more above it
	}
	return min(need, p.full(wide))
}

func (h headline) set(p *press) {
	lying := h.lying(p)
	switch {
	case h.NewPage && !p.fresh, lying && !p.wide():
		p.turn(lying)
	default:
		p.gap(headGap)
		if h.begin(p, p.wide()) > p.room() && !p.fresh {
			p.turn(lying)
		}
	}
	p.anchorHere(h.Text, 1)
	for _, l := range p.bold.lines(h.Text, headType, p.column()) {
		p.need(line(headType))
		p.write(p.bold, headType, leftEdge, p.y, l, black)
		p.y += line(headType)
	}
	p.y += 1.5
}

// paragraph is running text. No single line of it is left behind or sent ahead.
type paragraph struct {
	text string
	size pt
}

func (t paragraph) lying(*press) bool { return false }

func (t paragraph) begin(p *press, wide bool) mm {
	return line(t.size) * mm(min(2, len(p.regular.lines(t.text, t.size, min(width(wide), textWide)))))
}

func (t paragraph) set(p *press) {
	if t.text == "" {
		return
	}
	h := line(t.size)
	for left := p.regular.lines(t.text, t.size, p.column()); len(left) > 0; {
		n := min(int(p.room()/h), len(left))
		if n < len(left) && len(left)-n < 2 {
			n-- // two go on to the next page
		}
		if n < min(2, len(left)) && p.y > topEdge {
			p.turn(false)
			continue
		}
		n = max(n, 1)
		for _, l := range left[:n] {
			p.write(p.regular, t.size, leftEdge, p.y, l, black)
			p.y += h
		}
		left = left[n:]
	}
	p.y += 2
}

// caution is framed, with a triangle and the word. Where it is taller than a page,
// every piece has the whole frame.
// It stays with the table it stands before.
type caution struct {
	text string
	next piece // nil for none
}

const (
	cautionType   = bodyType + 0.5
	cautionIndent = mm(17)
	cautionPad    = mm(3)
)

func (c caution) lying(p *press) bool {
	switch c.next.(type) {
	case caution, *table:
		return c.next.lying(p)
	}
	return false
}

func (c caution) lines(p *press, wide bool) []string {
	return p.regular.lines(c.text, cautionType, min(width(wide), textWide)-cautionIndent-cautionPad)
}

func (c caution) begin(p *press, wide bool) mm {
	need := min(cautionTall(len(c.lines(p, wide))), p.full(wide))
	if with := need + cautionAfter + c.following(p, wide); with <= p.full(wide)/2 {
		return with
	}
	return need
}

// cautionAfter is the white below a frame, and above what follows.
const cautionAfter mm = 4.5

// following is the height without which what follows does not begin, where it is about
// that the caution is.
func (c caution) following(p *press, wide bool) mm {
	switch c.next.(type) {
	case caution, paragraph, *table:
		return c.next.begin(p, wide)
	}
	return 0
}

// cautionTall is the height of a frame around that many lines and the word.
func cautionTall(lines int) mm {
	return max(line(cautionType)*mm(lines+1)+2*cautionPad, 14.5)
}

func (c caution) set(p *press) {
	p.gap(1)
	lying := c.lying(p)
	if tall := c.begin(p, p.wide()); lying && !p.wide() || tall > p.room() && p.y > topEdge {
		p.turn(lying)
	}
	word := "CAUTION"
	for left := c.lines(p, p.wide()); len(left) > 0; word = "CAUTION, continued" {
		n := max(1, min(len(left), int((p.room()-2*cautionPad)/line(cautionType))-1))
		p.frameCaution(word, left[:n])
		if left = left[n:]; len(left) > 0 {
			p.turn(p.wide())
		}
	}
	p.y += 3
}

func (p *press) frameCaution(word string, lines []string) {
	h, w := cautionTall(len(lines)), p.column()
	x, y := leftEdge, p.y
	p.frame(x+0.4, y+0.4, w-0.8, h-0.8, 0.8, black)
	p.draw(func(pdf *fpdf.Fpdf) { warn(pdf, x+3.6, y+3, 10) })
	p.write(p.bold, cautionType, x+cautionIndent, y+cautionPad, word, black)
	for i, l := range lines {
		p.write(p.regular, cautionType, x+cautionIndent, y+cautionPad+mm(i+1)*line(cautionType), l, black)
	}
	p.y += h
}

// warn draws a warning triangle with its mark of exclamation.
func warn(pdf *fpdf.Fpdf, x, y, side mm) {
	h := side * 0.88
	pdf.SetDrawColor(black, black, black)
	pdf.SetFillColor(black, black, black)
	pdf.SetLineWidth(0.8)
	pdf.SetLineJoinStyle("round")
	pdf.Polygon([]fpdf.PointType{{X: x, Y: y + h}, {X: x + side, Y: y + h}, {X: x + side/2, Y: y}}, "D")
	pdf.SetLineJoinStyle("miter")
	mid := x + side/2
	pdf.Polygon([]fpdf.PointType{
		{X: mid - 0.65, Y: y + h*0.36}, {X: mid + 0.65, Y: y + h*0.36},
		{X: mid + 0.35, Y: y + h*0.68}, {X: mid - 0.35, Y: y + h*0.68},
	}, "F")
	pdf.Circle(mid, y+h*0.81, 0.6, "F")
}
