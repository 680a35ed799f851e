package intake

import (
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"pairwalk/events"
)

// pointsMost is how many points the line of a wall may have; a log's line holds
// some three thousand.
const pointsMost = 1000

// points reads a line on the plan: "x y; x y; …", with ; or a line break between
// points. Nil where the cell is empty or wrong.
func (r *row) points(column string) []events.XY {
	const form = "write them like 0 0; 5.5 0; 5.5 3"
	var line []events.XY
	for _, part := range strings.FieldsFunc(r.shown(column), func(c rune) bool { return c == ';' || c == '\n' }) {
		if tidy(part) == "" {
			continue
		}
		p, err := r.point(column, tidy(part))
		if err != nil {
			r.wrong(column, err.Error(), form)
			return nil
		}
		if !r.near(events.Point{X: p.X, Y: p.Y}, column, column).Known {
			return nil
		}
		if len(line) == 0 || line[len(line)-1] != p {
			line = append(line, p)
		}
	}
	switch {
	case r.shown(column) == "":
		r.wrong(column, "is empty", form)
	case len(line) == 0:
		r.wrong(column, "has no point", form)
	case len(line) == 1:
		r.wrong(column, fmt.Sprintf("%q is a single place, and a wall goes from one to another", clip(r.shown(column))), form)
	case len(line) > pointsMost:
		r.wrong(column, fmt.Sprintf("has %d points, and the most is %d", len(line), pointsMost), "split the wall")
	default:
		return line
	}
	return nil
}

// point reads "x y". A comma is a decimal sign only where space parts the two
// numbers; at the end of the first it is no more than space.
func (r *row) point(column, text string) (events.XY, error) {
	parts := strings.Fields(text)
	if len(parts) == 1 && strings.ContainsAny(text, ",") {
		return events.XY{}, fmt.Errorf("%q may be one number or two: write x and y with a space between", clip(text))
	}
	if len(parts) != 2 {
		return events.XY{}, fmt.Errorf("%q is not a point, which has an x and a y", clip(text))
	}
	var v [2]int64
	for i, part := range parts {
		mm, err := millimetres(strings.TrimSuffix(part, ","), r.headings[column].unit, comma{sep: r.sep})
		if err != nil {
			return events.XY{}, err
		}
		if mm < -gridMost || mm > gridMost {
			return events.XY{}, fmt.Errorf("%q is further than %s m away", clip(part), metres(gridMost))
		}
		v[i] = mm
	}
	return events.XY{X: v[0], Y: v[1]}, nil
}

// oneWay is a line in the one of its two directions that sorts first.
func oneWay(line []events.XY) []events.XY {
	back := slices.Clone(line)
	slices.Reverse(back)
	order := func(a, b events.XY) int {
		if a.X != b.X {
			return int(max(-1, min(1, a.X-b.X)))
		}
		return int(max(-1, min(1, a.Y-b.Y)))
	}
	if slices.CompareFunc(back, line, order) < 0 {
		return back
	}
	return line
}

// lineText writes a line as the sheet has it.
func lineText(line []events.XY) string {
	parts := make([]string, len(line))
	for i, p := range line {
		parts[i] = metres(p.X) + " " + metres(p.Y)
	}
	return strings.Join(parts, "; ")
}

// lineShown is a line for people, whichever way it runs; a long one is cut, and
// still differs from every other.
func lineShown(line []events.XY) string {
	const most = 6
	line = oneWay(line)
	if len(line) <= most {
		return lineText(line)
	}
	return fmt.Sprintf("%s; … (%d points, %s)", lineText(line[:2]), len(line), digest(lineText(line)))
}

// wallName makes a wall's name from where it runs, and of its material where
// that alone is not enough.
func wallName(p events.WallListed, material string) string {
	const floorMost = 16
	text := fmt.Sprintf("%s: %s", p.Floor, lineText(oneWay(p.Line)))
	if material != "" {
		text += " " + material
	}
	if utf8.RuneCountInString(text) <= nameMost {
		return text
	}
	floor := []rune(string(p.Floor))
	return fmt.Sprintf("%s: %s … %s", string(floor[:min(len(floor), floorMost)]), lineText(oneWay(p.Line)[:1]), digest(text))
}

// digest is a short sum of a text.
func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return fmt.Sprintf("%x", sum[:4])
}
