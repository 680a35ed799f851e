package member

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"io"
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

// Course tells how every device went, as known to somebody.
func (m *Member) Course(known projection.Known) CourseAnswer { return m.CourseAfter(known, "") }

// CourseAfter is Course from a mark on that an earlier answer gave.
func (m *Member) CourseAfter(known projection.Known, mark string) CourseAnswer {
	s := m.At(projection.Moment{Known: known})
	w := writer{s, s.Location()}
	m.mu.Lock()
	course := m.history.Course(known)
	all := courseEnd{devices: len(course.Devices), turns: len(course.Turns), marks: course.Marks.Len()}
	all.sum = courseSum(s, course, all)
	a := CourseAnswer{V: AnswerVersion, Known: w.moment().Known, Mark: all.String(), After: mark}
	had, ok := readCourseEnd(mark)
	if !ok || had.devices > all.devices || had.turns > all.turns || had.marks > all.marks || had.sum != courseSum(s, course, had) {
		had, a.After = courseEnd{}, ""
	}
	marks := make([]projection.Told, all.marks-had.marks)
	for i := range marks {
		marks[i] = course.Marks.At(had.marks + i)
	}
	a.span(course)
	m.mu.Unlock()
	a.Devices = texts(course.Devices[had.devices:])
	a.Turns = make([]CourseTurn, all.turns-had.turns)
	for i, t := range course.Turns[had.turns:] {
		a.Turns[i] = CourseTurn(t)
	}
	a.Marks = listOf(marks, func(x *projection.Told) CourseMark {
		return CourseMark{x.At, string(x.Event.Kind()), w.words(x.Event), x.Ref().String(), texts(x.Subjects)}
	})
	return a
}

// span says from when to when something happened; turns and marks are in order.
func (a *CourseAnswer) span(c *projection.Course) {
	from, to := events.Instant(math.MaxInt64), events.Instant(0)
	if n := len(c.Turns); n > 0 {
		from, to = c.Turns[0].At, c.Turns[n-1].At
	}
	if n := c.Marks.Len(); n > 0 {
		from, to = min(from, c.Marks.Point(0)), max(to, c.Marks.Point(n-1))
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
	sum                   uint64
}

func (e courseEnd) String() string {
	return fmt.Sprintf("%d.%d.%d.%016x", e.devices, e.turns, e.marks, e.sum)
}

func readCourseEnd(text string) (e courseEnd, ok bool) {
	_, err := fmt.Sscanf(text, "%d.%d.%d.%016x", &e.devices, &e.turns, &e.marks, &e.sum)
	if err != nil || e.String() != text || min(e.devices, e.turns, e.marks) < 0 {
		return courseEnd{}, false
	}
	return e, true
}

// courseSum is the digest of a course up to an end: of what was told by then, and of
// what its devices and the members in its words are called.
func courseSum(s *projection.Site, c *projection.Course, end courseEnd) uint64 {
	sum := fnv.New64a()
	for i := range s.Members {
		_, _ = io.WriteString(sum, s.MemberName(s.Members[i].Key)+"\n") // a hash takes everything
	}
	for _, tag := range c.Devices[:end.devices] {
		_, _ = io.WriteString(sum, string(tag)+"\n")
	}
	_, _ = sum.Write(binary.BigEndian.AppendUint64(nil, c.Sum(end.turns, end.marks)))
	return sum.Sum64()
}
