package mesh_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// field is a hub's network, as sets of tags.
type dumbField struct {
	o        *dumb
	hub      *projection.Hub
	ends     []end // the hub first
	sure     map[[2]int]tie
	possible map[[2]int]tie
	measured map[[2]int]bool
	unplaced bool // a router's place is not known
}

func (o *dumb) field(h *projection.Hub) *dumbField {
	f := &dumbField{o: o, hub: h, ends: []end{o.hubEnd(h)}, sure: map[[2]int]tie{}, possible: map[[2]int]tie{}, measured: map[[2]int]bool{}}
	for i := range o.s.Devices {
		d := &o.s.Devices[i]
		if d.Paired != nil && d.Paired.Hub == h.Hub && d.Struck == nil && d.Dark == nil {
			f.ends = append(f.ends, o.deviceEnd(d))
			f.unplaced = f.unplaced || d.IsRouter() && !d.Place.Known
		}
	}
	for i, a := range f.ends {
		for k, b := range f.ends {
			star := a.star || b.star
			if i >= k || star && !a.hub || star && h.Radio == events.Mesh || !star && h.Radio == events.Star || !a.relay && !b.relay {
				continue
			}
			t, sure, possible, measured := o.tie(a, b)
			if possible && sure {
				f.sure[[2]int{i, k}] = t
			}
			if possible {
				f.possible[[2]int{i, k}] = t
			}
			f.measured[[2]int{i, k}] = measured
		}
	}
	return f
}

// costs widens from the hub until nothing gets cheaper; -1 for no path.
func (f *dumbField) costs(ties map[[2]int]tie, gone map[events.Tag]bool) []int64 {
	out := make([]int64, len(f.ends))
	for i := range out {
		out[i] = -1
	}
	if !gone[f.ends[0].tag] {
		out[0] = 0
	}
	for changed := true; changed; {
		changed = false
		for pair, t := range ties {
			for _, way := range [][2]int{pair, {pair[1], pair[0]}} {
				from, to := way[0], way[1]
				if out[from] < 0 || !f.ends[from].relay || gone[f.ends[to].tag] || to == 0 {
					continue
				}
				if c := out[from] + t.etx; out[to] < 0 || c < out[to] {
					out[to], changed = c, true
				}
			}
		}
	}
	return out
}

func (f *dumbField) index(t events.Tag) int {
	return slices.IndexFunc(f.ends, func(e end) bool { return e.tag == t && !e.hub })
}

const seeds = 250

func TestAnswersAsTheDumbOracleSays(t *testing.T) {
	seen := map[string]int{}
	for seed := range uint64(seeds) {
		s := randomJob(t, seed).Now()
		o := newDumb(s)
		n := netOf(s)
		fields := map[events.HubID]*dumbField{}
		for i := range s.Hubs {
			fields[s.Hubs[i].Hub] = o.field(&s.Hubs[i])
		}
		for i := range s.Devices {
			d := &s.Devices[i]
			r, ok := n.Reach(d.Device)
			require.Equal(t, d.Paired != nil && d.Struck == nil, ok, "seed %d %s", seed, d.Device)
			if !ok {
				continue
			}
			f := fields[d.Paired.Hub]
			answer, basis := o.answer(f, d, n)
			require.Equal(t, fmt.Sprint(answer, " ", basis), fmt.Sprint(r.Answer, " ", r.Basis), "seed %d %s: %s", seed, d.Device, r.Why)
			seen[fmt.Sprint(answer, " ", basis)]++
			checkPath(t, seed, f, n, &r)
		}
	}
	for _, kind := range []string{"yes observed", "yes measured", "yes predicted", "no observed", "no predicted", "unknown none", "unknown measured", "unknown predicted"} {
		require.Greater(t, seen[kind], seeds/20, "the random sites must show %s: %v", kind, seen)
	}
}

// down says whether a hub is off the air.
func (o *dumb) down(h *projection.Hub) bool {
	for _, c := range o.s.Circuits {
		if c.ID == h.Circuit && c.Off != nil {
			return true
		}
	}
	if h.Lost == nil {
		return h.Struck != nil
	}
	for i := range o.s.Devices {
		d := &o.s.Devices[i]
		if d.Paired == nil || d.Paired.Hub != h.Hub {
			continue
		}
		if d.Heard != nil && d.Heard.After(*h.Lost) || d.Pushed != nil && d.Pushed.After(*h.Lost) {
			return false
		}
	}
	return true
}

