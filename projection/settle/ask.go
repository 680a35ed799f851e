package settle

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// never is the age of what has not been heard.
const never = math.MaxInt64

// ask finds who may know of a pairing on the hub that has not been heard here.
func (m *matter) ask(heard map[events.Key]Heard) (asks []Asked, hearings []Hearing) {
	fresh := m.span(events.HeardMinutes, time.Minute)
	lasts := m.span(events.AskedMinutes, time.Minute)
	for _, k := range m.atWork() {
		h, ever := heard[k]
		log, answer := m.logAge(h, ever, k), m.answerAge(k)
		if log < never {
			hearings = append(hearings, Hearing{k, m.clock.ago(log)})
		}
		if log <= fresh || answer <= lasts {
			continue
		}
		one := Asked{Member: k}
		switch newest := min(log, answer); {
		case newest < never:
			one.Since = events.Some(m.clock.ago(newest))
		case ever:
			one.Since = events.Some(h.At.Wall.At)
		}
		asks = append(asks, one)
		m.because(Ask, Unheard, m.askWords(one), []events.Subject{events.Member(k)})
	}
	return asks, hearings
}

func (m *matter) askWords(a Asked) string {
	name := m.site.MemberName(a.Member)
	if !a.Since.Known {
		return fmt.Sprintf("%s has never been heard: ask what they last paired on %s and log the answer, or sync with them", name, m.hub.Hub)
	}
	since := a.Since.Value.Time().In(m.site.Location()).Format("15:04")
	return fmt.Sprintf("%s has not been heard since %s: ask what they paired on %s since then and log the answer, or sync with them", name, since, m.hub.Hub)
}

func (m *matter) span(k events.SettingKey, unit time.Duration) int64 {
	return m.site.Settings.Span(k, unit).Milliseconds()
}

// atWork lists who is assigned to the hub or was at work on it lately, by name.
// The site's last entry and our wall clock both have to say that somebody's work
// is long ago: either may be wrong. So do their own clock and what others compared
// it with: one of those may lie.
func (m *matter) atWork() []events.Key {
	lately := min(m.site.Moment.When.Value, m.clock.now.Wall.At) - events.Instant(m.span(events.ActiveHours, time.Hour))
	var out []events.Key
	add := func(k events.Key) {
		member, joined := m.site.Member(k)
		if k == m.clock.self || joined && member.Standing == projection.Revoked || slices.Contains(out, k) {
			return
		}
		out = append(out, k)
	}
	for k := range m.hub.Assigned {
		add(k)
	}
	for k, last := range m.hub.Active {
		if max(last.At, last.Event.Wall.At) >= lately {
			add(k)
		}
	}
	for i := range m.hub.Pairings { // also those that are not folded: their authors were at work
		p := &m.hub.Pairings[i]
		if _, joined := m.site.Member(p.Member()); joined && !withdrawn(p) && max(p.At, p.Event.Wall.At) >= lately {
			add(p.Member())
		}
	}
	slices.SortFunc(out, func(a, b events.Key) int {
		return cmp.Or(cmp.Compare(m.site.MemberName(a), m.site.MemberName(b)), cmp.Compare(a, b))
	})
	return out
}

// logAge is how long ago, at the most, we held all that a member had said: by an
// exchange, or by their last work on the hub, before which nothing of their feed
// is missing.
func (m *matter) logAge(h Heard, ever bool, k events.Key) int64 {
	age := int64(never)
	if ms, known := m.clock.age(h.At); ever && known {
		age = ms
	}
	if last, worked := m.hub.Active[k]; worked && m.whole(last.Event) {
		if first, known := m.clock.earliest(m.clock.see(act{event: last.Event})); known {
			age = min(age, m.clock.now.Mono.Ms-first)
		}
	}
	return age
}

// whole says whether nothing of an entry's feed is missing here before it.
func (m *matter) whole(e *events.Event) bool {
	gap, lacks := m.site.Gaps[e.Feed]
	return !lacks || e.Seq < gap
}

// answerAge is how long ago, at the most, a member's newest answer about the hub
// held.
func (m *matter) answerAge(k events.Key) int64 {
	age := int64(never)
	for _, a := range m.hub.Asked {
		if a.Member == k {
			age = min(age, m.clock.answered(a))
		}
	}
	return age
}

// answered is how long ago an answer held, at the most. It does not hold for
// longer than the entry that took it down.
func (c *clock) answered(a projection.Asking) int64 {
	if !c.now.Mono.Known() && a.Event.Member() == c.self {
		ms, known := c.age(a.Event.Stamp())
		if !known {
			return never
		}
		return ms + int64(max(0, a.Event.Wall.At-a.Through))
	}
	through := act{event: a.Event}
	if a.Through < a.Event.Wall.At {
		through.when = events.Some(events.At(a.Through))
	}
	first, known := c.earliest(c.see(through))
	if !known {
		return never
	}
	return c.now.Mono.Ms - first
}
