package callback

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// Symptom is what the caller sees.
type Symptom string

// The symptoms; the zero value is one that nobody described.
const (
	NoAnswer     Symptom = "no-answer"
	WrongLevel   Symptom = "wrong-level"
	Intermittent Symptom = "intermittent"
	AlwaysOn     Symptom = "always-on"
)

// Symptoms lists them.
var Symptoms = []Symptom{NoAnswer, WrongLevel, Intermittent, AlwaysOn}

// Question is what the caller complains of.
type Question struct {
	About   events.Subject               // device, room, floor, circuit or hub
	From    events.Maybe[events.Instant] // site time it began at; unset: handover, else the last push or proof
	To      events.Maybe[events.Instant] // unset: the moment known to Known
	Symptom Symptom                      // "" unknown
	Now     events.Instant               // when it is asked: days count up to it, and only times of its day go without theirs; 0: days count to To
	Known   projection.Known             // as known to whom
}

// Explanation is what the log knows of a complaint.
type Explanation struct {
	Question // with From and To filled in

	Site    *projection.Site // the facts it rests on
	Devices []events.Tag     // what the subject stands for, by their tags now
	Silence *Silence         // nil where the site was never handed over
	Head    string
	Ask     []string
	Causes  []Cause
	Left    []events.Tag // devices of Devices that no cause concerns
	Nothing bool         // no cause was found
	Open    bool         // nothing that happened explains it: no cause, a single point, or none that fits the symptom
	Notes   []Evidence   // what was noted since on what is asked about, the newest first
	Words   string
}

// Silence is what was logged since handover.
type Silence struct {
	Signed  projection.Signature
	Days    int
	Entries int              // whenever they happened
	Within  int              // those of the time asked about
	Newest  *projection.Told // nil where there is none
}

// Explain says what in the log would explain a complaint, likeliest first. A
// subject that names no device has no causes, and Words says so.
func Explain(h *projection.History, q Question) Explanation {
	x := newInquiry(h, q)
	e := Explanation{Question: x.Question, Site: x.site, Devices: tagsOf(x.devices)}
	e.Silence = x.silence()
	e.Head = x.head(e.Silence)
	if len(x.devices) == 0 {
		e.Nothing, e.Open = true, true
		e.Words = fmt.Sprintf("No device of %s is known here, so there is nothing to explain. Ask by the tag, the room or the circuit as the schedule has it.", x.About.Words())
		return e
	}
	e.Causes = x.causes()
	e.Left = x.left(e.Causes)
	e.Ask = x.ask(e.Causes)
	e.Nothing = len(e.Causes) == 0
	e.Open = e.Nothing || e.Causes[0].Kind == BySingle || e.Causes[0].fit < may
	e.Notes = x.notes()
	e.Words = x.verdict(&e)
	return e
}

// left lists the devices that no cause concerns.
func (x *inquiry) left(causes []Cause) []events.Tag {
	concerned := map[events.Tag]bool{}
	for i := range causes {
		for _, t := range causes[i].Devices {
			concerned[t] = true
		}
	}
	var out []events.Tag
	for _, d := range x.devices {
		if !concerned[d.Device] {
			out = append(out, d.Device)
		}
	}
	return out
}

// someOf names some things, and counts the rest.
func someOf[T ~string](list []T) string {
	const most = 6
	words := make([]string, 0, most)
	for _, t := range list[:min(most, len(list))] {
		words = append(words, string(t))
	}
	if more := len(list) - most; more > 0 {
		return strings.Join(words, ", ") + fmt.Sprintf(" and %d more", more)
	}
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

func counted(n int, noun string) string {
	switch {
	case n == 1:
		return "1 " + noun
	case strings.HasSuffix(noun, "ry"):
		noun = strings.TrimSuffix(noun, "y") + "ie"
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func tagsOf(devices []*projection.Device) []events.Tag {
	out := make([]events.Tag, len(devices))
	for i, d := range devices {
		out[i] = d.Device
	}
	return out
}
