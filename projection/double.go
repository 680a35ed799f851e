package projection

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// noteAct keeps the acts on each device, also those withdrawn.
func (f *fold) noteAct(x *laid) {
	switch x.Event.Payload.(type) {
	case events.DevicePaired, events.DeviceUnpaired, events.DeviceReplaced, events.DeviceStruck:
		tag, _ := x.Event.Payload.Subjects()[0].Tag()
		if at := f.known(tag); at != none && x.doubt == 0 {
			p := f.ownPast(f.ownDevice(at))
			p.acts = append(p.acts, x)
			f.doubt(at)
		}
	}
}

// doubt notes a device whose last act is a pairing by somebody who knew nothing of
// an earlier one, nor the other of theirs. Which acts count is looked into later.
func (f *fold) doubt(at int) {
	acts := f.table.at(at).past.acts
	if last := acts[len(acts)-1]; !f.doubtful.m[at] && slices.ContainsFunc(acts, func(x *laid) bool { return f.apart(x, last) }) {
		f.doubtful.own(f.number)[at] = true
	}
}

// double is a device paired by people who had not seen each other's entry.
type double struct {
	acts     []*laid // everything done to the device, in the order of its points
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
		there := f.present(d.past.acts, func(*events.Event) bool { return true })
		clash := f.clash(there, never)
		if len(clash) == 0 {
			continue
		}
		x := double{d.past.acts, clash, f.doubleConflict(d.tag(), clash)}
		if _, settled := f.resolved[x.conflict.Key]; !settled {
			x.clash = f.clash(there, f.cured)
			if len(x.clash) == 0 {
				continue
			}
			x.conflict = f.doubleConflict(d.tag(), x.clash)
		}
		out = append(out, x)
	}
	slices.SortFunc(out, func(a, b double) int { return cmp.Compare(a.conflict.Key, b.conflict.Key) })
	return out
}

// present is the acts that stand, by the entries that known says yes to.
func (t *timeline) present(acts []*laid, known func(*events.Event) bool) []*laid {
	var there []*laid
	for _, x := range acts {
		if known(x.Event) && (x.void == 0 || !known(t.withdrawn[x.void].Event)) {
			there = append(there, x)
		}
	}
	return there
}

// clash lists the pairings of which another, by another member, neither had seen
// nor was seen, unless it is over with the acts that came later.
func (f *fold) clash(there []*laid, over func(a, b *laid, later []*laid) bool) []*laid {
	in := make([]bool, len(there))
	for i, a := range there {
		for j, b := range there[:i] {
			if (!in[i] || !in[j]) && f.apart(a, b) && !over(a, b, there[i+1:]) {
				in[i], in[j] = true, true
			}
		}
	}
	var clash []*laid
	for i, x := range there {
		if in[i] {
			clash = append(clash, x)
		}
	}
	return clash
}

// apart says whether two acts are pairings by members who had not seen each
// other's.
func (f *fold) apart(a, b *laid) bool {
	return isPairing(a) && isPairing(b) && a.Member() != b.Member() && !f.sight.sees(a.Event, b.Event) && !f.sight.sees(b.Event, a.Event)
}

func isPairing(x *laid) bool {
	_, yes := x.Event.Payload.(events.DevicePaired)
	return yes
}

func never(_, _ *laid, _ []*laid) bool { return false }

// cured says whether somebody who had seen both did anything to the device
// afterwards.
func (f *fold) cured(a, b *laid, later []*laid) bool {
	for _, x := range slices.Backward(later) { // the last ones have most likely seen most
		if f.sight.sees(x.Event, a.Event) && f.sight.sees(x.Event, b.Event) {
			return true
		}
	}
	return false
}

func (f *fold) doubleConflict(tag events.Tag, clash []*laid) Conflict {
	inOrder := slices.SortedFunc(slices.Values(clash), func(a, b *laid) int { return compareRecords(&a.Cause, &b.Cause) })
	subjects := []events.Subject{events.Device(tag)}
	evs := make([]*events.Event, len(inOrder))
	var names []string
	var offers []Offer
	for i, x := range inOrder {
		p := x.Event.Payload.(events.DevicePaired)
		evs[i] = x.Event
		if s := events.Hub(p.Hub); !slices.Contains(subjects, s) {
			subjects = append(subjects, s)
		}
		name := f.nameOf(x.Event)
		names = append(names, name)
		offers = append(offers, Offer{x.Ref().String(), fmt.Sprintf("the pairing by %s to %s%s", name, p.Hub, serialWords(p.Serial))})
	}
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
