package projection

import (
	"fmt"
	"slices"
	"strings"

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
	for _, n := range t.order {
		if m := t.trust.author(n).member; m != nil && m.Standing == Revoked {
			if e := t.ranks.Event(n); t.trust.beyond(m.Cut, e) {
				past[m.Key] = append(past[m.Key], e)
			}
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

// memberName is a member's name, or the short key of a stranger.
func (t *timeline) memberName(k events.Key) string {
	if m := t.trust.members[k]; m != nil {
		return m.Name
	}
	return k.Short()
}
