package member

import (
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/walk"
)

// Marks is what to say about entries that were just recorded.
type Marks struct {
	Flagged  []string // rules of the trade that were broken, and what makes no sense
	Doubted  []string // why an entry is kept and not counted
	Cautions []string // what to mind
}

// MarksOf looks for what entries brought with them: the facts just before and
// after they were recorded.
func MarksOf(before, after *projection.Site, evs []events.Event) Marks {
	return marksOf(before, after, evs, AllConflicts)
}

// Marks is [MarksOf] of this member's own facts.
func (m *Member) Marks(before, after *projection.Site, evs []events.Event) Marks {
	return marksOf(before, after, evs, m.Conflicts)
}

func marksOf(before, after *projection.Site, evs []events.Event, conflicts func(*projection.Site) []projection.Conflict) Marks {
	fresh := make(map[events.Ref]bool, len(evs))
	for i := range evs {
		fresh[evs[i].Ref()] = true
	}
	var x Marks
	once := func(list *[]string, words string) {
		if words != "" && !slices.Contains(*list, words) {
			*list = append(*list, words)
		}
	}
	for _, odd := range after.Anomalies {
		if fresh[odd.Ref()] {
			once(&x.Flagged, odd.Subject.Words()+" "+odd.Why)
		}
	}
	for _, doubt := range after.Quarantined {
		if fresh[doubt.Ref()] {
			once(&x.Doubted, doubt.Why)
		}
	}
	old := map[string]bool{}
	for _, c := range conflicts(before) {
		old[c.Key] = true
	}
	for _, c := range conflicts(after) {
		if !old[c.Key] {
			once(&x.Flagged, c.Why)
		}
	}
	for i := range evs {
		if p, ok := evs[i].Payload.(events.CheckDone); ok {
			for _, words := range checks.Doubts(after, p) {
				once(&x.Flagged, "passed, and "+words)
			}
		}
		for _, words := range walk.CautionsOf(after, evs[i].Payload) {
			once(&x.Cautions, words)
		}
	}
	return x
}
