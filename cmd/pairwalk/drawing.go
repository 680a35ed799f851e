package main

import (
	"fmt"
	"math"
	"strings"

	"pairwalk/events"
)

// drawing is a floor in characters: walls, hubs and devices where they are, seen
// from above, with a ruler in metres on two sides.
type drawing struct {
	left, bottom float64 // mm, of the lowest corner
	col, row     float64 // mm a character is wide and high
	cells        [][]rune
	rank         [][]int // how much the mark in a cell matters
}

// A mark on a drawing. Where several fall into one cell, the one that matters most
// is drawn.
type mark struct {
	sign  rune
	words string
}

// The signs, from the one that matters least.
var signs = []mark{
	{'.', "not paired yet"},
	{'o', "has a path"},
	{'?', "may have a path, or not"},
	{'*', "has a path, and others hang on it"},
	{'-', "no power"},
	{'x', "no path"},
	{'H', "hub"},
}

const (
	wallSign    = '#'
	drawingWide = 72 // characters
	drawingHigh = 40
)

// newDrawing makes an empty one that holds all the points. A character is about
// twice as high as it is wide, so that squares look square.
func newDrawing(points []events.XY) *drawing {
	lo, hi := events.XY{X: math.MaxInt64, Y: math.MaxInt64}, events.XY{X: math.MinInt64, Y: math.MinInt64}
	for _, p := range points {
		lo.X, lo.Y = min(lo.X, p.X), min(lo.Y, p.Y)
		hi.X, hi.Y = max(hi.X, p.X), max(hi.Y, p.Y)
	}
	wide, high := float64(hi.X-lo.X), float64(hi.Y-lo.Y)
	col := max(wide/(drawingWide-1), high/(2*(drawingHigh-1)), 100)
	d := &drawing{left: float64(lo.X), bottom: float64(lo.Y), col: col, row: 2 * col}
	cols, rows := int(wide/d.col)+1, int(high/d.row)+1
	for range rows {
		d.cells = append(d.cells, []rune(strings.Repeat(" ", cols)))
		d.rank = append(d.rank, make([]int, cols))
	}
	return d
}

// cell is where a point falls; row 0 is the top.
func (d *drawing) cell(p events.XY) (row, col int) {
	col = min(int((float64(p.X)-d.left)/d.col), len(d.cells[0])-1)
	row = len(d.cells) - 1 - min(int((float64(p.Y)-d.bottom)/d.row), len(d.cells)-1)
	return row, col
}

// wall draws the line through some points.
func (d *drawing) wall(line []events.XY) {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		steps := int(max(math.Abs(float64(b.X-a.X))/d.col, math.Abs(float64(b.Y-a.Y))/d.row)*2) + 1
		for k := 0; k <= steps; k++ {
			t := float64(k) / float64(steps)
			row, col := d.cell(events.XY{X: a.X + int64(t*float64(b.X-a.X)), Y: a.Y + int64(t*float64(b.Y-a.Y))})
			if d.rank[row][col] == 0 {
				d.cells[row][col] = wallSign
			}
		}
	}
}

// mark puts a sign where it belongs, unless one that matters more is there.
func (d *drawing) mark(p events.Point, sign rune) {
	rank := 0
	for i, m := range signs {
		if m.sign == sign {
			rank = i + 1
		}
	}
	row, col := d.cell(events.XY{X: p.X, Y: p.Y})
	if rank > d.rank[row][col] {
		d.rank[row][col], d.cells[row][col] = rank, sign
	}
}

// String is the drawing with its rulers: y up the left side, x along the bottom.
func (d *drawing) String() string {
	var b strings.Builder
	for i, line := range d.cells {
		y := (d.bottom + float64(len(d.cells)-1-i)*d.row) / 1000
		label := "      "
		if i%5 == (len(d.cells)-1)%5 {
			label = fmt.Sprintf("%6.1f", y)
		}
		b.WriteString(strings.TrimRight(label+" |"+string(line), " ") + "\n")
	}
	axis, ruler := strings.Repeat(" ", 7)+"+", strings.Repeat(" ", 8)
	for c := 0; c < len(d.cells[0]); c++ {
		if c%12 == 0 {
			axis += "+"
			ruler += fmt.Sprintf("%-12.1f", (d.left+float64(c)*d.col)/1000)
		} else {
			axis += "-"
		}
	}
	return b.String() + axis + "\n" + strings.TrimRight(ruler, " ") + " m\n"
}

// legend explains the signs that were drawn.
func (d *drawing) legend() string {
	var drawn strings.Builder
	for _, line := range d.cells {
		drawn.WriteString(string(line))
	}
	var parts []string
	for _, m := range append([]mark{{wallSign, "wall"}}, signs...) {
		if strings.ContainsRune(drawn.String(), m.sign) {
			parts = append(parts, fmt.Sprintf("%c %s", m.sign, m.words))
		}
	}
	return strings.Join(parts, "   ")
}
