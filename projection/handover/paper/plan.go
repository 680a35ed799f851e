package paper

import (
	"math"
	"strconv"

	"codeberg.org/go-pdf/fpdf"

	"pairwalk/projection/handover"
)

const (
	planInset mm = 6        // between the frame and what is drawn
	leastTall mm = 40       // of a frame, whatever stands around it
	manyMarks    = 20       // fewer never lay a sheet across
	largest      = 1.0 / 20 // scale: a cupboard does not fill a page
	labelType pt = 6.5
	keyType   pt = tableType
)

// plan is a drawing, fitted to the page.
type plan struct {
	handover.Drawing
	minX, minY, spanX, spanY float64 // of the building, in its millimetres
	empty                    bool
}

func newPlan(d handover.Drawing) *plan {
	minX, minY, maxX, maxY := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	add := func(at [2]int64) {
		x, y := float64(at[0]), float64(at[1])
		minX, minY, maxX, maxY = min(minX, x), min(minY, y), max(maxX, x), max(maxY, y)
	}
	if d.Min != d.Max {
		add(d.Min)
		add(d.Max)
	}
	for _, l := range d.Lines {
		for _, at := range l.Points {
			add(at)
		}
	}
	for _, m := range d.Marks {
		add(m.At)
	}
	pl := &plan{Drawing: d, empty: math.IsInf(minX, 1)}
	if !pl.empty {
		pl.minX, pl.spanX, pl.minY, pl.spanY = minX, maxX-minX, minY, maxY-minY
	}
	return pl
}

// scale is how many millimetres of paper stand for one of the building. A span of
// nothing asks for no end of paper, and gets the largest scale.
func (pl *plan) scale(w, h mm) float64 {
	return min((w-2*planInset)/pl.spanX, (max(h, leastTall)-2*planInset)/pl.spanY, largest)
}

// full is the scale on a sheet of its own.
func (pl *plan) full(p *press, wide bool) float64 {
	return pl.scale(width(wide), p.full(wide)-p.captionTall(pl.Caption, wide)-pl.around(p, wide)-12)
}

func (pl *plan) lying(p *press) bool {
	return len(pl.Marks) > manyMarks && pl.full(p, true) > 1.25*pl.full(p, false)
}

// around is the height of all but the drawing itself and its caption.
func (pl *plan) around(p *press, wide bool) mm {
	return 9 + pl.key(p, wide).tall() + 6
}

// begin asks for four fifths of the size it would have on a sheet of its own.
func (pl *plan) begin(p *press, wide bool) mm {
	if pl.empty {
		return p.captionTall(pl.Caption, wide) + line(bodyType)
	}
	return p.captionTall(pl.Caption, wide) + pl.around(p, wide) + 0.8*(pl.spanY*pl.full(p, wide)+2*planInset)
}

func (pl *plan) set(p *press) {
	p.gap(1.5)
	lying := pl.lying(p)
	if lying && !p.wide() || pl.begin(p, p.wide()) > p.room() && (!p.fresh || pl.begin(p, p.wide()) > 2*p.room()) {
		p.turn(lying)
	}
	p.setCaption(pl.Caption)
	if pl.empty {
		paragraph{"Nothing here has a place.", bodyType}.set(p)
		return
	}
	if p.room() < pl.around(p, p.wide())+leastTall {
		p.turn(lying)
	}
	scale := pl.scale(p.width(), p.room()-pl.around(p, p.wide()))
	h := pl.spanY*scale + 2*planInset
	v := &view{plan: pl, p: p, scale: scale, x: leftEdge + (p.width()-pl.spanX*scale)/2, y: p.y + h - planInset}
	p.frame(leftEdge, p.y, p.width(), h, 0.15, rule)
	v.drawLines()
	skipped := v.drawMarks(box{leftEdge, p.y, leftEdge + p.width(), p.y + h})
	p.y += h + 2
	p.scaleBar(scale)
	if skipped > 0 {
		p.writeRight(p.regular, smallType, leftEdge+p.width(), p.y-6, "Tags that have no room here stand in the table.", quiet)
	}
	pl.key(p, p.wide()).set(p)
	p.y += 3
}

// view is a plan at its place on a sheet.
type view struct {
	*plan
	p     *press
	scale float64
	x, y  mm // of the lower left corner of the building
}

func (v *view) at(c [2]int64) point {
	return point{X: v.x + (float64(c[0])-v.minX)*v.scale, Y: v.y - (float64(c[1])-v.minY)*v.scale}
}

// drawLines draws ways below walls.
func (v *view) drawLines() {
	for _, style := range []handover.LineStyle{handover.RawLine, handover.WayLine, handover.WallLine} {
		for _, l := range v.Lines {
			if styleOf(l) != style || len(l.Points) < 2 {
				continue
			}
			path := make([]point, len(l.Points))
			for i, c := range l.Points {
				path[i] = v.at(c)
			}
			v.p.draw(func(pdf *fpdf.Fpdf) { polyline(pdf, style, path) })
		}
	}
}

// styleOf takes a line of no known style for one that is not sure.
func styleOf(l handover.Line) handover.LineStyle {
	if l.Style == handover.WallLine || l.Style == handover.WayLine {
		return l.Style
	}
	return handover.RawLine
}

func polyline(pdf *fpdf.Fpdf, style handover.LineStyle, path []point) {
	pdf.SetDrawColor(black, black, black)
	pdf.SetLineWidth(map[handover.LineStyle]mm{handover.WallLine: 0.7}[style] + 0.2)
	pdf.SetLineJoinStyle("round")
	if style == handover.RawLine {
		pdf.SetDashPattern([]float64{1.1, 0.9}, 0)
		defer pdf.SetDashPattern([]float64{}, 0)
	}
	pdf.MoveTo(path[0].X, path[0].Y)
	for _, at := range path[1:] {
		pdf.LineTo(at.X, at.Y)
	}
	pdf.DrawPath("D")
}

// scaleBar draws a bar of a round length in metres.
func (p *press) scaleBar(scale float64) {
	longest := 45 / scale / 1000 // metres
	step := math.Pow(10, math.Floor(math.Log10(longest)))
	for _, n := range []float64{5, 2} {
		if n*step <= longest {
			step *= n
			break
		}
	}
	long := step * 1000 * scale
	for i := range 4 {
		if i%2 == 0 {
			p.fill(leftEdge+mm(i)*long/4, p.y, long/4, 1.3, black)
		}
	}
	p.frame(leftEdge, p.y, long, 1.3, 0.2, black)
	p.write(p.regular, smallType, leftEdge, p.y+1.8, "0", black)
	words := strconv.FormatFloat(step, 'f', -1, 64) + " m"
	p.write(p.regular, smallType, leftEdge+max(long-p.regular.width(words, smallType)/2, 3), p.y+1.8, words, black)
	p.y += 7
}
