package member

import (
	"encoding/json"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// CourseAnswer is how every device went through its states, for a drawing that is
// scrubbed through time. Times are ms since 1970, of site time.
type CourseAnswer struct {
	V       int            `json:"v"`
	Known   string         `json:"known"`
	From    events.Instant `json:"from"` // of the first turn or mark
	To      events.Instant `json:"to"`
	Devices []string       `json:"devices"`
	Turns   []CourseTurn   `json:"turns"`
	Marks   []CourseMark   `json:"marks"` // the moments that matter
}

// CourseTurn is one device that looks otherwise from a moment on, written
// [at, device, state, settles, signs]: the place of the device in the list, the
// state's number from 0 for listed to 4 for pushed, when a paired mesh device
// counts as settled (0 where it does not wait), and a letter for each sign.
type CourseTurn projection.Turn

var stateNumbers = []projection.State{projection.Listed, projection.Fitted, projection.Paired, projection.Settled, projection.Pushed}

// MarshalJSON writes a turn as its list.
func (t CourseTurn) MarshalJSON() ([]byte, error) {
	return json.Marshal([]any{t.At, t.Device, slices.Index(stateNumbers, t.Look.State), t.Look.Settles, signs(t.Look)})
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
var marked = []events.Kind{
	"hub.ready", "hub.lost", "hub.channel", "records.merged", "push.done", "push.failed",
	"power.off", "power.on", "fault.found", "hold.placed", "work.signed", "member.revoked",
}

// Course tells how every device went, as known to somebody.
func (m *Member) Course(known projection.Known) CourseAnswer {
	s := m.At(projection.Moment{Known: known})
	w := writer{s, s.Location()}
	m.mu.Lock()
	course, told := m.history.Course(known), m.history.Told(projection.Moment{Known: known})
	m.mu.Unlock()
	a := CourseAnswer{V: AnswerVersion, Known: w.moment().Known, Devices: texts(course.Devices), Turns: make([]CourseTurn, len(course.Turns)), Marks: []CourseMark{}}
	for i, t := range course.Turns {
		a.Turns[i] = CourseTurn(t)
		a.span(t.At)
	}
	for i := range told {
		x := &told[i]
		if slices.Contains(marked, x.Event.Kind()) && x.Withdrawn == "" && x.Quarantined == "" {
			a.Marks = append(a.Marks, CourseMark{x.At, string(x.Event.Kind()), w.words(x.Event), x.Ref().String(), texts(x.Subjects)})
			a.span(x.At)
		}
	}
	return a
}

func (a *CourseAnswer) span(at events.Instant) {
	if a.From == 0 || at < a.From {
		a.From = at
	}
	a.To = max(a.To, at)
}
