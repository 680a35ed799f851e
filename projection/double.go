package projection

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// act is an entry that says who is paired: a pairing, or its end.
type act struct {
	Cause
	pairing bool
	void    *void
}

// noteAct keeps the acts on each device, also those withdrawn.
func (f *fold) noteAct(x *laid) {
	switch x.Event.Payload.(type) {
	case events.DevicePaired, events.DeviceUnpaired, events.DeviceReplaced, events.DeviceStruck:
		tag, _ := x.Event.Payload.Subjects()[0].Tag()
		if d := f.known(tag); d != nil && x.doubt == 0 {
			d = f.ownDevice(d.at)
			d.acts = append(d.acts, act{x.Cause, x.Event.Kind() == "device.paired", f.withdrawn[x.void]})
			f.doubt(d)
		}
	}
}

// doubt notes a device whose last act is a pairing by somebody who knew nothing of
// an earlier one, nor the other of theirs. Which acts count is looked into later.
func (f *fold) doubt(d *device) {
	last := d.acts[len(d.acts)-1]
	if f.doubtful[d.at] {
		return
	}
	if slices.ContainsFunc(d.acts, func(x act) bool { return f.apart(x, last) }) {
		f.doubtful[d.at] = true
	}
}

// double is a device paired by people who had not seen each other's entry.
type double struct {
	acts     []act // everything done to the device, in the order of its points
	clash    []act
	conflict Conflict
}

// findDoubles looks for pairings of one device, each said by a member who had
// not seen the other. Clocks have no say in it. Such as somebody who had seen both
// went on from is none any more, but what a resolution set aside stays aside.
func (f *fold) findDoubles() []double {
	var out []double
	for at := range f.doubtful {
		d := f.table[at]
		there := present(d.acts, func(*events.Event) bool { return true })
		clash := f.clash(there, never)
		if len(clash) == 0 {
			continue
		}
		x := double{d.acts, clash, f.doubleConflict(d.tag(), clash)}
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
func present(acts []act, known func(*events.Event) bool) []act {
	var there []act
	for _, x := range acts {
		if known(x.Event) && (x.void == nil || !known(x.void.Event)) {
			there = append(there, x)
		}
	}
	return there
}

// clash lists the pairings of which another, by another member, neither had seen
// nor was seen, unless it is over with the acts that came later.
func (f *fold) clash(there []act, over func(a, b act, later []act) bool) []act {
	in := make([]bool, len(there))
	for i, a := range there {
		for j, b := range there[:i] {
			if (!in[i] || !in[j]) && f.apart(a, b) && !over(a, b, there[i+1:]) {
				in[i], in[j] = true, true
			}
		}
	}
	var clash []act
	for i, x := range there {
		if in[i] {
			clash = append(clash, x)
		}
	}
	return clash
}

// apart says whether two acts are pairings by members who had not seen each
// other's.
func (f *fold) apart(a, b act) bool {
	return a.pairing && b.pairing && a.Member() != b.Member() && !f.sight.sees(a.Event, b.Event) && !f.sight.sees(b.Event, a.Event)
}

func never(_, _ act, _ []act) bool { return false }

// cured says whether somebody who had seen both did anything to the device
// afterwards.
func (f *fold) cured(a, b act, later []act) bool {
	for _, x := range slices.Backward(later) { // the last ones have most likely seen most
		if f.sight.sees(x.Event, a.Event) && f.sight.sees(x.Event, b.Event) {
			return true
		}
	}
	return false
}

func (f *fold) doubleConflict(tag events.Tag, clash []act) Conflict {
	inOrder := slices.SortedFunc(slices.Values(clash), func(a, b act) int { return compareRecords(&a.Cause, &b.Cause) })
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
	last := slices.MaxFunc(clash, func(a, b act) int { return comparePoints(&a.Cause, &b.Cause) })
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
