package projection

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// watch follows a fold of every fact, one after the other, and notes what turns. It
// is kept between questions: what comes after the facts that it has taken is taken
// then, and where an entry comes in before some of them it goes back to a hold it
// noted on the way.
type watch struct {
	*timeline
	f       *fold // nil where it must be folded again up to done
	done    int   // facts taken
	clashes map[*events.Event]bool
	lost    map[events.Ref]bool // pairings that the fold leaves out
	faulty  map[events.Subject]int
	open    map[events.Ref]bool // faults
	bare    map[int]bool        // by place in the fold's table: a resolution says that its unit sits elsewhere
	turns   []Turn
	drawn
	stops []stop
}

// drawn is how devices look, each at its place in the course.
type drawn struct {
	places []int // by place in the fold's table; none for those not in the course
	known  []int // the other way round; none where a fold has no such device any more
	names  []events.Tag
	looks  []Look
}

func (d drawn) copied() drawn {
	return drawn{slices.Clone(d.places), slices.Clone(d.known), slices.Clone(d.names), slices.Clone(d.looks)}
}

// stop is where a watch stood after so many facts.
type stop struct {
	drawn
	done, turns int
	lost        map[events.Ref]bool
	bare        map[int]bool
}

// stopsMost is how many stops are kept, of those noted as often as stages are: what
// comes late is seldom older than a few days.
const stopsMost = 4

// course brings the watch of a timeline up to its end.
func (t *timeline) course() *Course {
	clashes := t.clashes()
	if t.watch == nil || t.watch.overtaken(clashes) {
		t.watch = &watch{timeline: t}
	}
	w := t.watch
	w.clashes = clashes
	if w.f == nil {
		w.follow(t.replay(Moment{}, w.done, w.lost))
	}
	for w.done < len(t.facts) {
		w.take()
		if w.done%int(w.pace) == 0 {
			w.stop()
		}
	}
	for place := range w.known {
		w.there(place) // takes down what it is called
	}
	t.bringLandmarks()
	m := &t.telling.landmarks
	return &Course{slices.Clone(w.names), slices.Clip(w.turns), Telling{t, slices.Clip(m.order)}, slices.Clip(m.sums)}
}

// overtaken says whether a fact that was taken is among the clashes and was not
// then, or the other way round.
func (w *watch) overtaken(clashes map[*events.Event]bool) bool {
	taken := func(e *events.Event) bool {
		n, _ := w.ranks.Number(e)
		at, _ := slices.BinarySearchFunc(w.facts, n, w.comparePoints)
		return at < w.done
	}
	for e := range clashes {
		if !w.clashes[e] && taken(e) {
			return true
		}
	}
	for e := range w.clashes {
		if !clashes[e] && taken(e) {
			return true
		}
	}
	return false
}

func (w *watch) stop() {
	w.stops = append(w.stops, stop{w.drawn.copied(), w.done, len(w.turns), w.lost, w.bare})
	if len(w.stops) > stopsMost {
		w.stops = slices.Delete(w.stops, 0, 1)
	}
}

// back goes to the last stop after n facts or fewer. It says whether there is one.
func (w *watch) back(n int) bool {
	if w.done <= n {
		return true
	}
	for len(w.stops) > 0 && w.stops[len(w.stops)-1].done > n {
		w.stops = w.stops[:len(w.stops)-1]
	}
	if len(w.stops) == 0 {
		return false
	}
	at := w.stops[len(w.stops)-1]
	w.f, w.done, w.lost, w.bare = nil, at.done, at.lost, at.bare
	w.drawn, w.turns = at.drawn.copied(), slices.Clip(w.turns[:at.turns]) // others may hold what is cut off
	return true
}

// follow goes on with another fold, of the facts taken.
func (w *watch) follow(f *fold) {
	w.f = f
	f.noting = true
	w.countFaults()
}

// countFaults counts the faults that stand, by what they are on.
func (w *watch) countFaults() {
	w.faulty, w.open = map[events.Subject]int{}, map[events.Ref]bool{}
	for _, i := range w.f.openFaults {
		x := w.f.faults.at(int(i))
		w.faulty[x.Of]++
		w.open[x.Found.Ref()] = true
	}
}

// take folds the next fact and notes who looks otherwise after it.
func (w *watch) take() {
	x := w.laid.at(w.facts[w.done])
	w.done++
	clash, renames := w.clashes[x.Event], x.Event.Kind() == "device.renamed"
	if clash {
		w.refold()
	} else {
		w.f.wrote = w.f.wrote[:0]
		w.f.take(x)
	}
	if renames && !clash {
		w.countFaults() // some are called anew
	}
	for _, d := range w.touched(x.Event) {
		w.look(d, x.Cause)
	}
	if clash || renames {
		w.miss(x.Cause)
	}
}

// miss notes which positions there are no more.
func (w *watch) miss(c Cause) {
	for place := range w.known {
		if !w.there(place) && !w.looks[place].Gone {
			w.looks[place] = Look{State: Listed, Gone: true}
			w.turn(c, place)
		}
	}
}

