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
	inView   func(events.Number) bool
	proven   proofs
	root     events.Key
	members  map[events.Key]*Member
	authors  []author                     // by the numbers of feeds
	refused  map[events.Number]string     // joins and decisions that do not hold, and why
	invites  map[events.Key][]events.Key  // members by the invite they used
	joins    map[events.Key]*events.Event // the join that counts
	decided  map[events.Key]*events.Event // the decision that counts
	admitted map[events.Key]*events.Event
	byRoot   map[*events.Event]bool // revocations that the root signed
	forks    map[events.FeedID]map[events.Seq][]*events.Event
	forkedAt map[events.FeedID]events.Seq         // where a feed first has two lines
	branches map[events.Head]map[events.Hash]bool // lines of a forked feed that lead to a cut

	anyProvisional bool // whose word is shown to be so
}

// author is who says what is in a feed.
type author struct {
	feed   events.FeedID // "" while no line of it is in view
	member *Member       // nil while nobody has joined by that key
}

func newTrust(site events.SiteID, ranks *events.Ranks, proven proofs, view, records []events.Number, inView func(events.Number) bool) *trust {
	t := &trust{
		site:     site,
		ranks:    ranks,
		inView:   inView,
		proven:   proven,
		members:  map[events.Key]*Member{},
		refused:  map[events.Number]string{},
		invites:  map[events.Key][]events.Key{},
		joins:    map[events.Key]*events.Event{},
		decided:  map[events.Key]*events.Event{},
		admitted: map[events.Key]*events.Event{},
		byRoot:   map[*events.Event]bool{},
		forks:    map[events.FeedID]map[events.Seq][]*events.Event{},
		forkedAt: map[events.FeedID]events.Seq{},
		branches: map[events.Head]map[events.Hash]bool{},
	}
	t.add(view)
	said := make([]*events.Event, len(records))
	for i, n := range records {
		said[i] = ranks.Event(n)
	}
	t.findRoot(said)
	t.join(records)
	t.revokeByRoot(said)
	t.decideByLeads(said)
	t.settleInvites()
	for _, m := range t.members {
		t.anyProvisional = t.anyProvisional || m.Standing == Provisional
	}
	return t
}

// add notes lines as they come into view: feeds, and forks.
func (t *trust) add(view []events.Number) {
	for _, n := range view {
		a := t.author(n)
		if e := t.ranks.Event(n); a.feed == "" {
			a.feed, a.member = e.Feed, t.members[e.Member()]
			if a.member != nil {
				a.member.Feeds = append(slices.Clip(a.member.Feeds), e.Feed)
				slices.Sort(a.member.Feeds)
			}
		}
		if t.ranks.Forks(t.ranks.Feed(n)) {
			t.fork(t.ranks.Twins(n))
		}
	}
}

func (t *trust) author(n events.Number) *author {
	at := t.ranks.Feed(n)
	for at >= len(t.authors) {
		t.authors = append(t.authors, author{})
	}
	return &t.authors[at]
}

// fork notes that several lines stand at one place.
func (t *trust) fork(twins []events.Number) {
	var evs []*events.Event
	for _, n := range twins {
		if t.inView(n) {
			evs = append(evs, t.ranks.Event(n))
		}
	}
	if len(evs) < 2 {
		return
	}
	at := evs[0]
	seqs := t.forks[at.Feed]
	if seqs == nil {
		seqs = map[events.Seq][]*events.Event{}
		t.forks[at.Feed] = seqs
		t.forkedAt[at.Feed] = at.Seq
	}
	seqs[at.Seq] = evs
	t.forkedAt[at.Feed] = min(t.forkedAt[at.Feed], at.Seq)
}

// findRoot believes the first join or opening whose root key hashes to the
// site's id. A joiner knows the root before having heard the site's opening.
func (t *trust) findRoot(records []*events.Event) {
	for _, e := range records {
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
func (t *trust) join(records []events.Number) {
	feeds := map[events.Key][]int{}
	for i, a := range t.authors {
		if a.feed != "" {
			feeds[a.feed.Key()] = append(feeds[a.feed.Key()], i)
		}
	}
	for _, n := range records {
		e := t.ranks.Event(n)
		p, ok := e.Payload.(events.MemberJoined)
		if !ok {
			continue
		}
		if err := t.proven.ask(e, func() error { return p.Proven(t.site, e.Feed) }); err != nil {
			t.refused[n] = "join does not hold: " + err.Error()
			continue
		}
		switch m := t.members[p.Key]; {
		case m == nil:
			t.admitJoin(e, p, feeds[p.Key])
		case m.Role != p.Role:
			t.refused[n] = "joined again in another role"
		}
	}
}

func (t *trust) admitJoin(e *events.Event, p events.MemberJoined, feeds []int) {
	m := &Member{Key: p.Key, Name: p.Name, Contact: p.Contact, Role: p.Role, Bus: p.Bus, Replaces: p.Replaces, Standing: Admitted}
	for _, i := range feeds {
		m.Feeds = append(m.Feeds, t.authors[i].feed)
		t.authors[i].member = m
	}
	slices.Sort(m.Feeds)
	if p.Grant.Known {
		m.Invite, m.Standing = p.Grant.Value.Key, Provisional
		t.invites[m.Invite] = append(t.invites[m.Invite], p.Key)
	}
	t.members[p.Key] = m
	t.joins[p.Key] = e
}

// plain says whether an event's author is in the standing of their earlier
// entries, and their feed is one line of entries.
func (t *trust) plain(n events.Number) bool {
	e := t.ranks.Event(n)
	m := t.members[e.Member()]
	_, forked := t.forkedAt[e.Feed]
	return m != nil && m.Standing != Revoked && !forked && len(t.ranks.Twins(n)) == 1
}

// quarantine says why an event of the view may not be folded, or "".
func (t *trust) quarantine(n events.Number) string {
	e, m := t.ranks.Event(n), t.author(n).member
	var refused string
	if len(t.refused) > 0 {
		refused = t.refused[n]
	}
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
	case len(t.byRoot) > 0 && t.byRoot[e]:
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
