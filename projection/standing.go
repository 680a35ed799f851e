package projection

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
)

// forkConflicts finds feeds with two lines at one place. Both branches fold.
func (t *timeline) forkConflicts() []found {
	var out []found
	for feed, seqs := range t.trust.forks {
		first := t.trust.forkedAt[feed]
		evs := slices.SortedFunc(slices.Values(seqs[first]), func(a, b *events.Event) int { return a.Ref().Compare(b.Ref()) })
		c := NewConflict(ForkedFeed, feed.Short(), []events.Subject{events.Member(feed.Key())}, evs...)
		c.Why = fmt.Sprintf("%s's log has two different entries numbered %d; a copy of it was used on another device", t.memberName(feed.Key()), first)
		c.Stands = "both branches"
		out = append(out, found{Conflict: c})
	}
	return out
}

// inviteConflicts finds invites used by several members. Admitting one of them
// cures it.
func (t *timeline) inviteConflicts() []found {
	var out []found
	for invite, keys := range t.trust.invites {
		if len(keys) < 2 {
			continue
		}
		var evs []*events.Event
		var subjects []events.Subject
		var names []string
		for _, k := range slices.Sorted(slices.Values(keys)) {
			evs = append(evs, t.trust.joins[k])
			subjects = append(subjects, events.Member(k))
			names = append(names, t.trust.members[k].Name)
		}
		c := NewConflict(InviteTwice, invite.Short(), subjects, evs...)
		c.Why = fmt.Sprintf("one invite was used by %s", strings.Join(names, " and "))
		c.Stands = "neither, until a lead admits the one it was meant for"
		admitted := slices.ContainsFunc(keys, func(k events.Key) bool { return t.trust.admitted[k] != nil })
		out = append(out, found{c, admitted})
	}
	return out
}

// pastConflicts finds entries that revoked members said beyond their cut.
func (t *timeline) pastConflicts() []found {
	past := map[events.Key][]*events.Event{}
	for _, e := range t.view {
		if m := t.trust.members[e.Member()]; m != nil && m.Standing == Revoked && t.trust.beyond(m.Cut, e) {
			past[m.Key] = append(past[m.Key], e)
		}
	}
	var out []found
	for k, evs := range past {
		m := t.trust.members[k]
		c := NewConflict(PastRevocation, k.Short(), []events.Subject{events.Member(k)}, evs[0], t.trust.decided[k])
		c.Why = fmt.Sprintf("%s wrote more past the last accepted entry (%d)", m.Name, len(evs))
		c.Stands = "what they wrote before"
		out = append(out, found{Conflict: c})
	}
	return out
}

// clockConflicts finds clocks that were set while their feed was going on. A
// comparison since then cures it, except for site time's own clock.
func (t *timeline) clockConflicts() []found {
	limit := t.settings.Span(events.ClockStep, time.Second).Milliseconds()
	last := map[events.FeedID]*events.Event{}
	var out []found
	for _, e := range t.view {
		if !e.Mono.Known() || t.trust.quarantine(e) != "" {
			continue
		}
		before := last[e.Feed]
		last[e.Feed] = e
		if before == nil || e.Mono.Boot != before.Mono.Boot {
			continue
		}
		step := e.Stamp().Base() - before.Stamp().Base()
		if step <= limit && step >= -limit {
			continue
		}
		_, _, compared := t.clocks.offset(e.Member(), e.Stamp())
		c := NewConflict(ClockStepped, e.Member().Short(), []events.Subject{events.Member(e.Member())}, before, e)
		c.Why = fmt.Sprintf("the clock of %s moved by %s between two entries", t.memberName(e.Member()), time.Duration(step)*time.Millisecond)
		c.Stands = "each entry by the clock as it was then"
		out = append(out, found{c, compared && e.Member() != t.clocks.reference})
	}
	return out
}

// memberName is a member's name, or the short key of a stranger.
func (t *timeline) memberName(k events.Key) string {
	if m := t.trust.members[k]; m != nil {
		return m.Name
	}
	return k.Short()
}

// aheads finds entries that say they are later than something which was said
// after having seen them, by somebody whose clock is known against site time.
func (t *timeline) aheads() []Anomaly {
	limit := events.Instant(t.settings.Span(events.ClockAhead, time.Minute).Milliseconds())
	lines := map[events.FeedID][]*events.Event{}
	for _, e := range t.view {
		lines[e.Feed] = append(lines[e.Feed], e)
	}
	read := map[events.FeedID]map[events.FeedID]int{} // how many lines of others each feed had seen
	flagged := map[*events.Event]bool{}
	var out []Anomaly
	for i, e := range t.view {
		if len(e.Seen) == 0 {
			continue
		}
		had := read[e.Feed]
		if had == nil {
			had = map[events.FeedID]int{}
			read[e.Feed] = had
		}
		witness := t.laid[i].Placed && t.trust.quarantine(e) == "" && t.voidOf(e) == nil
		said := t.clocks.spoken(e)
		for _, ref := range e.Seen {
			n, all := had[ref.Feed], lines[ref.Feed]
			for ; n < len(all) && all[n].Seq <= ref.Seq; n++ {
				if !witness || flagged[all[n]] {
					continue
				}
				if ahead := t.clocks.spoken(all[n]) - said; ahead > limit {
					flagged[all[n]] = true
					out = append(out, Anomaly{
						Cause: t.cause(all[n]), Subject: events.Member(all[n].Member()), Others: []events.Ref{e.Ref()},
						Why: fmt.Sprintf("has a clock that is ahead by %s or more", time.Duration(ahead)*time.Millisecond),
					})
				}
			}
			had[ref.Feed] = n
		}
	}
	return out
}

// marks are the subjects that something lies on, to be looked up.
type marks struct{ held, faulty, disputed map[events.Subject]bool }

func (f *fold) mark() {
	f.marks = marks{map[events.Subject]bool{}, map[events.Subject]bool{}, map[events.Subject]bool{}}
	for _, h := range f.holds {
		f.marks.held[h.Of] = true
	}
	for _, x := range f.faults {
		if x.Open() {
			f.marks.faulty[x.Of] = true
		}
	}
	for _, c := range f.site.Conflicts {
		for _, s := range c.Subjects {
			f.marks.disputed[s] = true
		}
	}
}
