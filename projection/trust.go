package projection

import (
	"cmp"
	"maps"
	"slices"

	"pairwalk/events"
)

// Standing is how far a member's word counts.
type Standing string

// A provisional member's entries fold like an admitted one's, and are shown to
// be so; the others' do not fold.
const (
	Admitted    Standing = "admitted"
	Provisional Standing = "provisional"
	Quarantined Standing = "quarantined"
	Revoked     Standing = "revoked" // what was said up to the cut still counts
)

// Member is one installation on the site.
type Member struct {
	Key      events.Key
	Name     string
	Contact  string
	Role     events.Role
	Standing Standing
	Why      string // why quarantined or revoked
	Bus      events.Key
	Invite   events.Key // "" if certified by the root itself
	Replaces events.Key
	Feeds    []events.FeedID
	Cut      map[events.FeedID]events.Head // last accepted heads, where revoked
	Joined   Cause
	Decided  Cause // the admission or revocation, zero if none
}

// trust decides whose word counts in a view. Only the root makes and revokes
// leads, so their standing needs nobody else's word; leads decide on the rest.
type trust struct {
	site     events.SiteID
	ranks    *events.Ranks
	proven   proofs
	root     events.Key
	members  map[events.Key]*Member
	refused  map[events.Ref]string        // joins and decisions that do not hold, and why
	invites  map[events.Key][]events.Key  // members by the invite they used
	joins    map[events.Key]*events.Event // the join that counts
	decided  map[events.Key]*events.Event // the decision that counts
	admitted map[events.Key]*events.Event
	byRoot   map[*events.Event]bool       // revocations that the root signed
	lines    map[events.FeedID]events.Seq // highest line in view
	places   map[place]*events.Event
	forks    map[events.FeedID]map[events.Seq][]*events.Event
	forkedAt map[events.FeedID]events.Seq         // where a feed first has two lines
	branches map[events.Head]map[events.Hash]bool // lines of a forked feed that lead to a cut
}

type place struct {
	feed events.FeedID
	seq  events.Seq
}

func newTrust(site events.SiteID, ranks *events.Ranks, proven proofs, view []*events.Event) *trust {
	t := &trust{
		site:     site,
		ranks:    ranks,
		proven:   proven,
		members:  map[events.Key]*Member{},
		refused:  map[events.Ref]string{},
		invites:  map[events.Key][]events.Key{},
		joins:    map[events.Key]*events.Event{},
		decided:  map[events.Key]*events.Event{},
		admitted: map[events.Key]*events.Event{},
		byRoot:   map[*events.Event]bool{},
		lines:    map[events.FeedID]events.Seq{},
		places:   map[place]*events.Event{},
		forks:    map[events.FeedID]map[events.Seq][]*events.Event{},
		forkedAt: map[events.FeedID]events.Seq{},
		branches: map[events.Head]map[events.Hash]bool{},
	}
	t.add(view)
	t.findRoot(view)
	t.join(view)
	t.revokeByRoot(view)
	t.decideByLeads(view)
	t.settleInvites()
	return t
}

// add notes lines as they come into view: heads, and forks.
func (t *trust) add(evs []*events.Event) {
	for _, e := range evs {
		t.lines[e.Feed] = max(t.lines[e.Feed], e.Seq)
		at := place{e.Feed, e.Seq}
		if first, taken := t.places[at]; !taken {
			t.places[at] = e
		} else {
			t.fork(first, e)
		}
		if m := t.members[e.Member()]; m != nil && !slices.Contains(m.Feeds, e.Feed) {
			m.Feeds = append(m.Feeds, e.Feed)
			slices.Sort(m.Feeds)
		}
	}
}

// fork notes that two lines stand at one place.
func (t *trust) fork(first, e *events.Event) {
	seqs := t.forks[e.Feed]
	if seqs == nil {
		seqs = map[events.Seq][]*events.Event{}
		t.forks[e.Feed] = seqs
		t.forkedAt[e.Feed] = e.Seq
	}
	if len(seqs[e.Seq]) == 0 {
		seqs[e.Seq] = []*events.Event{first}
	}
	seqs[e.Seq] = append(seqs[e.Seq], e)
	t.forkedAt[e.Feed] = min(t.forkedAt[e.Feed], e.Seq)
}

