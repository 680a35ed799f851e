package member

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"pairwalk/events"
	"pairwalk/projection"
)

// CourseAnswer is how every device went through its states, for a drawing that is
// scrubbed through time. Times are ms since 1970, of site time.
//
// A long course is sent once. Whoever has one asks for what comes after its Mark, and
// gets the rest of devices, turns and marks, with After the mark that they follow; or
// all of it, with no After, where something was told before the mark that is not so
// any more.
type CourseAnswer struct {
	V       int            `json:"v"`
	Known   string         `json:"known"`
	From    events.Instant `json:"from"` // of the first turn or mark
	To      events.Instant `json:"to"`
	Devices []string       `json:"devices"`
	Turns   []CourseTurn   `json:"turns"`
	Marks   []CourseMark   `json:"marks"` // the moments that matter
	Mark    string         `json:"mark"`  // where the course ends
	After   string         `json:"after"` // where this answer begins, "" for the beginning
}

// CourseTurn is one device that looks otherwise from a moment on, written
// [at, device, state, settles, signs]: the place of the device in the list, the
// state's number from 0 for listed to 4 for pushed, when a paired mesh device
// counts as settled (0 where it does not wait), and a letter for each sign.
type CourseTurn projection.Turn

var stateNumbers = []projection.State{projection.Listed, projection.Fitted, projection.Paired, projection.Settled, projection.Pushed}

// MarshalJSON writes a turn as its list.
func (t CourseTurn) MarshalJSON() ([]byte, error) {
	out := append(make([]byte, 0, 64), '[')
	for _, n := range []int64{int64(t.At), int64(t.Device), int64(slices.Index(stateNumbers, t.Look.State)), int64(t.Look.Settles)} {
		out = append(strconv.AppendInt(out, n, 10), ',')
	}
	return append(append(append(out, '"'), signs(t.Look)...), '"', ']'), nil
}

// signs are the letters of what a look shows beside its state.
func signs(l projection.Look) string {
	var out []byte
	for _, x := range []struct {
		on     bool
		letter byte
	}{{l.Struck, 's'}, {l.Dark, 'd'}, {l.Held, 'h'}, {l.Skipped, 'k'}, {l.Refused, 'r'}, {l.Missed, 'm'}, {l.Faulty, 'f'}, {l.Gone, 'g'}} {
		if x.on {
			out = append(out, x.letter)
		}
	}
	return string(out)
}

// CourseMark is a moment that matters: an entry that changes what many devices
// can do.
type CourseMark struct {
	At       events.Instant `json:"at"`
	Kind     string         `json:"kind"`
	Words    string         `json:"words"`
	Ref      string         `json:"ref"`
	Subjects []string       `json:"subjects"`
}

// marked are the kinds of entries that a course marks.
var marked = map[events.Kind]bool{
	"hub.ready": true, "hub.lost": true, "hub.channel": true, "records.merged": true, "push.done": true, "push.failed": true,
	"power.off": true, "power.on": true, "fault.found": true, "hold.placed": true, "work.signed": true, "member.revoked": true,
}

// Course tells how every device went, as known to somebody.
func (m *Member) Course(known projection.Known) CourseAnswer { return m.CourseAfter(known, "") }

// CourseAfter is Course from a mark on that an earlier answer gave.
func (m *Member) CourseAfter(known projection.Known, mark string) CourseAnswer {
	s := m.At(projection.Moment{Known: known})
	w := writer{s, s.Location()}
	m.mu.Lock()
	course, told := m.history.Course(known), m.history.Tell(projection.Moment{Known: known})
	moments := markedOf(told)
	m.mu.Unlock()
	had, ok := readCourseEnd(mark)
	here, all := courseEnds(s, course, moments, had)
	a := CourseAnswer{V: AnswerVersion, Known: w.moment().Known, Mark: all.String(), After: mark}
	if !ok || here != had {
		had, a.After = courseEnd{}, ""
	}
	a.Devices = texts(course.Devices[had.devices:])
	a.Turns = make([]CourseTurn, len(course.Turns)-had.turns)
	for i, t := range course.Turns[had.turns:] {
		a.Turns[i] = CourseTurn(t)
	}
	a.Marks = listOf(moments[had.marks:], func(x *projection.Told) CourseMark {
		return CourseMark{x.At, string(x.Event.Kind()), w.words(x.Event), x.Ref().String(), texts(x.Subjects)}
	})
	a.span(course.Turns, moments)
	return a
}

