package intake

import "pairwalk/events"

// entries lays the rows of a sheet of entries against those that are in the log
// already. An entry is the same if it says the same of the same time, or if
// neither tells a time: such a row may be the same file again or a second
// measurement, and the file can't tell.
func entries[P events.Payload](s Sheet, d *Diff, logged []Logged[P], same func(P) string) {
	there := map[string]bool{}
	key := func(p P, when events.Maybe[events.Interval]) string {
		if !when.Known {
			return same(p)
		}
		return same(p) + " at " + when.Value.Middle().String()
	}
	for _, l := range logged {
		there[key(l.Payload, l.When)] = true
	}
	for _, r := range s.Rows {
		k := key(r.Payload.(P), r.When)
		if !there[k] {
			there[k] = true
			d.Entries = append(d.Entries, r)
			continue
		}
		d.Same++
		if !r.When.Known {
			d.Undated++
		}
	}
}