// answer follows the ladder of the package doc.
func (o *dumb) answer(f *dumbField, d *projection.Device, n *mesh.Net) (mesh.Answer, mesh.Basis) {
	if d.Dark != nil || o.down(f.hub) {
		return mesh.No, mesh.Observed
	}
	if o.observed(f, d) {
		return mesh.Yes, mesh.Observed
	}
	i := f.index(d.Device)
	basis := mesh.Predicted
	if r, _ := n.Reach(d.Device); f.allMeasured(r.Path) { // the path itself is checked apart
		basis = mesh.Measured
	}
	if f.costs(f.sure, nil)[i] >= 0 {
		if d.Missed != nil {
			return mesh.Unknown, basis
		}
		return mesh.Yes, basis
	}
	if f.costs(f.possible, nil)[i] >= 0 {
		return mesh.Unknown, basis
	}
	noRadio := f.ends[i].star && f.hub.Radio == events.Mesh || !f.ends[i].star && f.hub.Radio == events.Star
	if d.Place.Known && f.hub.Place.Known && !noRadio && (f.ends[i].star || !f.unplaced) {
		return mesh.No, mesh.Predicted
	}
	return mesh.Unknown, mesh.NoBasis
}

func (f *dumbField) allMeasured(path []events.Tag) bool {
	for i := 1; i < len(path); i++ {
		a, b := f.at(path[i-1]), f.at(path[i])
		if !f.measured[[2]int{min(a, b), max(a, b)}] {
			return false
		}
	}
	return true
}

func (f *dumbField) at(t events.Tag) int {
	if i := f.index(t); i >= 0 {
		return i
	}
	return 0
}

// observed says whether an observation still counts.
func (o *dumb) observed(f *dumbField, d *projection.Device) bool {
	seen := d.Heard
	if d.Pushed != nil && (seen == nil || d.Pushed.After(*seen)) {
		seen = &d.Pushed.Cause
	}
	if seen == nil || d.Missed != nil && d.Missed.After(*seen) {
		return false
	}
	star := d.Radio == events.Star
	band := events.Mesh
	if star {
		band = events.Star
	}
	if c := f.hub.Channels[band].Changed; c != nil && c.After(*seen) {
		return false
	}
	for i := range o.s.Devices {
		x := &o.s.Devices[i]
		if went := o.went(f.hub, x); !star && x != d && went != nil && went.After(*seen) && !o.surelyApart(f, d, x, seen) {
			return false
		}
	}
	return true
}

// went is the entry by which a router went from a hub's network.
func (o *dumb) went(h *projection.Hub, x *projection.Device) *projection.Cause {
	switch {
	case !x.IsRouter() || !wasOn(h, x.Device):
		return nil
	case x.Struck != nil && (x.Paired == nil || x.Paired.Hub == h.Hub):
		return x.Struck
	case x.Paired == nil:
		return x.Unpaired
	case x.Paired.Hub != h.Hub:
		return &x.Paired.Cause
	}
	return x.Dark
}

func wasOn(h *projection.Hub, t events.Tag) bool {
	return slices.ContainsFunc(h.Pairings, func(p projection.Pairing) bool { return p.Stands() && p.Device == t })
}

// surelyApart says whether no chain of possible links leads from a router that is
// dark now to a device but by the hub, with all the routers that were there.
func (o *dumb) surelyApart(f *dumbField, d, x *projection.Device, seen *projection.Cause) bool {
	var all []end
	for i := range o.s.Devices {
		y := &o.s.Devices[i]
		went := o.went(f.hub, y)
		if !y.IsRouter() || !wasOn(f.hub, y.Device) {
			continue
		}
		here := y.Paired != nil && y.Paired.Hub == f.hub.Hub && y.Struck == nil
		if went != nil && went.After(*seen) && (!here || !y.Place.Known) || went == nil && here && !y.Place.Known {
			return false // it may have been anywhere
		}
		if here {
			all = append(all, o.deviceEnd(y))
		}
	}
	if !d.Place.Known {
		return false
	}
	met := map[events.Tag]bool{d.Device: true}
	for queue := []end{o.deviceEnd(d)}; len(queue) > 0; queue = queue[1:] {
		for _, y := range all {
			if met[y.tag] {
				continue
			}
			if _, _, possible, _ := o.tie(queue[0], y); possible && f.hub.Radio != events.Star {
				met[y.tag] = true
				queue = append(queue, y)
			}
		}
	}
	return !met[x.Device]
}

