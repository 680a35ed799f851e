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
	root     events.Key
	members  map[events.Key]*Member
	refused  map[events.Ref]string        // joins and decisions that do not hold, and why
	invites  map[events.Key][]events.Key  // members by the invite they used
	joins    map[events.Key]*events.Event // the join that counts
	decided  map[events.Key]*events.Event // the decision that counts
	admitted map[events.Key]*events.Event
	lines    map[events.FeedID]events.Seq // highest line in view
	forks    map[events.FeedID]map[events.Seq][]*events.Event
	places   map[place]*events.Event
}

type place struct {
	feed events.FeedID
	seq  events.Seq
}

func newTrust(site events.SiteID, view []*events.Event) *trust {
	t := &trust{
		site:     site,
		members:  map[events.Key]*Member{},
		refused:  map[events.Ref]string{},
		invites:  map[events.Key][]events.Key{},
		joins:    map[events.Key]*events.Event{},
		decided:  map[events.Key]*events.Event{},
		admitted: map[events.Key]*events.Event{},
		lines:    map[events.FeedID]events.Seq{},
		forks:    map[events.FeedID]map[events.Seq][]*events.Event{},
		places:   map[place]*events.Event{},
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
		first, taken := t.places[at]
		if !taken {
			t.places[at] = e
		} else if first.Hash != e.Hash {
			if t.forks[e.Feed] == nil {
				t.forks[e.Feed] = map[events.Seq][]*events.Event{}
			}
			if len(t.forks[e.Feed][e.Seq]) == 0 {
				t.forks[e.Feed][e.Seq] = []*events.Event{first}
			}
			t.forks[e.Feed][e.Seq] = append(t.forks[e.Feed][e.Seq], e)
		}
		if m := t.members[e.Member()]; m != nil && !slices.Contains(m.Feeds, e.Feed) {
			m.Feeds = append(m.Feeds, e.Feed)
			slices.Sort(m.Feeds)
		}
	}
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

// join takes in every join whose signatures hold.
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
		if err := p.Proven(t.site, e.Feed); err != nil {
			t.refused[e.Ref()] = "join does not hold: " + err.Error()
			continue
		}
		if m := t.members[p.Key]; m != nil && m.Role != p.Role {
			t.refused[e.Ref()] = "joined again in another role"
			continue
		}
		t.admitJoin(e, p, feeds[p.Key])
	}
}

func (t *trust) admitJoin(e *events.Event, p events.MemberJoined, feeds []events.FeedID) {
	m := &Member{Key: p.Key, Name: p.Name, Contact: p.Contact, Role: p.Role, Bus: p.Bus, Replaces: p.Replaces, Standing: Admitted}
	m.Feeds = slices.Sorted(slices.Values(feeds))
	if p.Grant.Known {
		m.Invite, m.Standing = p.Grant.Value.Key, Provisional
		if users := t.invites[m.Invite]; !slices.Contains(users, p.Key) {
			t.invites[m.Invite] = append(users, p.Key)
		}
	}
	t.members[p.Key] = m
	t.joins[p.Key] = e
}

// revokeByRoot applies revocations that the root signed; the last one counts.
func (t *trust) revokeByRoot(view []*events.Event) {
	for _, e := range view {
		p, ok := e.Payload.(events.MemberRevoked)
		if !ok || !t.byRoot(p) {
			continue
		}
		t.revoke(e, p)
	}
}

func (t *trust) byRoot(p events.MemberRevoked) bool {
	return p.Proof != "" && p.Proof.VerifiedBy(t.root, p.Statement(t.site))
}

func (t *trust) revoke(e *events.Event, p events.MemberRevoked) {
	if m := t.members[p.Key]; m != nil {
		m.Standing, m.Why, m.Cut = Revoked, p.Why, p.Heads
		t.decided[p.Key] = e
	}
}

// decideByLeads applies what leads said of others, the last in record order
// counting, again and again until nothing new comes of it: a lead's own
// admission may rank after its first decisions.
func (t *trust) decideByLeads(view []*events.Event) {
	for {
		before := maps.Clone(t.decided)
		for _, e := range view {
			switch p := e.Payload.(type) {
			case events.MemberAdmitted:
				if m := t.members[p.Key]; m != nil && m.Invite == p.Invite && t.leads(e) {
					t.admit(e, m)
				}
			case events.MemberRevoked:
				if t.leads(e) && t.mayRevoke(p) {
					t.revoke(e, p)
				}
			}
		}
		if maps.Equal(before, t.decided) {
			return
		}
	}
}

