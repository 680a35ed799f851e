package projection

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"pairwalk/events"
)

// Resolution closes a conflict.
type Resolution struct {
	Cause
	Key    string
	Stands string
	Why    string
}

// Settings are the site's settings, each with the entry that set it.
type Settings struct {
	set map[events.SettingKey]setting
}

type setting struct {
	value string
	event *events.Event
}

// Value is a setting as set, or its default.
func (s Settings) Value(k events.SettingKey) string {
	if v, ok := s.set[k]; ok {
		return v.value
	}
	known, _ := events.SettingFor(k)
	return known.Default
}

// Event is the entry that set k, or nil where the default stands.
func (s Settings) Event(k events.SettingKey) *events.Event { return s.set[k].event }

// Int is a setting as a number.
func (s Settings) Int(k events.SettingKey) int64 {
	n, err := strconv.ParseInt(s.Value(k), 10, 64)
	if err != nil {
		return 0
	}
	return n
}

// Span is a setting counted in units, such as time.Minute.
func (s Settings) Span(k events.SettingKey, unit time.Duration) time.Duration {
	return time.Duration(s.Int(k)) * unit
}

// applyRecords applies voids first, since they may withdraw other records, then
// settings and resolutions in record order.
func (t *timeline) applyRecords() {
	t.settings = Settings{map[events.SettingKey]setting{}}
	t.resolved, t.disputed = map[string]Resolution{}, map[string]bool{}
	t.awaited = map[events.Ref]bool{}
	for _, n := range t.records {
		e := t.ranks.Event(n)
		if p, ok := e.Payload.(events.EventVoided); ok && t.trust.quarantine(n) == "" {
			t.applyVoid(n, e, p)
		}
	}
	for _, n := range t.records {
		if e := t.ranks.Event(n); e.Kind().IsRecord() && t.trust.quarantine(n) == "" && t.voidOf(n) == nil {
			t.applyRecord(e)
		}
	}
}

func (t *timeline) applyVoid(n events.Number, e *events.Event, p events.EventVoided) {
	target, found := t.find(p.Event)
	switch own := p.Event.Feed.Key() == e.Member(); {
	case !found:
		t.awaited[p.Event] = true
		t.oddRecord(e, "withdraws an entry that is not known here", p.Event)
	case !Voidable(t.ranks.Event(target).Kind()):
		t.oddRecord(e, "a "+string(t.ranks.Event(target).Kind())+" entry can't be withdrawn", p.Event)
	case !own && !t.trust.leads(e):
		t.trust.refused[n] = "only its author or a lead may withdraw an entry"
	default:
		if old := t.voidOf(target); old == nil || own && !old.Own {
			t.laid.at(target).void = int32(len(t.withdrawn))
			t.withdrawn = append(t.withdrawn, &void{Cause: Cause{Event: e, At: e.Wall.At}, Why: p.Why, Note: p.Note, Own: own})
		}
	}
}

// Voidable says whether entries of a kind may be withdrawn at all: the log's own
// bones may not, nor may a withdrawal.
func Voidable(k events.Kind) bool {
	for _, family := range []string{"site.", "member.joined", "member.admitted", "member.revoked", "feed.", "event."} {
		if strings.HasPrefix(string(k), family) {
			return false
		}
	}
	return true
}

func (t *timeline) applyRecord(e *events.Event) {
	switch p := e.Payload.(type) {
	case events.SiteOpened:
		if t.opened == nil && p.Root == t.trust.root {
			t.opened = e
		} else {
			t.oddRecord(e, "the site is open already")
		}
	case events.SettingsChanged:
		t.applySettings(e, p)
	case events.FeedStarted:
		if e.Seq != 1 {
			t.oddRecord(e, "begins a feed in its middle")
		}
	case events.MemberJoined:
		if first := t.trust.joins[p.Key]; first != e {
			t.oddRecord(e, "joined before")
		}
	case events.MemberAdmitted:
		t.checkAdmission(e, p)
	case events.MemberRevoked:
		if t.trust.members[p.Key] == nil {
			t.oddRecord(e, "revokes somebody who has not joined")
		} else if t.trust.members[p.Key].Role == events.Lead && !t.trust.byRoot[e] {
			t.oddRecord(e, "only the root's signature revokes a lead")
		}
	case events.ClockCompared:
		if p.Other == e.Member() {
			t.oddRecord(e, "compares a clock with itself")
		} else if t.trust.members[p.Other] == nil {
			t.oddRecord(e, "compares clocks with somebody who has not joined")
		}
	case events.ConflictResolved:
		t.disputed[p.Key[:max(0, strings.LastIndexByte(p.Key, ':'))]] = true
		t.resolved[p.Key] = Resolution{Cause{Event: e, At: e.Wall.At}, p.Key, p.Stands, p.Why}
	}
}

func (t *timeline) checkAdmission(e *events.Event, p events.MemberAdmitted) {
	switch m := t.trust.members[p.Key]; {
	case m == nil:
		t.oddRecord(e, "admits somebody who has not joined")
	case m.Invite != p.Invite:
		t.oddRecord(e, "admits a member by an invite they did not use")
	}
}

func (t *timeline) applySettings(e *events.Event, p events.SettingsChanged) {
	for k, v := range p.Set {
		known, ok := events.SettingFor(k)
		if !ok {
			t.oddRecord(e, fmt.Sprintf("setting %s is not known to this version", k))
		} else if err := known.Check(v); err != nil {
			t.oddRecord(e, err.Error())
		} else if k == events.ClockReference && v != "" && t.trust.members[events.Key(v)] == nil {
			t.oddRecord(e, "makes the clock of somebody who has not joined site time")
		} else {
			t.settings.set[k] = setting{v, e}
		}
	}
}

// reference is the member whose clock is site time.
func (t *timeline) reference() events.Key {
	if k := events.Key(t.settings.Value(events.ClockReference)); k != "" {
		return k
	}
	if t.opened != nil {
		return t.opened.Member()
	}
	return ""
}

// comparisons lists the comparisons of clocks that count.
func (t *timeline) comparisons() []*events.Event {
	var out []*events.Event
	for _, n := range t.records {
		if t.compares(n) {
			out = append(out, t.ranks.Event(n))
		}
	}
	return out
}

func (t *timeline) compares(n events.Number) bool {
	p, ok := t.ranks.Event(n).Payload.(events.ClockCompared)
	return ok && t.trust.quarantine(n) == "" && t.voidOf(n) == nil && p.Other != t.ranks.Event(n).Member() && t.trust.members[p.Other] != nil
}

// readings yields what is known of the clock that is site time, in record order:
// as its owner's entries show it, and as comparisons tell.
func (t *timeline) readings(yield func(events.Stamp) bool) {
	reference := t.reference()
	for _, n := range t.order {
		e := t.ranks.Event(n)
		owned := e.Member() == reference
		if owned && t.trust.quarantine(n) == "" && !yield(e.Stamp()) {
			return
		}
		if p, ok := e.Payload.(events.ClockCompared); ok && (owned || p.Other == reference) && t.compares(n) {
			look := p.Theirs
			if owned {
				look = p.Mine
			}
			if !yield(stampOf(look)) {
				return
			}
		}
	}
}

func stampOf(r events.Reading) events.Stamp {
	return events.Stamp{Wall: events.Wall{At: r.Wall}, Mono: r.Mono}
}

// oddRecord notes a record that makes no sense.
func (t *timeline) oddRecord(e *events.Event, why string, about ...events.Ref) {
	t.odd = append(t.odd, Anomaly{Cause: Cause{Event: e, At: e.Wall.At}, Why: why, Others: about})
}
