package settle

import (
	"maps"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// ask names the colleagues at work on the hub who have not been heard lately.
func (j *judge) ask() {
	heardFor := j.site.Settings.Span(events.HeardMinutes, time.Minute).Milliseconds()
	askedFor := j.site.Settings.Span(events.AskedMinutes, time.Minute).Milliseconds()
	for _, k := range j.colleagues() {
		heard, any := j.heard(k)
		asked, told := j.asked(k)
		if any || told {
			j.out.Heard = append(j.out.Heard, HeardThrough{k, j.clock.wall(max(heard, asked))})
		}
		if any && heard >= j.clock.now-heardFor || told && asked >= j.clock.now-askedFor {
			continue
		}
		x := Asked{Member: k}
		if any || told {
			x.Since = events.Some(j.clock.wall(max(heard, asked)))
		}
		j.out.Ask = append(j.out.Ask, x)
	}
}

// colleagues are the other members assigned to the hub, or at work on it within
// the last hours, by name.
func (j *judge) colleagues() []events.Key {
	recent := j.site.Settings.Span(events.ActiveHours, time.Hour)
	keys := map[events.Key]bool{}
	for k := range j.hub.Assigned {
		keys[k] = true
	}
	for k, c := range j.hub.Active {
		if j.local.Now.Wall.At.Sub(c.At) <= recent {
			keys[k] = true
		}
	}
	var out []events.Key
	for k := range maps.Keys(keys) {
		m, joined := j.site.Member(k)
		if k != j.local.Self && joined && m.Standing != projection.Revoked && m.Standing != projection.Quarantined {
			out = append(out, k)
		}
	}
	slices.SortFunc(out, func(a, b events.Key) int {
		x, _ := j.site.Member(a)
		y, _ := j.site.Member(b)
		if x.Name != y.Name {
			if x.Name < y.Name {
				return -1
			}
			return 1
		}
		return slices.Compare([]byte(a), []byte(b))
	})
	return out
}

// heard is how far a member's log is known here for sure: from an exchange, or
// from the time of their last work on the hub.
func (j *judge) heard(k events.Key) (at int64, any bool) {
	if h, ok := j.local.Heard[k]; ok {
		at, any = j.clock.reading(h.At)
	}
	if c, ok := j.hub.Active[k]; ok {
		if t, ok := j.clock.since(c.Event, events.Maybe[events.Instant]{}); ok && (!any || t > at) {
			at, any = t, true
		}
	}
	if !any {
		return 0, false
	}
	return at, true
}

// asked is how far a member's spoken answer about the hub reaches.
func (j *judge) asked(k events.Key) (at int64, told bool) {
	for _, a := range j.hub.Asked {
		if a.Member != k {
			continue
		}
		if t, ok := j.clock.since(a.Event, events.Some(a.Through)); ok && (!told || t > at) {
			at, told = t, true
		}
	}
	if !told {
		return 0, false
	}
	return at, true
}
