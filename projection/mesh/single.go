package mesh

import (
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh/graph"
)

// SinglePoints lists the devices and circuits that others lose every path of
// sure links with, the worst first. Whose path is known by observation alone is
// not judged. What is off or taken away already is left out.
func (n *Net) SinglePoints() []SinglePoint {
	var out []SinglePoint
	for _, f := range n.fields {
		if f.down == nil {
			out = append(out, n.byDevice(f)...)
			out = append(out, n.byCircuit(f)...)
		}
	}
	slices.SortStableFunc(out, func(a, b SinglePoint) int { return cmp.Compare(len(b.Strands), len(a.Strands)) })
	return out
}

func (n *Net) byDevice(f *field) []SinglePoint {
	var out []SinglePoint
	for v, strands := range f.w.sure.Strands(0, f.view(), new(graph.Scratch)) {
		if v == 0 || f.devices[v] == nil {
			continue // the hub, or a supposed relay
		}
		if lost := n.tags(f, n.judged(f, strands)); len(lost) > 0 {
			t := f.devices[v].Device
			out = append(out, SinglePoint{Of: events.Device(t), Hub: f.hub.Hub, Strands: lost, Dark: []events.Tag{t}})
		}
	}
	return out
}

// judged keeps the nodes whose answer is yes and not without a sure path.
func (n *Net) judged(f *field, nodes []int32) []int32 {
	var out []int32
	for _, v := range nodes {
		if d := f.devices[v]; d != nil && f.sure.reaches(v) {
			if r, _ := n.Reach(d.Device); r.Answer == Yes {
				out = append(out, v)
			}
		}
	}
	slices.Sort(out)
	return out
}

// byCircuit asks what goes with each circuit that feeds somebody of the network.
func (n *Net) byCircuit(f *field) []SinglePoint {
	var points []SinglePoint
	var groups [][]int32
	var out []SinglePoint
	for i := range n.s.Circuits {
		c := &n.s.Circuits[i]
		if c.Off != nil && !n.what.Planned {
			continue
		}
		group, learned := n.fedBy(f, c)
		p := SinglePoint{Of: events.Circuit(c.ID), Hub: f.hub.Hub, Dark: n.tags(f, group), Learned: learned}
		if f.hub.Circuit == c.ID && c.ID != "" {
			p.Strands = n.tags(f, n.judged(f, except(f.everybody(), group)))
			out = append(out, p)
		} else if len(group) > 0 {
			points, groups = append(points, p), append(groups, group)
		}
	}
	for i, strands := range f.w.sure.StrandsWithout(0, f.view(), groups, new(graph.Scratch)) {
		points[i].Strands = n.tags(f, n.judged(f, strands))
	}
	out = slices.DeleteFunc(append(out, points...), func(p SinglePoint) bool { return len(p.Strands) == 0 })
	slices.SortStableFunc(out, func(a, b SinglePoint) int {
		return events.ByName(events.CircuitID(a.Of.ID), events.CircuitID(b.Of.ID))
	})
	return out
}

// fedBy lists the powered devices of a network that a circuit feeds, and those of
// them that are only known to be by having gone dark with it.
func (n *Net) fedBy(f *field, c *projection.Circuit) (nodes []int32, learned []events.Tag) {
	for _, t := range c.Feeds {
		i, ok := n.indexOf(t)
		if !ok || n.spots[i].field != f || n.spots[i].node == 0 || !f.up[n.spots[i].node] {
			continue
		}
		nodes = append(nodes, n.spots[i].node)
		if slices.Contains(c.Learned, t) {
			learned = append(learned, t)
		}
	}
	slices.Sort(nodes)
	return nodes, learned
}

// except lists what is in a rising list and not in another.
func except(all, not []int32) []int32 {
	var out []int32
	for _, v := range all {
		if _, in := slices.BinarySearch(not, v); !in {
			out = append(out, v)
		}
	}
	return out
}
