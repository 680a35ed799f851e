package handover

import "unicode/utf8"

// frame is a rectangle on a drawing as SVG has it.
type frame struct{ x0, y0, x1, y1 int64 }

// under is the area that two rectangles share.
func (r frame) under(o frame) int64 {
	w, h := min(r.x1, o.x1)-max(r.x0, o.x0), min(r.y1, o.y1)-max(r.y0, o.y0)
	if w <= 0 || h <= 0 {
		return 0
	}
	return w * h
}

// most is how many letters of a tag are shown on a drawing; the list beside it has
// the whole of it.
const most = 14

// place finds for each tag a place beside its mark, where it covers least of other
// marks, of other tags, and of what lies outside the drawing. It takes them in their
// order, so the same drawing always comes out the same.
func (c *canvas) place() {
	taken := make([]frame, 0, 2*len(c.Marks))
	u, h := c.Unit, c.Letter
	for _, m := range c.Marks {
		taken = append(taken, frame{m.X - u, m.Y - u, m.X + u, m.Y + u})
	}
	for i := range c.Marks {
		m := &c.Marks[i]
		if m.Label == "" {
			continue
		}
		m.Label = shortened(m.Label)
		w := int64(utf8.RuneCountInString(m.Label)) * h * 6 / 10
		best, least := frame{}, int64(-1)
		for _, at := range [][2]int64{ // the middle of the tag, from the middle of the mark
			{0, u + h*7/10}, {0, -u - h*7/10}, {u*5/4 + w/2, 0}, {-u*5/4 - w/2, 0},
			{w * 2 / 5, u + h*7/10}, {w * 2 / 5, -u - h*7/10}, {-w * 2 / 5, u + h*7/10}, {-w * 2 / 5, -u - h*7/10},
			{0, u + h*9/5}, {0, -u - h*9/5},
		} {
			f := frame{m.X + at[0] - w/2, m.Y + at[1] - h/2, m.X + at[0] + w/2, m.Y + at[1] + h/2}
			if n := c.covered(f, taken); least < 0 || n < least {
				best, least = f, n
			}
			if least == 0 {
				break
			}
		}
		m.TextX, m.TextY = (best.x0+best.x1)/2, (best.y0+best.y1)/2+h*35/100
		taken = append(taken, best)
	}
}

// covered is how much of what is drawn a tag would cover, and of itself what would
// lie outside.
func (c *canvas) covered(f frame, taken []frame) int64 {
	n := (f.x1-f.x0)*(f.y1-f.y0) - f.under(frame{c.X, c.Y, c.X + c.W, c.Y + c.H})
	for _, t := range taken {
		n += f.under(t)
	}
	return n
}

// shortened keeps the beginning of a tag that is too long to stand on a drawing.
func shortened(label string) string {
	if utf8.RuneCountInString(label) <= most {
		return label
	}
	runes := []rune(label)
	return string(runes[:most-1]) + "…"
}