func (t *trust) admit(e *events.Event, m *Member) {
	if t.admitted[m.Key] == nil {
		t.admitted[m.Key] = e
	}
	if m.Standing == Provisional {
		m.Standing = Admitted
		t.decided[m.Key] = e
	}
}

// mayRevoke says whether a lead's word can revoke: not another lead, and not
// over the root's own decision.
func (t *trust) mayRevoke(p events.MemberRevoked) bool {
	m := t.members[p.Key]
	if m == nil || m.Role == events.Lead || t.byRoot(p) {
		return false
	}
	if last := t.decided[p.Key]; last != nil {
		old, revoked := last.Payload.(events.MemberRevoked)
		return !revoked || !t.byRoot(old)
	}
	return true
}

// leads says whether an event is the word of a lead in good standing.
func (t *trust) leads(e *events.Event) bool {
	m := t.members[e.Member()]
	if m == nil || m.Role != events.Lead || m.Invite != "" && t.admitted[m.Key] == nil {
		return false
	}
	return m.Standing != Revoked || !beyond(m.Cut, e)
}

// settleInvites quarantines those whom no lead has admitted and who share an
// invite, or hold it from a lead since revoked.
func (t *trust) settleInvites() {
	for k, m := range t.members {
		if m.Standing != Provisional {
			continue
		}
		grant := t.joins[k].Payload.(events.MemberJoined).Grant.Value
		if issuer := t.members[grant.Issuer]; issuer != nil && issuer.Standing == Revoked {
			m.Standing, m.Why = Quarantined, "invited by a lead who has been revoked since"
		}
		if len(t.invites[m.Invite]) > 1 {
			m.Standing, m.Why = Quarantined, "invite used by more than one"
		}
	}
}

// beyond says whether an event lies past the cut of a revocation.
func beyond(cut map[events.FeedID]events.Head, e *events.Event) bool {
	head, listed := cut[e.Feed]
	return !listed || e.Seq > head.Seq || e.Seq == head.Seq && e.Hash != head.Hash
}

// knows says whether an event's author has joined.
func (t *trust) knows(e *events.Event) bool { return t.members[e.Member()] != nil }

// forked says whether another line stands at the event's place.
func (t *trust) forked(e *events.Event) bool {
	first, taken := t.places[place{e.Feed, e.Seq}]
	return taken && first.Hash != e.Hash
}

// quarantine says why an event may not be folded, or "".
func (t *trust) quarantine(e *events.Event) string {
	m := t.members[e.Member()]
	switch {
	case m == nil && t.root == "":
		return "nobody is known yet: the entry that opens the site has not been heard"
	case m == nil:
		return "its author has not joined the site"
	case m.Standing == Quarantined:
		return m.Why
	case m.Standing == Revoked && beyond(m.Cut, e):
		return "said after its author was revoked"
	}
	if why := t.refused[e.Ref()]; why != "" {
		return why
	}
	if !e.Understood() || may(m.Role, e.Kind()) {
		return ""
	}
	return "a " + string(m.Role) + " may not say " + string(e.Kind())
}

// may says which roles may say which kinds.
func may(r events.Role, k events.Kind) bool {
	switch k {
	case "feed.started", "member.joined", "clock.compared":
		return true
	case "site.opened", "settings.changed", "member.admitted", "member.revoked":
		return r == events.Lead
	}
	return r == events.Lead || r == events.Tech
}

// sorted lists the members by name, then key.
func (t *trust) sorted(cause func(*events.Event) Cause) []Member {
	out := make([]Member, 0, len(t.members))
	for _, k := range slices.Sorted(maps.Keys(t.members)) {
		m := *t.members[k]
		m.Joined = cause(t.joins[k])
		if e := t.decided[k]; e != nil {
			m.Decided = cause(e)
		}
		out = append(out, m)
	}
	slices.SortStableFunc(out, func(a, b Member) int { return cmp.Compare(a.Name, b.Name) })
	return out
}
