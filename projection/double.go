package projection

import (
	"cmp"
	"fmt"
	"iter"
	"math/bits"
	"slices"
	"strings"

	"pairwalk/events"
)

// noteAct keeps the acts on each device, also those withdrawn.
func (f *fold) noteAct(x *laid) {
	switch x.Event.Payload.(type) {
	case events.DevicePaired, events.DeviceUnpaired, events.DeviceReplaced, events.DeviceStruck:
		tag, _ := x.Event.Payload.Subjects()[0].Tag()
		if at := f.known(tag); at != none && !f.passes(at) && x.doubt == 0 {
			f.noteApart(f.ownPast(f.ownDevice(at)), x)
			if last := f.table.at(at).past; len(last.apart) > 0 && !f.doubtful.m[at] {
				f.doubtful.own(f.number)[at] = true
			}
		}
	}
}

// unaware is a pairing of a device and earlier ones of it, by members who had not
// seen each other's. That never changes, so it is looked into once.
type unaware struct {
	place int
	of    []uint64 // a bit for the place of each
}

// act is something done to a device. A pairing knows the one before it on its branch.
type act struct {
	*laid
	before int32      // its place; none if there is none
	most   events.Seq // the last line among both and all before
}

// said is the place of the last pairing of a device that was said on a branch.
type said struct {
	on    *branch
	place int32
}

// noteApart adds an act to a device's past. Of the pairings on a branch those need
// not be asked about that come before the last line its author had seen there.
func (f *fold) noteApart(p *past, x *laid) {
	place, now := p.acts.n, act{x, none, x.Event.Seq}
	f.cure(p, x)
	if !isPairing(x) {
		p.acts.put(aboutNone, now)
		return
	}
	var of []uint64
	for _, last := range p.said {
		if last.on.tip.Member() == x.Member() {
			continue
		}
		for i, a := range p.after(last, f.sight.branch(x.number).seen(x.Event, last.on)) {
			if f.sight.saw(a.laid, x) {
				continue
			}
			if f.stands(a.laid) && f.stands(x) {
				p.open = append(p.open, both{i, int32(place)})
			}
			if of == nil {
				of = make([]uint64, place/64+1)
			}
			of[i/64] |= 1 << (i % 64)
		}
	}
	if of != nil {
		p.apart = append(p.apart, unaware{place, of})
	}
	on := f.sight.branch(x.number)
	if i := slices.IndexFunc(p.said, func(s said) bool { return s.on == on }); i >= 0 {
		last := &p.said[i]
		now.before, now.most = last.place, max(now.most, p.acts.list()[last.place].most)
		last.place = int32(place)
	} else {
		p.said = append(p.said, said{on, int32(place)})
	}
	p.acts.put(aboutNone, now)
}

// both is the places of two pairings by members who had not seen each other's.
type both [2]int32

// cure closes what an act goes on from whose author had seen both pairings.
func (f *fold) cure(p *past, x *laid) {
	acts := p.acts.list()
	cured := func(of both) bool {
		return f.stands(x) && f.sight.saw(x, acts[of[0]].laid) && f.sight.saw(x, acts[of[1]].laid)
	}
	if slices.ContainsFunc(p.open, cured) {
		p.open = slices.DeleteFunc(slices.Clone(p.open), cured)
	}
}

// unsettled lists a device's pairings in ignorance that nobody has cured.
func (p *past) unsettled() []*laid {
	var places []int32
	for _, of := range p.open {
		places = append(places, of[:]...)
	}
	slices.Sort(places)
	var clash []*laid
	for _, i := range slices.Compact(places) {
		clash = append(clash, p.acts.list()[i].laid)
	}
	return clash
}

// after yields the pairings on a branch that come after a line of it, by their places.
func (p *past) after(last said, line events.Seq) iter.Seq2[int32, act] {
	return func(yield func(int32, act) bool) {
		acts := p.acts.list()
		for i := last.place; i != none && acts[i].most > line; i = acts[i].before {
			if acts[i].Event.Seq > line && !yield(i, acts[i]) {
				return
			}
		}
	}
}

// pairs yields the places of each two.
func (p *past) pairs(yield func(a, b int) bool) {
	for _, x := range p.apart {
		for w, rest := range x.of {
			for ; rest != 0; rest &= rest - 1 {
				if !yield(64*w+bits.TrailingZeros64(rest), x.place) {
					return
				}
			}
		}
	}
}

// double is a device paired by people who had not seen each other's entry.
type double struct {
	clash    []*laid
	conflict Conflict
}

