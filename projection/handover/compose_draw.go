package handover

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// legible is how many tags can be read on one drawing on a sheet of A4.
const legible = 80

// edge is the white around what is drawn.
const edge = 1_000 // mm

// spotOf is something with a place on a floor.
type spotOf struct {
	tag  events.Tag
	mark Mark
}

// draw draws a floor: whole, and where it holds more than can be read on one sheet,
// once more in parts that have the tags. partOf says which device is on which part.
// The words say what the drawing lacks.
func (c *composer) draw(f floor) (out []Drawing, partOf map[events.Tag]string, words string) {
	spots, missing := c.spots(f)
	if len(spots) == 0 {
		return nil, nil, "There is no drawing, since no places are known here. The list has everything that is known."
	}
	if len(missing) > 0 {
		words = fmt.Sprintf("Not on the drawing, since %s not known: %s.", verb(len(missing), "its place is", "their places are"), c.tags(missing))
	}
	whole := Drawing{Caption: f.title() + ": plan", Lines: append(c.walls(f), c.ways(spots)...), Legend: legend(spots)}
	for _, s := range spots {
		whole.Marks = append(whole.Marks, s.mark)
	}
	whole.Min, whole.Max = bounds(whole)
	if len(spots) <= legible {
		return []Drawing{whole}, nil, words
	}
	partOf = map[events.Tag]string{}
	parts := split(spots, legible/2)
	overview := whole
	overview.Caption += fmt.Sprintf(", without tags; parts 1 to %d follow", len(parts))
	overview.Marks = slices.Clone(whole.Marks)
	for i := range overview.Marks {
		if overview.Marks[i].Shape != Star {
			overview.Marks[i].Label = ""
		}
	}
	out = append(out, overview)
	for i, part := range parts {
		d := detail(whole, part)
		d.Caption = fmt.Sprintf("%s, part %d of %d: x %s to %s m, y %s to %s m", f.title(), i+1, len(parts), metres(d.Min[0]), metres(d.Max[0]), metres(d.Min[1]), metres(d.Max[1]))
		out = append(out, d)
		for _, s := range part {
			partOf[s.tag] = fmt.Sprint(i + 1)
		}
	}
	return out, partOf, words
}

// spots are the hubs and devices of a floor that have places, and the tags of the
// devices that have none.
func (c *composer) spots(f floor) (out []spotOf, missing []events.Tag) {
	for _, h := range f.Hubs {
		if h.Place.Known && h.Struck == nil {
			out = append(out, spotOf{events.Tag(h.Hub), Mark{At: xy(h.Place.Value), Shape: Star, Fill: Solid, Label: said(h.Hub)}})
		}
	}
	for _, d := range f.Devices {
		switch {
		case d.Struck != nil:
		case d.Place.Known:
			out = append(out, spotOf{d.Device, Mark{At: xy(d.Place.Value), Shape: shapeOf(d.Is), Fill: fillOf(d.State), Label: said(d.Device)}})
		default:
			missing = append(missing, d.Device)
		}
	}
	return out, missing
}

func xy(p events.Point) [2]int64 { return [2]int64{p.X, p.Y} }

func shapeOf(k events.DeviceKind) Shape {
	switch k {
	case events.Dimmer, events.Driver:
		return Circle
	case events.Switch, events.Relay:
		return Square
	case events.Sensor:
		return Triangle
	case events.WallControl:
		return Diamond
	}
	return Cross
}

func fillOf(s projection.State) Fill {
	switch s {
	case projection.Pushed:
		return Solid
	case projection.Paired, projection.Settled:
		return Half
	}
	return Hollow
}

// legend explains the shapes that are drawn, which tell kinds, and the fills, which
// tell states.
func legend(spots []spotOf) []Mark {
	used := map[Shape]bool{}
	for _, s := range spots {
		used[s.mark.Shape] = true
	}
	var out []Mark
	for _, m := range []Mark{
		{Shape: Star, Fill: Solid, Label: "kind: hub"},
		{Shape: Circle, Fill: Hollow, Label: "kind: dimmer or driver"},
		{Shape: Square, Fill: Hollow, Label: "kind: switch or relay"},
		{Shape: Triangle, Fill: Hollow, Label: "kind: sensor"},
		{Shape: Diamond, Fill: Hollow, Label: "kind: wall control"},
		{Shape: Cross, Fill: Hollow, Label: "kind: never pairs, or its kind is not known"},
	} {
		if used[m.Shape] {
			out = append(out, m)
		}
	}
	return append(out,
		Mark{Shape: Circle, Fill: Hollow, Label: "any shape, empty: not paired"},
		Mark{Shape: Circle, Fill: Half, Label: "any shape, half filled: paired"},
		Mark{Shape: Circle, Fill: Solid, Label: "any shape, filled: pushed"},
	)
}

func (c *composer) walls(f floor) []Line {
	var out []Line
	for _, w := range c.site.Walls {
		if w.Floor != f.ID || len(w.Line) < 2 {
			continue
		}
		line := Line{Style: WallLine}
		for _, p := range w.Line {
			line.Points = append(line.Points, [2]int64{p.X, p.Y})
		}
		out = append(out, line)
	}
	return out
}

// ways are the hops of the ways home between the places of a floor, each once.
func (c *composer) ways(spots []spotOf) []Line {
	at := map[events.Tag][2]int64{}
	for _, s := range spots {
		at[s.tag] = s.mark.At
	}
	drawn := map[[2]events.Tag]bool{}
	var out []Line
	for _, s := range spots {
		r, ok := c.Net.Reach(s.tag)
		if !ok || r.Answer == mesh.No {
			continue
		}
		for _, l := range c.Net.Legs(s.tag) {
			a, onA := at[l.A]
			b, onB := at[l.B]
			hop := [2]events.Tag{min(l.A, l.B), max(l.A, l.B)}
			if !onA || !onB || drawn[hop] {
				continue
			}
			drawn[hop] = true
			style := WayLine
			if !l.Sure {
				style = RawLine
			}
			out = append(out, Line{[][2]int64{a, b}, style})
		}
	}
	return out
}

// bounds is the rectangle around marks and walls.
func bounds(d Drawing) (lo, hi [2]int64) {
	lo, hi = d.Marks[0].At, d.Marks[0].At
	take := func(p [2]int64) {
		for i := range p {
			lo[i], hi[i] = min(lo[i], p[i]), max(hi[i], p[i])
		}
	}
	for _, m := range d.Marks {
		take(m.At)
	}
	for _, l := range d.Lines {
		for _, p := range l.Points {
			take(p)
		}
	}
	for i := range lo {
		lo[i], hi[i] = lo[i]-edge, hi[i]+edge
	}
	return lo, hi
}