// markedOf lists the moments that matter, in the order of site time.
func markedOf(told projection.Telling) []projection.Told {
	var out []projection.Told
	for i := range told.Len() {
		if !marked[told.Event(i).Kind()] {
			continue
		}
		if x := told.At(i); x.Withdrawn == "" && x.Quarantined == "" {
			out = append(out, x)
		}
	}
	return out
}

// span says from when to when something happened; both lists are in order.
func (a *CourseAnswer) span(turns []projection.Turn, moments []projection.Told) {
	from, to := events.Instant(math.MaxInt64), events.Instant(0)
	if n := len(turns); n > 0 {
		from, to = turns[0].At, turns[n-1].At
	}
	if n := len(moments); n > 0 {
		from, to = min(from, moments[0].At), max(to, moments[n-1].At)
	}
	if to > 0 || from < math.MaxInt64 {
		a.From, a.To = from, to
	}
}

// courseEnd is where a course ends: how much is before it, and a digest of that.
// The digest finds what changed, and guards against nobody: a page is told its own
// process's marks.
type courseEnd struct {
	devices, turns, marks int
	sum                   digest
}

func (e courseEnd) String() string {
	return fmt.Sprintf("%d.%d.%d.%016x", e.devices, e.turns, e.marks, uint64(e.sum))
}

func readCourseEnd(text string) (e courseEnd, ok bool) {
	_, err := fmt.Sscanf(text, "%d.%d.%d.%016x", &e.devices, &e.turns, &e.marks, (*uint64)(&e.sum))
	if err != nil || e.String() != text || min(e.devices, e.turns, e.marks) < 0 {
		return courseEnd{}, false
	}
	return e, true
}

// courseEnds is where the course ends, and where the part of it that is as long as
// what somebody had.
func courseEnds(s *projection.Site, c *projection.Course, moments []projection.Told, had courseEnd) (here, all courseEnd) {
	var names, turns, marks digest
	for i := range s.Members { // what they are called stands in words
		names.text(s.MemberName(s.Members[i].Key))
	}
	here = courseEnd{min(had.devices, len(c.Devices)), min(had.turns, len(c.Turns)), min(had.marks, len(moments)), 0}
	sum := func() digest {
		d := names
		d.word(uint64(turns))
		d.word(uint64(marks))
		return d
	}
	for _, tag := range c.Devices[:here.devices] {
		names.text(string(tag))
	}
	for i := range c.Turns[:here.turns] {
		turns.turn(&c.Turns[i])
	}
	for i := range moments[:here.marks] {
		marks.moment(&moments[i])
	}
	here.sum = sum()
	for _, tag := range c.Devices[here.devices:] {
		names.text(string(tag))
	}
	for i := range c.Turns[here.turns:] {
		turns.turn(&c.Turns[here.turns+i])
	}
	for i := range moments[here.marks:] {
		marks.moment(&moments[here.marks+i])
	}
	return here, courseEnd{len(c.Devices), len(c.Turns), len(moments), sum()}
}

// digest is a running sum of words, after FNV-1a (Fowler, Noll, Vo), a word at a time.
type digest uint64

func (d *digest) word(x uint64) {
	*d = (*d ^ digest(x)) * 0x100000001b3
	*d ^= *d >> 29 // a word at a time leaves the low bits to themselves
}

func (d *digest) text(s string) {
	for i := range len(s) {
		d.word(uint64(s[i]))
	}
	d.word(1 << 8) // ends it
}

func (d *digest) turn(t *projection.Turn) {
	l := &t.Look
	d.word(uint64(t.At))
	d.word(uint64(t.Device)<<8 | uint64(slices.Index(stateNumbers, l.State)))
	d.word(uint64(l.Settles))
	d.text(signs(*l))
}

func (d *digest) moment(x *projection.Told) {
	d.word(uint64(x.At))
	for _, b := range x.Event.Hash[:8] {
		d.word(uint64(b))
	}
	for _, s := range x.Subjects {
		d.text(s.ID)
	}
}
