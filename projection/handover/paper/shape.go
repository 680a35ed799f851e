package paper

import (
	"math"

	"codeberg.org/go-pdf/fpdf"

	"pairwalk/projection/handover"
)

// point is a place on paper.
type point = fpdf.PointType

// outline gives the corners of a shape about the origin, one unit from it to the
// farthest; y downwards, as on paper.
func outline(s handover.Shape) []point {
	switch s {
	case handover.Square:
		return []point{{X: -.8, Y: -.8}, {X: .8, Y: -.8}, {X: .8, Y: .8}, {X: -.8, Y: .8}}
	case handover.Triangle:
		return []point{{X: 0, Y: -1}, {X: .95, Y: .75}, {X: -.95, Y: .75}}
	case handover.Diamond:
		return []point{{X: 0, Y: -1}, {X: 1, Y: 0}, {X: 0, Y: 1}, {X: -1, Y: 0}}
	case handover.Star:
		return ring(10, func(i int) mm { return []mm{1.08, .46}[i%2] })
	case handover.Cross:
		const a, b = .34, 1
		return []point{
			{X: -a, Y: -b}, {X: a, Y: -b}, {X: a, Y: -a}, {X: b, Y: -a}, {X: b, Y: a}, {X: a, Y: a},
			{X: a, Y: b}, {X: -a, Y: b}, {X: -a, Y: a}, {X: -b, Y: a}, {X: -b, Y: -a}, {X: -a, Y: -a},
		}
	}
	return ring(32, func(int) mm { return .92 })
}

// ring gives n points around the origin, from the top.
func ring(n int, radius func(i int) mm) []point {
	out := make([]point, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = point{X: radius(i) * sin, Y: -radius(i) * cos}
	}
	return out
}

// leftHalf cuts off what lies right of the origin.
func leftHalf(poly []point) []point {
	var out []point
	for i, a := range poly {
		b := poly[(i+1)%len(poly)]
		if a.X <= 0 {
			out = append(out, a)
		}
		if (a.X < 0) != (b.X < 0) && a.X != b.X {
			out = append(out, point{X: 0, Y: a.Y + (b.Y-a.Y)*a.X/(a.X-b.X)})
		}
	}
	return out
}

// placed moves a shape to its place and gives it its radius.
func placed(poly []point, x, y, radius mm) []point {
	out := make([]point, len(poly))
	for i, c := range poly {
		out[i] = point{X: x + c.X*radius, Y: y + c.Y*radius}
	}
	return out
}

// mark draws a shape with its fill. Around it a little is left white, so that it
// stands clear of lines.
func mark(pdf *fpdf.Fpdf, m handover.Mark, x, y, radius mm) {
	poly := outline(m.Shape)
	pdf.SetLineJoinStyle("miter")
	pdf.SetFillColor(white, white, white)
	pdf.SetDrawColor(white, white, white)
	pdf.SetLineWidth(0.28 + radius*0.3)
	pdf.Polygon(placed(poly, x, y, radius), "DF")
	pdf.SetDrawColor(black, black, black)
	pdf.SetLineWidth(0.28)
	switch m.Fill {
	case handover.Solid:
		pdf.SetFillColor(black, black, black)
		pdf.Polygon(placed(poly, x, y, radius), "DF")
	case handover.Half:
		pdf.SetFillColor(black, black, black)
		pdf.Polygon(placed(leftHalf(poly), x, y, radius), "F")
		pdf.Polygon(placed(poly, x, y, radius), "D")
	default:
		pdf.Polygon(placed(poly, x, y, radius), "D")
	}
}
