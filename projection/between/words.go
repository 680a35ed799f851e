package between

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// anyway says what holds of a subject where no fact says otherwise.
var anyway = map[What]string{
	Listed: "not there", State: "listed", Serial: "no serial", Channel: "no channel", Program: "no program", Missed: "missed none",
	Ready: "not ready", Heard: "never heard", Power: "on", Path: "not on the net", Hold: "no hold", Fault: "no fault",
	Conflict: "no conflict", Check: "not done", Planned: "not planned", Measured: "not measured", Assigned: "nobody",
}

// wordsOf is a fact in words, also where there is none.
func wordsOf(k key, f fact, there bool) string {
	if there {
		return f.words
	}
	return anyway[k.what]
}

// changeWords says a change and what did it, without who knew.
func changeWords(x *Change) string {
	words := fmt.Sprintf("%s: %s: %s → %s", x.Of.Words(), x.What, dash(x.Before), dash(x.After))
	switch {
	case x.Why != "" && !x.Cause.IsZero():
		return fmt.Sprintf("%s (%s: %s)", words, x.Why, x.Cause.Event.Payload.String())
	case x.Why != "":
		return fmt.Sprintf("%s (%s)", words, x.Why)
	case !x.Cause.IsZero():
		return fmt.Sprintf("%s (%s)", words, x.Cause.Event.Payload.String())
	}
	return words
}

// byEntry orders changes by the entry that did them, in the order of site time,
// then by subject; what no entry did comes last.
func byEntry(a, b Change) int {
	if a.Cause.IsZero() != b.Cause.IsZero() {
		if a.Cause.IsZero() {
			return 1
		}
		return -1
	}
	if !a.Cause.IsZero() {
		if n := cmp.Or(cmp.Compare(a.Cause.At, b.Cause.At), a.Cause.Ref().Compare(b.Cause.Ref())); n != 0 {
			return n
		}
	}
	return cmp.Or(cmp.Compare(slices.Index(whats, a.What), slices.Index(whats, b.What)),
		cmp.Compare(a.Of.Class, b.Of.Class), events.ByName(a.Of.ID, b.Of.ID), cmp.Compare(a.Before, b.Before), cmp.Compare(a.After, b.After))
}

// day writes a time with its day, in the site's zone.
func day(s *projection.Site, at events.Instant) string {
	return at.Time().In(s.Location()).Format("2006-01-02 15:04:05")
}

func metres(p events.Point) string {
	return fmt.Sprintf("%.2f, %.2f, %.2f m", float64(p.X)/1000, float64(p.Y)/1000, float64(p.Z)/1000)
}

func warranty(d events.DeviceListed) string {
	if d.WarrantyStart == "" && d.WarrantyMonths == 0 {
		return ""
	}
	return fmt.Sprintf("%d months from %s", d.WarrantyMonths, dash(d.WarrantyStart))
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

func dash(s string) string { return none(s, "-") }

// none says something else where there is nothing to say.
func none(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
