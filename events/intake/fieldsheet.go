package intake

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// fieldSheet is what was written down on paper while walking.
var fieldSheet = layout{
	kind: FieldSheet,
	columns: []column{
		{name: "tag", also: "position,mark,device,device tag", need: true},
		{name: "serial", also: "serial number,serial no,s/n"},
		{name: "what", also: "action,done", need: true},
		{name: "when", also: "time,at", need: true},
		{name: "by", also: "who,technician"},
		{name: "note", also: "notes,why,remark,remarks,comment,comments"},
	},
	row:     fieldRow,
	whole:   func(*reading) {},
	differs: func(Sheet, Listing, *Diff) {},
}

// verb is one thing that can be done to a device, as the log command calls it.
type verb struct {
	word  string
	also  string // other spellings, between commas
	takes string // the columns it has a place for, between commas
	read  func(r *row, d events.DeviceListed, s events.Serial) events.Payload
}

var verbs = []verb{
	{"fitted", "fit", "serial", func(r *row, d events.DeviceListed, s events.Serial) events.Payload {
		r.needSerial(s)
		return events.DeviceFitted{Device: d.Device, Serial: s, Source: events.OnPaper}
	}},
	{"paired", "pair", "serial", func(r *row, d events.DeviceListed, s events.Serial) events.Payload {
		return events.DevicePaired{Device: d.Device, Hub: d.Hub, Serial: s}
	}},
	{"refused", "refuse", "note", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		why, note := reason(r.prose("note"), events.RefusedWhys, events.RefusedOther)
		return events.DeviceRefused{Device: d.Device, Why: why, Note: note}
	}},
	{"skipped", "skip", "note", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		why, note := reason(r.prose("note"), events.SkippedWhys, events.SkippedOther)
		return events.DeviceSkipped{Device: d.Device, Why: why, Note: note}
	}},
	{"unpaired", "unpair", "note", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		return events.DeviceUnpaired{Device: d.Device, Why: r.needNote("why it was unpaired")}
	}},
	{"replaced", "replace", "serial,note", func(r *row, d events.DeviceListed, s events.Serial) events.Payload {
		r.needSerial(s)
		return events.DeviceReplaced{Device: d.Device, New: s, Why: r.needNote("why it was replaced")}
	}},
	{"heard", "hear", "", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		return events.DeviceHeard{Device: d.Device, Hub: d.Hub}
	}},
	{"fault", "", "note", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		note := r.needNote("what is wrong")
		severity, symptom := reason(note, events.Severities, events.Major)
		if note != "" && symptom == "" {
			r.wrong("note", "says how bad the fault is, and not what is wrong", "write it behind the colon")
		}
		return events.FaultFound{Of: events.Device(d.Device), Symptom: symptom, Severity: severity}
	}},
	{"note", "", "note", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		return events.NoteAdded{Of: events.Device(d.Device), Text: r.needNote("what there is to say")}
	}},
	{"power-off", "", "", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		return events.PowerOff{Of: events.Device(d.Device)}
	}},
	{"power-on", "", "", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		return events.PowerOn{Of: events.Device(d.Device)}
	}},
	{"hold", "", "note", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		return events.HoldPlaced{Of: events.Device(d.Device), Why: r.needNote("why nobody may touch it")}
	}},
	{"lift", "", "note", func(r *row, d events.DeviceListed, _ events.Serial) events.Payload {
		return events.HoldLifted{Of: events.Device(d.Device), Note: r.prose("note")}
	}},
}

func verbWords() wordList {
	l := wordList{what: "a thing that is logged of a device"}
	for _, v := range verbs {
		l.words = append(l.words, append([]string{v.word}, strings.Split(v.also, ",")...))
	}
	return l
}

func fieldRow(r *row) events.Payload {
	device := r.scheduled(needName[events.Tag](r, "tag", "write the tag of the device"))
	what := r.word("what", verbWords())
	if what == "" {
		r.wrong("what", "is empty", verbWords().right(""))
	}
	r.out.By = name[string](r, "by")
	r.when()
	serial := name[events.Serial](r, "serial")
	for _, v := range verbs {
		if v.word == what {
			r.leftOver(v, device)
			return v.read(r, device, serial)
		}
	}
	return nil
}

// leftOver looks after what a verb has no place for: a note becomes an entry of
// its own, and a serial is passed over.
func (r *row) leftOver(v verb, d events.DeviceListed) {
	takes := strings.Split(v.takes, ",")
	if !slices.Contains(takes, "serial") && r.cell("serial") != "" {
		r.note("serial", "is not taken: "+v.word+" goes without one")
	}
	if note := r.prose("note"); !slices.Contains(takes, "note") && note != "" {
		r.also = events.NoteAdded{Of: events.Device(d.Device), Text: note}
	}
}

// scheduled finds the device that a row is about.
func (r *row) scheduled(tag events.Tag) events.DeviceListed {
	d, ok := r.opt.Site.Devices[tag]
	if ok || tag == "" {
		return d
	}
	right := r.suggest(string(tag), "list it in the schedule first")
	r.wrong("tag", fmt.Sprintf("%q is not on the schedule", tag), right)
	return d
}

// when reads the time of a row.
func (r *row) when() {
	c := newClock(r.opt.Now, r.opt.Day, r.opt.Zone)
	v, err := c.when(r.cell("when"), r.opt.Tolerance)
	if err == nil {
		err = c.past(r.cell("when"), v)
	}
	if err != nil {
		r.wrong("when", err.Error(), "")
		return
	}
	r.out.When = events.Some(v)
}

func (r *row) needSerial(s events.Serial) {
	if s == "" {
		r.wrong("serial", "is empty", "write what the label of the unit says")
	}
}

func (r *row) needNote(of string) string {
	note := r.line("note")
	if note == "" {
		r.wrong("note", "is empty", "write "+of)
	}
	return note
}

// reason takes a word of the trade off the front of a note: "no-answer: tried
// twice" is no-answer, and "tried twice". Without one the usual word goes with
// the whole note.
func reason[T ~string](note string, words []T, usual T) (T, string) {
	head, rest, _ := strings.Cut(note, ":")
	for _, w := range words {
		if squash(head) == squash(string(w)) {
			return w, tidy(rest)
		}
	}
	return usual, note
}