// findDoubles looks for pairings of one device, each said by a member who had
// not seen the other. Clocks have no say in it. Such as somebody who had seen both
// went on from is none any more, but what a resolution set aside stays aside.
func (f *fold) findDoubles() []double {
	var out []double
	for at := range f.doubtful.m {
		d := f.table.at(at)
		clash := d.past.unsettled()
		if whole, settled := f.settledDouble(d); settled {
			clash = whole
		}
		if len(clash) > 0 {
			out = append(out, double{clash, f.doubleConflict(d.tag(), clash)})
		}
	}
	slices.SortFunc(out, func(a, b double) int { return cmp.Compare(a.conflict.Key, b.conflict.Key) })
	return out
}

// settledDouble is a device's pairings in ignorance, cured or not, where a resolution
// speaks of just these.
func (f *fold) settledDouble(d *device) (clash []*laid, settled bool) {
	if len(f.resolved) == 0 {
		return nil, false
	}
	clash = f.clash(d.past, f.stands, never)
	if len(clash) == 0 || !f.disputed[string(PairedTwice)+":"+byOldName(eventsOf(clash))] {
		return nil, false
	}
	_, settled = f.resolved[f.doubleConflict(d.tag(), clash).Key]
	return clash, settled
}

func eventsOf(acts []*laid) []*events.Event {
	out := make([]*events.Event, len(acts))
	for i, x := range acts {
		out[i] = x.Event
	}
	return out
}

// stands says whether an act is not withdrawn.
func (f *fold) stands(x *laid) bool { return x.void == 0 }

// clash lists the pairings that stand of which another that stands, by another
// member, neither had seen nor was seen, unless it is over with the acts that came
// later.
func (f *fold) clash(p *past, stands func(*laid) bool, over func(a, b *laid, later []act, stands func(*laid) bool) bool) []*laid {
	if len(p.apart) == 0 {
		return nil
	}
	acts := p.acts.list()
	in := make([]bool, len(acts))
	for i, j := range p.pairs {
		a, b := acts[i].laid, acts[j].laid
		if (!in[i] || !in[j]) && stands(a) && stands(b) && !over(a, b, acts[j+1:], stands) {
			in[i], in[j] = true, true
		}
	}
	var clash []*laid
	for i, x := range acts {
		if in[i] {
			clash = append(clash, x.laid)
		}
	}
	return clash
}

func isPairing(x *laid) bool {
	_, yes := x.Event.Payload.(events.DevicePaired)
	return yes
}

func never(_, _ *laid, _ []act, _ func(*laid) bool) bool { return false }

// cured says whether somebody who had seen both did anything to the device
// afterwards.
func (f *fold) cured(a, b *laid, later []act, stands func(*laid) bool) bool {
	for _, x := range slices.Backward(later) { // the last ones have most likely seen most
		if stands(x.laid) && f.sight.saw(x.laid, a) && f.sight.saw(x.laid, b) {
			return true
		}
	}
	return false
}

func (f *fold) doubleConflict(tag events.Tag, clash []*laid) Conflict {
	inOrder := slices.SortedFunc(slices.Values(clash), func(a, b *laid) int { return compareRecords(&a.Cause, &b.Cause) })
	subjects := []events.Subject{events.Device(tag)}
	var names []string
	var offers []Offer
	for _, x := range inOrder {
		p := x.Event.Payload.(events.DevicePaired)
		if s := events.Hub(p.Hub); !slices.Contains(subjects, s) {
			subjects = append(subjects, s)
		}
		name := f.nameOf(x.Event)
		names = append(names, name)
		offers = append(offers, Offer{x.Ref().String(), fmt.Sprintf("the pairing by %s to %s%s", name, p.Hub, serialWords(p.Serial))})
	}
	evs := eventsOf(inOrder)
	c := NewConflict(PairedTwice, byOldName(evs), subjects, evs...)
	c.Why = fmt.Sprintf("%s was paired by %s; none of them had heard of the other", tag, strings.Join(names, " and "))
	last := slices.MaxFunc(clash, func(a, b *laid) int { return comparePoints(&a.Cause, &b.Cause) })
	c.Stands = "the later of the two by the clocks, by " + f.nameOf(last.Event)
	if len(clash) > 2 {
		c.Stands = "the latest of them by the clocks, by " + f.nameOf(last.Event)
	}
	c.Offers = offers
	return c
}

func serialWords(s events.Serial) string {
	if s == "" {
		return ""
	}
	return ", serial " + string(s)
}

// lostPairings lists the pairings that a resolution set aside.
func (f *fold) lostPairings(doubles []double) map[events.Ref]bool {
	lost := map[events.Ref]bool{}
	for _, d := range doubles {
		r, ok := f.resolution(d.conflict)
		if !ok || r.Stands == "" {
			continue
		}
		for _, x := range d.clash {
			if x.Ref().String() != r.Stands {
				lost[x.Ref()] = true
			}
		}
	}
	return lost
}

func (f *fold) doubleConflicts() []found {
	var out []found
	for _, d := range f.doubles {
		out = append(out, found{Conflict: d.conflict})
	}
	return out
}
