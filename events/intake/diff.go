package intake

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// Diff is what a sheet would change on a site. Payloads makes entries of what it
// would list; Entries are some already.
type Diff struct {
	Adds     []Add
	Amends   []Amend
	Renames  []Rename
	Strikes  []Strike
	Entries  []Row     // of a links sheet or survey: what the log doesn't have yet
	Problems []Problem // rows at odds with what the site has; nothing is made of them
	Same     int       // rows that say what is listed or logged already
	Undated  int       // of those, the ones that tell no time
}

// Add lists something new.
type Add struct {
	Row     int // the first that names it
	Payload events.Payload
}

// Amend lists something again with other details.
type Amend struct {
	Row     int
	Of      events.Subject
	Payload events.Payload // what will be listed
	Columns []Delta
}

// Rename gives a device another tag. One that the file tells (in its column was)
// is certain; a suggested one is a struck and an added device that look like the
// same position.
type Rename struct {
	Row       int
	From, To  events.Tag
	Suggested bool
	Why       string // of a suggestion
	touched   bool
	amended   []events.Payload // of a suggestion: the device's row under its new tag, if it differs
}

// Strike would take something off the schedule that the file has no row for. It
// is only ever suggested.
type Strike struct {
	Of      events.Subject
	Payload events.Payload
	Touched bool // something was done to it in the field
}

// Accept says which suggestions a person has agreed to.
type Accept struct {
	Strikes bool
	Renames bool
}

const struckWhy = "not in the imported schedule"

// Diff compares a sheet with what the site has. The rows of a field sheet are
// entries of their own, and its Diff is empty.
func (s Sheet) Diff(site Listing) Diff {
	var d Diff
	if s.layout.differs != nil {
		s.layout.differs(s, site, &d)
	}
	return d
}

// Empty says whether there is nothing to change, not even by suggestion.
func (d Diff) Empty() bool {
	return len(d.Adds)+len(d.Amends)+len(d.Renames)+len(d.Strikes)+len(d.Entries)+len(d.Problems) == 0
}

// Payloads lists the entries to make besides Entries, in an order in which each
// finds what it speaks of: floors, rooms, hubs, renames, devices and walls, then
// what is struck.
func (d Diff) Payloads(accept Accept) []events.Payload {
	var out []events.Payload
	done := map[events.Subject]bool{} // dealt with by an accepted suggestion
	for _, r := range d.Renames {
		if r.Suggested && !accept.Renames {
			continue
		}
		out = append(out, events.DeviceRenamed{From: r.From, To: r.To})
		if r.Suggested {
			out = append(out, r.amended...)
			done[events.Device(r.From)], done[events.Device(r.To)] = true, true
		}
	}
	for _, a := range d.Adds {
		if !done[a.Payload.Subjects()[0]] {
			out = append(out, a.Payload)
		}
	}
	for _, a := range d.Amends {
		out = append(out, a.Payload)
	}
	for _, s := range d.Strikes {
		if accept.Strikes && !done[s.Of] {
			out = append(out, s.Payload)
		}
	}
	slices.SortStableFunc(out, func(a, b events.Payload) int { return turn(a) - turn(b) })
	return out
}

// turn is when an entry comes in Payloads.
func turn(p events.Payload) int {
	switch p.(type) {
	case events.FloorListed:
		return 0
	case events.RoomListed:
		return 1
	case events.HubListed:
		return 2
	case events.DeviceRenamed:
		return 3
	case events.DeviceListed, events.WallListed:
		return 4
	}
	return 5
}

// String is the diff for people, a line for each change.
func (d Diff) String() string {
	var b strings.Builder
	for _, p := range d.Problems {
		fmt.Fprintf(&b, "problem: %s\n", p)
	}
	for _, a := range d.Adds {
		fmt.Fprintf(&b, "add: %s (row %d)\n", strings.TrimPrefix(a.Payload.String(), "listed "), a.Row)
	}
	for _, a := range d.Amends {
		fmt.Fprintf(&b, "amend: %s (row %d)\n", a, a.Row)
	}
	for _, r := range d.Renames {
		fmt.Fprintf(&b, "%s (row %d)\n", r, r.Row)
	}
	for _, s := range d.Strikes {
		fmt.Fprintf(&b, "%s\n", s)
	}
	for _, r := range d.Entries {
		fmt.Fprintf(&b, "log: %s (row %d)\n", r.Payload, r.Number)
	}
	fmt.Fprintf(&b, "%d the same", d.Same)
	if d.Undated > 0 {
		fmt.Fprintf(&b, ", %d of them without a time: write when, if they were measured again", d.Undated)
	}
	b.WriteString("\n")
	return b.String()
}

// String names what changes: `2-114: circuit "C3-7", was "C3-8"`.
func (a Amend) String() string {
	parts := make([]string, len(a.Columns))
	for i, c := range a.Columns {
		parts[i] = fmt.Sprintf("%s %q, was %q", c.Column, c.New, c.Old)
	}
	return a.Of.Words() + ": " + strings.Join(parts, "; ")
}

func (r Rename) String() string {
	s := fmt.Sprintf("rename: %s to %s", r.From, r.To)
	if r.Suggested {
		s = fmt.Sprintf("rename? %s to %s: %s", r.From, r.To, r.Why)
	}
	if r.touched {
		s += "; keeps its field history"
	}
	return s
}

func (s Strike) String() string {
	text := fmt.Sprintf("strike? %s: no row names it", s.Of.Words())
	if s.Touched {
		text += ", and it has field history"
	}
	return text
}
