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
	fed := n.fed()
	for _, f := range n.fields {
		if f.down == nil {
			out = append(out, n.byDevice(f)...)
			out = append(out, n.byCircuit(f, fed[f])...)
		}
	}
	slices.SortStableFunc(out, func(a, b SinglePoint) int { return cmp.Compare(len(b.Strands), len(a.Strands)) })
	return out
}

func (n *Net) byDevice(f *field) []SinglePoint {
	var out []SinglePoint
	t := graph.Hang(0, f.idom)
	for v := range f.devices {
		if v == 0 || f.devices[v] == nil {
			continue // the hub, or a supposed relay
		}
		if lost := n.tags(f, n.judged(f, t.On(int32(v)))); len(lost) > 0 {
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

// byCircuit asks what goes with each circuit that feeds somebody of the network, or
// its hub.
func (n *Net) byCircuit(f *field, fed []feeding) []SinglePoint {
	var points []SinglePoint
	var groups [][]int32
	var out []SinglePoint
	for i := range fed {
		x := &fed[i]
		p := SinglePoint{Of: events.Circuit(x.by), Hub: f.hub.Hub, Dark: n.tags(f, x.nodes), Learned: x.learned}
		if f.hub.Circuit == x.by && x.by != "" {
			p.Strands = n.tags(f, n.judged(f, except(f.everybody(), x.nodes)))
			out = append(out, p)
		} else if len(x.nodes) > 0 {
			points, groups = append(points, p), append(groups, x.nodes)
		}
	}
	for i, strands := range f.without(groups) {
		points[i].Strands = n.tags(f, n.judged(f, strands))
	}
	out = slices.DeleteFunc(append(out, points...), func(p SinglePoint) bool { return len(p.Strands) == 0 })
	slices.SortStableFunc(out, func(a, b SinglePoint) int {
		return events.ByName(events.CircuitID(a.Of.ID), events.CircuitID(b.Of.ID))
	})
	return out
}

// stranded is who loses every path with each of some groups of nodes. It is kept for
// the next net that has the same paths.
type stranded struct{ groups, strands [][]int32 }

// without says who loses every path with each of some groups.
func (f *field) without(groups [][]int32) [][]int32 {
	x := f.stranded.Load()
	if x == nil || !slices.EqualFunc(x.groups, groups, slices.Equal) {
		x = &stranded{groups, f.w.sure.StrandsWithout(0, f.view(), groups, new(graph.Scratch))}
		f.stranded.Store(x)
	}
	return x.strands
}

// feeding is what a circuit feeds of one network.
type feeding struct {
	by      events.CircuitID
	nodes   []int32      // those that are up, rising
	learned []events.Tag // of those, the ones only known to be fed by having gone dark with it
}

// fed sorts what the circuits that are on feed, in their order, by network. The
// circuit of a hub is there, whomever it feeds.
func (n *Net) fed() map[*field][]feeding {
	out := map[*field][]feeding{}
	for i := range n.s.Circuits {
		c := &n.s.Circuits[i]
		if c.Off != nil && !n.what.Planned {
			continue
		}
		at := func(f *field) *feeding {
			list := out[f]
			if len(list) == 0 || list[len(list)-1].by != c.ID {
				list = append(list, feeding{by: c.ID})
				out[f] = list
			}
			return &list[len(list)-1]
		}
		for _, f := range n.fields {
			if f.hub.Circuit == c.ID {
				at(f)
			}
		}
		n.feeds(c, at)
	}
	return out
}

// feeds puts what is fed by a circuit where it belongs.
func (n *Net) feeds(c *projection.Circuit, at func(*field) *feeding) {
	var touched []*feeding
	for _, t := range c.Feeds {
		i, ok := n.indexOf(t)
		if !ok {
			continue
		}
		f, v := n.spots[i].field, n.spots[i].node
		if v == 0 || !f.up[v] {
			continue
		}
		x := at(f)
		x.nodes = append(x.nodes, v)
		if slices.Contains(c.Learned, t) {
			x.learned = append(x.learned, t)
		}
		if !slices.Contains(touched, x) {
			touched = append(touched, x)
		}
	}
	for _, x := range touched {
		slices.Sort(x.nodes)
	}
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
