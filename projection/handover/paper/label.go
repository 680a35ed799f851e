package paper

import (
	"math"

	"codeberg.org/go-pdf/fpdf"

	"pairwalk/projection/handover"
)

// box is a rectangle on paper, from its upper left to its lower right corner.
type box struct{ left, top, right, bottom mm }

func (b box) meets(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom
}

func (b box) within(o box) bool {
	return b.left >= o.left && b.right <= o.right && b.top >= o.top && b.bottom <= o.bottom
}

// taken knows what places are taken, by squares of the paper.
type taken map[[2]int][]box

const takenSide mm = 8

func (t taken) squares(b box, do func(square [2]int)) {
	for i := int(math.Floor(b.left / takenSide)); i <= int(b.right/takenSide); i++ {
		for j := int(math.Floor(b.top / takenSide)); j <= int(b.bottom/takenSide); j++ {
			do([2]int{i, j})
		}
	}
}

func (t taken) take(b box) {
	t.squares(b, func(s [2]int) { t[s] = append(t[s], b) })
}

func (t taken) free(b box) bool {
	free := true
	t.squares(b, func(s [2]int) {
		for _, o := range t[s] {
			free = free && !b.meets(o)
		}
	})
	return free
}

// radius of marks: smaller where they stand close, never so small that shapes could
// not be told apart.
func (v *view) radius() mm {
	const most, least = 1.5, 0.9
	closest := math.Inf(1)
	near := taken{}
	for _, m := range v.Marks {
		at := v.at(m.At)
		around := box{at.X - 2*most, at.Y - 2*most, at.X + 2*most, at.Y + 2*most}
		near.squares(around, func(s [2]int) {
			for _, o := range near[s] {
				if d := math.Hypot(o.left-at.X, o.top-at.Y); d > 2*least {
					closest = min(closest, d)
				}
			}
		})
		near.take(box{at.X, at.Y, at.X, at.Y})
	}
	return min(most, max(least, closest/2*0.95))
}

// Of a tag's box: the height of its capitals, what is above them, and all with what
// reaches below the line.
const (
	labelCap  = capHeight * labelType * pointMM
	labelRise = mm(0.2)
	labelTall = labelRise + labelCap + 0.24*labelType*pointMM
)

// drawMarks draws the marks and, where there is room, their tags: nothing is laid
// over anything. It gives the number of tags without room.
func (v *view) drawMarks(within box) (skipped int) {
	r := v.radius()
	used := taken{}
	for _, m := range v.Marks {
		at := v.at(m.At)
		used.take(box{at.X - r*1.15, at.Y - r*1.15, at.X + r*1.15, at.Y + r*1.15})
	}
	ways, walls := v.drawn()
	for _, m := range v.Marks {
		if m.Label == "" {
			continue
		}
		label := v.p.regular.lines(m.Label, labelType, 1e6)
		if place, ok := v.place(label[0], v.at(m.At), r, within, used, walls, ways); ok && len(label) == 1 {
			used.take(place)
			v.p.fill(place.left, place.top, place.right-place.left, place.bottom-place.top, white)
			v.p.write(v.p.regular, labelType, place.left+0.3, place.top+labelRise-(line(labelType)-labelCap)/2, label[0], black)
			continue
		}
		skipped++
	}
	for _, m := range v.Marks {
		at := v.at(m.At)
		v.p.draw(func(pdf *fpdf.Fpdf) { mark(pdf, m, at.X, at.Y, r) })
	}
	return skipped
}

// drawn gives the places of the lines.
func (v *view) drawn() (ways, walls taken) {
	ways, walls = taken{}, taken{}
	for _, l := range v.Lines {
		into, half := ways, 0.15
		if l.Style == handover.WallLine {
			into, half = walls, 0.5
		}
		for i := 1; i < len(l.Points); i++ {
			a, b := v.at(l.Points[i-1]), v.at(l.Points[i])
			n := int(math.Hypot(b.X-a.X, b.Y-a.Y)) + 1
			for j := range n + 1 {
				x, y := a.X+(b.X-a.X)*mm(j)/mm(n), a.Y+(b.Y-a.Y)*mm(j)/mm(n)
				into.take(box{x - half, y - half, x + half, y + half})
			}
		}
	}
	return ways, walls
}

// place finds room for a tag beside its mark: right, left, above, below or askew. It
// lies on a way only where it must, and never on a wall.
func (v *view) place(label string, at point, r mm, within box, used, walls, ways taken) (box, bool) {
	var onWay *box
	w, h := v.p.regular.width(label, labelType)+0.6, labelTall
	off := r*1.15 + 0.1
	for _, corner := range []point{
		{X: at.X + off, Y: at.Y - h/2}, {X: at.X - off - w, Y: at.Y - h/2},
		{X: at.X - w/2, Y: at.Y - off - h}, {X: at.X - w/2, Y: at.Y + off},
		{X: at.X + off*0.7, Y: at.Y - off*0.7 - h}, {X: at.X + off*0.7, Y: at.Y + off*0.7},
		{X: at.X - off*0.7 - w, Y: at.Y - off*0.7 - h}, {X: at.X - off*0.7 - w, Y: at.Y + off*0.7},
	} {
		b := box{corner.X, corner.Y, corner.X + w, corner.Y + h}
		if !b.within(within) || !used.free(b) || !walls.free(b) {
			continue
		}
		if ways.free(b) {
			return b, true
		}
		if onWay == nil {
			onWay = &b
		}
	}
	if onWay == nil {
		return box{}, false
	}
	return *onWay, true
}
