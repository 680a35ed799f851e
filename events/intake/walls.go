package intake

import (
	"fmt"
	"slices"

	"pairwalk/events"
)

// walls is the list of walls.
var walls = layout{
	kind: Walls,
	columns: []column{
		{name: "floor", also: "storey,level", need: true},
		{name: "material", also: "made of,construction", need: true},
		{name: "thickness", also: "thick", need: true, unit: true, best: "mm"},
		{name: "points", also: "line,corners,path", need: true, unit: true, bare: "m"},
		{name: "wall", also: "wall name"},
	},
	row:     wallRow,
	whole:   wallsWhole,
	differs: wallsDiff,
}

// materialWords are the materials that a slab's loss can be predicted for:
// those of Rec. ITU-R P.2040-3, Table 3, which package radio knows. A test of
// the command holds the two lists together.
var materialWords = wordList{"a material that is known here", [][]string{
	{"concrete", "reinforced concrete", "cement", "precast concrete"},
	{"brick", "bricks", "brickwork", "masonry"},
	{"plasterboard", "drywall", "gypsum", "gypsum board", "plaster board", "stud wall"},
	{"wood", "timber", "wooden"},
	{"glass", "glazing", "glazed"},
	{"chipboard", "particle board"},
	{"plywood"},
	{"marble"},
	{"ceiling-board", "ceiling tile"},
	{"metal", "steel", "sheet metal", "sheet steel", "aluminium", "aluminum"},
}}

// Materials lists the materials a wall may be of.
func Materials() []string {
	out := make([]string, len(materialWords.words))
	for i, w := range materialWords.words {
		out[i] = w[0]
	}
	return out
}

// thickest is how thick a wall may be, in mm; more is a wrong unit.
const thickest = 3_000

func wallRow(r *row) events.Payload {
	p := events.WallListed{Wall: name[string](r, "wall"), Floor: r.onFloor(), Material: r.word("material", materialWords)}
	if p.Material == "" {
		r.wrong("material", "is empty", materialWords.right(""))
	}
	mm := r.length("thickness", 1, thickest)
	if !mm.Known {
		r.wrong("thickness", "is empty", "write how thick the wall is")
	}
	p.Thickness = mm.Value
	p.Line = r.points("points")
	if p.Wall != "" {
		r.about(wall(p.Wall))
		r.unique("wall", "wall", p.Wall)
		return p
	}
	r.blind = r.blind || p.Line == nil || p.Floor == ""
	for id, listed := range r.opt.Site.Walls {
		if r.bad && sameLine(listed, p) {
			r.named[wall(id)] = true // a bad row is about it all the same
		}
	}
	return p
}

func wall(id string) events.Subject { return events.Subject{Class: events.OfWall, ID: id} }

func sameLine(a, b events.WallListed) bool {
	return a.Floor == b.Floor && slices.Equal(oneWay(a.Line), oneWay(b.Line))
}

// wallsWhole gives a name to each wall that has none in the file: that of the
// listed wall along the same line, else one made from the line. So the same file
// changes nothing when it is imported again, and a wall may change its material.
// Two walls along one line are layers, and are told apart by their material.
func wallsWhole(in *reading) {
	told, taken := map[int]bool{}, map[string]bool{}
	for _, r := range in.rows {
		w := r.Payload.(events.WallListed).Wall
		told[r.Number], taken[w] = w != "", true
	}
	byLine := in.listedLines()
	for _, exact := range []bool{true, false} {
		for i := range in.rows {
			p := in.rows[i].Payload.(events.WallListed)
			for _, listed := range byLine[lineKey(p)] {
				if p.Wall == "" && !taken[listed.Wall] && (!exact || listed.Material == p.Material) {
					p.Wall = listed.Wall
				}
			}
			taken[p.Wall] = true
			in.rows[i].Payload = p
		}
	}
	for i := range in.rows {
		p := in.rows[i].Payload.(events.WallListed)
		if p.Wall == "" {
			p = in.christen(p, taken)
		}
		in.rows[i].Payload = p
		in.named[wall(p.Wall)] = true
	}
	in.wallsTwice(told)
}

// lineKey is the same for walls along the same line.
func lineKey(p events.WallListed) string { return fmt.Sprintf("%q %v", p.Floor, oneWay(p.Line)) }

// listedLines finds the listed walls by their line, in the order of their names.
func (in *reading) listedLines() map[string][]events.WallListed {
	out := map[string][]events.WallListed{}
	for _, w := range in.opt.Site.Walls {
		out[lineKey(w)] = append(out[lineKey(w)], w)
	}
	for _, ws := range out {
		slices.SortFunc(ws, func(a, b events.WallListed) int { return events.ByName(a.Wall, b.Wall) })
	}
	return out
}

// christen makes a name that no other wall has.
func (in *reading) christen(p events.WallListed, taken map[string]bool) events.WallListed {
	p.Wall = wallName(p, "")
	if _, listed := in.opt.Site.Walls[p.Wall]; taken[p.Wall] || listed {
		p.Wall = wallName(p, p.Material)
	}
	taken[p.Wall] = true
	return p
}

// wallsTwice refuses a wall that stands in the file twice, as its loss would
// count twice; but not where the file tells two names.
func (in *reading) wallsTwice(told map[int]bool) {
	first := map[string]int{}
	for _, r := range in.rows {
		p := r.Payload.(events.WallListed)
		key := fmt.Sprintf("%s %q", lineKey(p), p.Material)
		other, twice := first[key]
		if !twice {
			first[key] = r.Number
		} else if !told[r.Number] || !told[other] {
			in.complain(r.Number, "points", fmt.Sprintf("the same wall is on row %d already", other),
				"of two layers write the thickness of both together, or give each a name in a column wall")
		}
	}
}

func wallsDiff(s Sheet, site Listing, d *Diff) {
	for _, r := range s.Rows {
		p := r.Payload.(events.WallListed)
		before, listed := site.Walls[p.Wall]
		compare(d, r.Number, wall(p.Wall), before, listed, p, wallFacets, s.has)
	}
	strike(s, d, site.Walls, func(id string) bool { return s.named[wall(id)] }, wall,
		func(id string) events.Payload { return events.WallStruck{Wall: id, Why: struckWhy} }, nil)
}