// findRoot believes the first join or opening whose root key hashes to the
// site's id. A joiner knows the root before having heard the site's opening.
func (t *trust) findRoot(view []*events.Event) {
	for _, e := range view {
		var root events.Key
		switch p := e.Payload.(type) {
		case events.SiteOpened:
			root = p.Root
		case events.MemberJoined:
			root = p.Root
		}
		if pub, err := root.Public(); err == nil && events.SiteOf(pub) == t.site {
			t.root = root
			return
		}
	}
}

// join takes in joins whose signatures hold; a member's first one counts.
func (t *trust) join(view []*events.Event) {
	feeds := map[events.Key][]events.FeedID{}
	for feed := range t.lines {
		feeds[feed.Key()] = append(feeds[feed.Key()], feed)
	}
	for _, e := range view {
		p, ok := e.Payload.(events.MemberJoined)
		if !ok {
			continue
		}
		if err := t.proven.ask(e, func() error { return p.Proven(t.site, e.Feed) }); err != nil {
			t.refused[e.Ref()] = "join does not hold: " + err.Error()
			continue
		}
		switch m := t.members[p.Key]; {
		case m == nil:
			t.admitJoin(e, p, feeds[p.Key])
		case m.Role != p.Role:
			t.refused[e.Ref()] = "joined again in another role"
		}
	}
}

func (t *trust) admitJoin(e *events.Event, p events.MemberJoined, feeds []events.FeedID) {
	m := &Member{Key: p.Key, Name: p.Name, Contact: p.Contact, Role: p.Role, Bus: p.Bus, Replaces: p.Replaces, Standing: Admitted}
	m.Feeds = slices.Sorted(slices.Values(feeds))
	if p.Grant.Known {
		m.Invite, m.Standing = p.Grant.Value.Key, Provisional
		t.invites[m.Invite] = append(t.invites[m.Invite], p.Key)
	}
	t.members[p.Key] = m
	t.joins[p.Key] = e
}

// plain says whether an event's author is in the standing of their earlier
// entries, and their feed is one line of entries.
func (t *trust) plain(e *events.Event) bool {
	m := t.members[e.Member()]
	_, forked := t.forkedAt[e.Feed]
	_, taken := t.places[place{e.Feed, e.Seq}]
	return m != nil && m.Standing != Revoked && !forked && !taken
}

// quarantine says why an event may not be folded, or "".
func (t *trust) quarantine(e *events.Event) string {
	m := t.members[e.Member()]
	refused := t.refused[e.Ref()]
	switch {
	case m == nil && refused != "":
		return refused
	case m == nil && t.root == "":
		return "nobody is known yet: the entry that opens the site has not been heard"
	case m == nil:
		return "its author has not joined the site"
	case m.Standing == Quarantined:
		return m.Why
	case m.Standing == Revoked && t.beyond(m.Cut, e):
		return "said after its author was revoked"
	case refused != "":
		return refused
	case t.byRoot[e]:
		return ""
	case !may(m.Role, e.Kind()): // nor what we can't read: a version that can would not count it either
		return "a " + string(m.Role) + " may not say " + string(e.Kind())
	case !e.Understood():
		return ""
	case leadsWord(e.Kind()) && !t.leads(e):
		return "said as a lead, before any lead admitted its author"
	}
	return ""
}

// may says which roles may say which kinds.
func may(r events.Role, k events.Kind) bool {
	switch {
	case k == "feed.started" || k == "member.joined" || k == "clock.compared":
		return true
	case leadsWord(k):
		return r == events.Lead
	}
	return r == events.Lead || r == events.Tech
}

// leadsWord says whether a kind is for leads alone.
func leadsWord(k events.Kind) bool {
	switch k {
	case "site.opened", "settings.changed", "member.admitted", "member.revoked":
		return true
	}
	return false
}

// sorted lists the members by name, then key.
func (t *trust) sorted(cause func(*events.Event) Cause) []Member {
	out := make([]Member, 0, len(t.members))
	for _, k := range slices.Sorted(maps.Keys(t.members)) {
		m := *t.members[k]
		m.Feeds, m.Cut = slices.Clone(m.Feeds), maps.Clone(m.Cut)
		m.Joined = cause(t.joins[k])
		if e := t.decided[k]; e != nil {
			m.Decided = cause(e)
		}
		out = append(out, m)
	}
	slices.SortStableFunc(out, func(a, b Member) int { return cmp.Compare(a.Name, b.Name) })
	return out
}
