package handover

import (
	"fmt"
	"strings"
)

// canvas is a drawing as SVG has it: y downwards, in millimetres, and how large
// marks and letters are.
type canvas struct {
	X, Y, W, H int64
	Unit       int64 // half the size of a mark
	Letter     int64 // height of a tag's letters
	Heavy      int64 // thickness of a wall
	Thin       int64 // and of a way
	Lines      []svgLine
	Marks      []svgMark
	Legend     []svgMark
}

type svgLine struct {
	Points string
	Style  LineStyle
}

type svgMark struct {
	Shape   Shape
	Fill    Fill
	X, Y    int64
	Path    string // outline
	Half    string // the filled half, for half-filled ones
	Label   string
	TextX   int64
	TextY   int64
	ViewBox string // of a legend's own little picture
}

// across is how many marks fit side by side.
const across = 110

func svgOf(d Drawing) canvas {
	c := canvas{X: d.Min[0], Y: -d.Max[1], W: max(d.Max[0]-d.Min[0], 1), H: max(d.Max[1]-d.Min[1], 1)}
	c.Unit = max(max(c.W, c.H*7/5)/across, 1)
	c.Letter, c.Heavy, c.Thin = max(c.Unit*3/2, 1), max(c.Unit/2, 1), max(c.Unit/7, 1)
	for _, l := range d.Lines {
		c.Lines = append(c.Lines, svgLine{points(l.Points), l.Style})
	}
	for _, m := range d.Marks {
		s := outline(m, m.At[0], -m.At[1], c.Unit)
		c.Marks = append(c.Marks, s)
	}
	c.place()
	const size = 100
	for _, m := range d.Legend {
		s := outline(m, 0, 0, size)
		s.ViewBox = fmt.Sprintf("%d %d %d %d", -size*13/10, -size*13/10, size*26/10, size*26/10)
		c.Legend = append(c.Legend, s)
	}
	return c
}

func points(ps [][2]int64) string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = fmt.Sprintf("%d,%d", p[0], -p[1])
	}
	return strings.Join(out, " ")
}

// outline draws a mark of half size u around x, y.
func outline(m Mark, x, y, u int64) svgMark {
	s := svgMark{Shape: m.Shape, Fill: m.Fill, X: x, Y: y, Label: m.Label}
	poly := func(ps ...[2]int64) string {
		words := make([]string, len(ps))
		for i, p := range ps {
			words[i] = fmt.Sprintf("%d %d", x+p[0]*u/100, y+p[1]*u/100)
		}
		return "M" + strings.Join(words, "L") + "Z"
	}
	switch m.Shape {
	case Square:
		s.Path = poly([2]int64{-85, -85}, [2]int64{85, -85}, [2]int64{85, 85}, [2]int64{-85, 85})
		s.Half = poly([2]int64{-85, -85}, [2]int64{0, -85}, [2]int64{0, 85}, [2]int64{-85, 85})
	case Triangle:
		s.Path = poly([2]int64{0, -100}, [2]int64{100, 80}, [2]int64{-100, 80})
		s.Half = poly([2]int64{0, -100}, [2]int64{0, 80}, [2]int64{-100, 80})
	case Diamond:
		s.Path = poly([2]int64{0, -115}, [2]int64{115, 0}, [2]int64{0, 115}, [2]int64{-115, 0})
		s.Half = poly([2]int64{0, -115}, [2]int64{0, 115}, [2]int64{-115, 0})
	case Star:
		s.Path = poly([2]int64{0, -170}, [2]int64{38, -53}, [2]int64{162, -53}, [2]int64{62, 20}, [2]int64{100, 138}, [2]int64{0, 65},
			[2]int64{-100, 138}, [2]int64{-62, 20}, [2]int64{-162, -53}, [2]int64{-38, -53})
		s.Half = s.Path
	case Cross:
		s.Path = fmt.Sprintf("M%d %dL%d %dM%d %dL%d %d", x-u*9/10, y-u*9/10, x+u*9/10, y+u*9/10, x-u*9/10, y+u*9/10, x+u*9/10, y-u*9/10)
	default:
		r := u * 95 / 100
		s.Path = fmt.Sprintf("M%d %da%d %d 0 1 0 %d 0a%d %d 0 1 0 %d 0Z", x-r, y, r, r, 2*r, r, r, -2*r)
		s.Half = fmt.Sprintf("M%d %da%d %d 0 0 0 0 %dZ", x, y-r, r, r, 2*r)
	}
	return s
}
