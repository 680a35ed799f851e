package projection

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pairwalk/events"
)

// forkConflicts finds feeds with two lines at one place. Both branches fold.
func (f *fold) forkConflicts() []Conflict {
	var out []Conflict
	for feed, seqs := range f.trust.forks {
		first := slices.Min(slices.Collect(maps.Keys(seqs)))
		evs := slices.SortedFunc(slices.Values(seqs[first]), func(a, b *events.Event) int { return a.Ref().Compare(b.Ref()) })
		name := f.nameOf(evs[0])
		c := NewConflict(ForkedFeed, feed.Short(), []events.Subject{events.Member(feed.Key())}, evs...)
		c.Why = fmt.Sprintf("%s's log has two different entries numbered %d; a copy of it was used on another device", name, first)
		c.Stands = "both branches"
		out = append(out, c)
	}
	return out
}

// memberConflicts finds invites used by several members, and entries that
// revoked members said beyond their cut.
func (f *fold) memberConflicts() []Conflict {
	var out []Conflict
	for invite, keys := range f.trust.invites {
		if len(keys) < 2 || f.decidedAny(keys) {
			continue
		}
		var evs []*events.Event
		var subjects []events.Subject
		var names []string
		for _, k := range slices.Sorted(slices.Values(keys)) {
			evs = append(evs, f.trust.joins[k])
			subjects = append(subjects, events.Member(k))
			names = append(names, f.trust.members[k].Name)
		}
		c := NewConflict(InviteTwice, invite.Short(), subjects, evs...)
		c.Why = fmt.Sprintf("one invite was used by %s", strings.Join(names, " and "))
		c.Stands = "neither, until a lead admits the one it was meant for"
		out = append(out, c)
	}
	for _, k := range slices.Sorted(maps.Keys(f.trust.members)) {
		m := f.trust.members[k]
		if m.Standing != Revoked {
			continue
		}
		if past := f.pastCut(m); len(past) > 0 {
			c := NewConflict(PastRevocation, k.Short(), []events.Subject{events.Member(k)}, past[0], f.trust.decided[k])
			c.Why = fmt.Sprintf("%s wrote %d entries past the last accepted one", m.Name, len(past))
			c.Stands = "what they wrote before"
			out = append(out, c)
		}
	}
	return out
}

func (f *fold) decidedAny(keys []events.Key) bool {
	for _, k := range keys {
		if f.trust.admitted[k] != nil {
			return true
		}
	}
	return false
}

func (f *fold) pastCut(m *Member) []*events.Event {
	var out []*events.Event
	for _, e := range f.view {
		if e.Member() == m.Key && beyond(m.Cut, e) {
			out = append(out, e)
		}
	}
	return out
}