// there says whether the device at a place in the course is there, and takes down
// what it is called now.
func (w *watch) there(place int) bool {
	at := w.known[place]
	if at == none {
		return false
	}
	w.names[place] = w.f.table.at(at).tag()
	return w.f.named(w.names[place]) == at
}

// refold replays all that was taken: which pairings do not count hangs on which of
// them are there.
func (w *watch) refold() {
	again := func(lost map[events.Ref]bool) *fold { return w.replay(Moment{}, w.done, lost) }
	end := again(nil)
	doubles := end.findDoubles()
	w.lost = end.lostPairings(doubles)
	f := again(w.lost)
	end = again(w.lost)
	end.doubles = doubles
	end.conflicts()
	w.bare = map[int]bool{}
	for tag, at := range f.devices.m {
		w.bare[at] = f.table.at(at).Serial != "" && end.table.at(end.named(tag)).Serial == ""
	}
	old, before := w.f, w.places
	w.places = nil
	for place := range w.known {
		w.there(place) // its name is not lost
		w.known[place] = none
	}
	for tag, was := range old.devices.m {
		if at := f.named(tag); at != none && was < len(before) && before[was] != none {
			w.put(at, before[was])
			w.known[before[was]] = at
		}
	}
	w.follow(f)
}

// put notes the place of a device of the fold's table in the course.
func (w *watch) put(at, place int) {
	for len(w.places) <= at {
		w.places = append(w.places, none)
	}
	w.places[at] = place
}

// touched lists the devices that an entry may have changed the look of, by name:
// those that were written, and those under its hold or fault.
func (w *watch) touched(e *events.Event) []int {
	if w.clashes[e] {
		return w.f.sortedDevices()
	}
	at := map[int]bool{}
	for _, x := range w.f.wrote {
		at[x] = true
	}
	switch p := e.Payload.(type) {
	case events.HoldPlaced:
		w.held(p.Of, at)
	case events.HoldLifted:
		w.held(p.Of, at)
	case events.FaultFound:
		w.fault(e.Ref(), at)
	case events.FaultCleared:
		w.fault(p.Fault, at)
	case events.FaultReopened:
		w.fault(p.Fault, at)
	}
	var out []int
	for x := range maps.Keys(at) {
		if w.f.named(w.f.table.at(x).tag()) == x {
			out = append(out, x)
		}
	}
	slices.SortFunc(out, w.f.byName)
	return out
}

// held collects the devices that a hold on a subject touches.
func (w *watch) held(of events.Subject, into map[int]bool) {
	var h Hold
	h.Of, _ = w.f.today(of)
	for _, at := range w.f.devices.m {
		if w.f.table.at(at).keptBy(h.Of) {
			into[at] = true
		}
	}
}

// fault counts a fault that was found, cleared or opened again, and collects the
// device it is on.
func (w *watch) fault(ref events.Ref, into map[int]bool) {
	x := w.f.fault(ref)
	if x == nil {
		return
	}
	switch open := x.Open(); {
	case open && !w.open[ref]:
		w.open[ref] = true
		w.faulty[x.Of]++
	case !open && w.open[ref]:
		delete(w.open, ref)
		w.faulty[x.Of]--
	}
	if tag, ok := x.Of.Tag(); ok && w.f.named(tag) != none {
		into[w.f.named(tag)] = true
	}
}

func (w *watch) look(at int, c Cause) {
	d := w.f.table.at(at)
	if at >= len(w.places) || w.places[at] == none {
		w.put(at, len(w.known))
		w.known = append(w.known, at)
		w.names = append(w.names, d.tag())
		w.looks = append(w.looks, Look{})
	}
	place, l := w.places[at], w.f.look(d)
	l.Faulty = w.faulty[events.Device(d.tag())] > 0
	if l.State == Fitted && w.bare[at] {
		l.State = Listed
	}
	if l != w.looks[place] {
		w.looks[place] = l
		w.turn(c, place)
	}
}

// turn notes how the device at a place in the course looks from a point on.
func (w *watch) turn(c Cause, place int) {
	x := Turn{At: c.At, Device: place, Look: w.looks[place]}
	if n := len(w.turns); n > 0 {
		x.sum = w.turns[n-1].sum
	}
	x.sum.turn(&x)
	w.turns = append(w.turns, x)
}

// look is what a device is drawn by after the facts folded so far, but for its
// faults.
func (f *fold) look(d *device) Look {
	l := Look{
		Struck: d.Struck != 0, Dark: d.cuts != nil,
		Skipped: d.Skipped != 0, Refused: d.Refused != 0, Missed: d.Missed != 0,
		Held: slices.ContainsFunc(f.holds, func(h Hold) bool { return d.keptBy(h.Of) }),
	}
	l.State, _ = f.state(d)
	if l.State == Settled {
		l.State = Paired
	}
	if l.State == Paired && d.is(isMesh) {
		l.Settles = d.Settles
	}
	return l
}