// checkPath sees that a path is one, costs the least, and tells its links right.
func checkPath(t *testing.T, seed uint64, f *dumbField, n *mesh.Net, r *mesh.Reach) {
	if r.Path == nil {
		require.Zero(t, r.Hops)
		require.Nil(t, r.Weakest)
		require.Empty(t, n.Legs(r.Device))
		return
	}
	i := f.index(r.Device)
	ties := f.sure
	cost := f.costs(ties, nil)[i]
	if cost < 0 {
		ties = f.possible
		cost = f.costs(ties, nil)[i]
	}
	require.Equal(t, r.Device, r.Path[0])
	require.Equal(t, f.ends[0].tag, r.Path[len(r.Path)-1])
	sum, weakest, legs := int64(0), int64(math.MaxInt64), n.Legs(r.Device)
	require.Len(t, legs, r.Hops)
	for k := 1; k < len(r.Path); k++ {
		a, b := f.at(r.Path[k-1]), f.at(r.Path[k])
		link, ok := ties[[2]int{min(a, b), max(a, b)}]
		require.True(t, ok, "seed %d: no link %s–%s", seed, r.Path[k-1], r.Path[k])
		require.True(t, f.ends[b].relay, "seed %d: %s carries nothing", seed, r.Path[k])
		require.Equal(t, [2]events.Tag{r.Path[k-1], r.Path[k]}, [2]events.Tag{legs[k-1].A, legs[k-1].B})
		require.Equal(t, link.mean, legs[k-1].Mean)
		sum, weakest = sum+link.etx, min(weakest, link.mean)
	}
	require.Equal(t, cost, sum, "seed %d %s", seed, r.Device)
	require.Equal(t, weakest, r.Weakest.Mean)
	require.LessOrEqual(t, r.Chance.Value.Lo, r.Chance.Value.Hi)
}

func TestWhatBreaksAsTheDumbOracleSays(t *testing.T) {
	points, islands := 0, 0
	for seed := range uint64(seeds) {
		s := randomJob(t, seed).Now()
		o := newDumb(s)
		n := netOf(s)
		want := map[string][]events.Tag{}
		for i := range s.Hubs {
			f := o.field(&s.Hubs[i])
			if o.down(f.hub) {
				continue
			}
			groups := map[string]map[events.Tag]bool{}
			for _, e := range f.ends[1:] {
				if e.relay {
					groups["device "+string(e.tag)] = map[events.Tag]bool{e.tag: true}
				}
			}
			for _, c := range s.Circuits {
				group := map[events.Tag]bool{}
				for _, tag := range c.Feeds {
					group[tag] = true
				}
				if f.hub.Circuit == c.ID {
					group[events.Tag(f.hub.Hub)] = true
				}
				if c.Off == nil {
					groups["circuit "+string(c.ID)] = group
				}
			}
			had := f.costs(f.sure, nil)
			for name, group := range groups {
				have := f.costs(f.sure, group)
				for k, e := range f.ends {
					r, _ := n.Reach(e.tag)
					hubGone := group[events.Tag(f.hub.Hub)]
					if k > 0 && !group[e.tag] && r.Answer == mesh.Yes && had[k] >= 0 && (have[k] < 0 || hubGone) {
						key := fmt.Sprint(f.hub.Hub, " ", name)
						want[key] = append(want[key], e.tag)
					}
				}
			}
		}
		got := map[string][]events.Tag{}
		for _, p := range n.SinglePoints() {
			got[fmt.Sprint(p.Hub, " ", p.Of.Class, " ", p.Of.ID)] = p.Strands
		}
		require.Equal(t, want, got, "seed %d", seed)
		points += len(got)
		islands += checkIslands(t, seed, o, n)
	}
	require.Greater(t, points, seeds/8)
	require.Greater(t, islands, seeds/8)
}

// checkIslands sees that everybody without a path that is known of is on just one
// island, and that no sure link joins two.
func checkIslands(t *testing.T, seed uint64, o *dumb, n *mesh.Net) int {
	list := n.Islands()
	on := map[events.Tag]int{}
	for i, x := range list {
		for _, tag := range x.Devices {
			_, twice := on[tag]
			require.False(t, twice, "seed %d: %s is on two islands", seed, tag)
			on[tag] = i
			r, _ := n.Reach(tag)
			require.NotEqual(t, mesh.Yes, r.Answer)
			require.False(t, x.Sure && r.Answer != mesh.No)
		}
	}
	for _, r := range n.Reaches() {
		d, _ := o.s.Device(r.Device)
		if _, is := on[r.Device]; !is && d.Dark == nil {
			require.NotEqual(t, mesh.No, r.Answer, "seed %d: %s is on no island", seed, r.Device)
		}
	}
	for i := range o.s.Hubs {
		f := o.field(&o.s.Hubs[i])
		for pair := range f.sure {
			a, okA := on[f.ends[pair[0]].tag]
			b, okB := on[f.ends[pair[1]].tag]
			require.False(t, okA && okB && a != b, "seed %d: %s and %s are linked", seed, f.ends[pair[0]].tag, f.ends[pair[1]].tag)
		}
	}
	return len(list)
}
