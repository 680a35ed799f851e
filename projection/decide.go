package projection

import (
	"errors"
	"maps"

	"pairwalk/events"
)

// revokeByRoot applies revocations that the root signed, whoever carries them.
func (t *trust) revokeByRoot(records []*events.Event) {
	for _, e := range records {
		p, ok := e.Payload.(events.MemberRevoked)
		if ok && p.Proof != "" && t.root != "" && t.proven.ask(e, func() error { return t.rootSigned(p) }) == nil {
			t.byRoot[e] = true
			t.revoke(e, p)
		}
	}
}

func (t *trust) rootSigned(p events.MemberRevoked) error {
	if !p.Proof.VerifiedBy(t.root, p.Statement(t.site)) {
		return errNotRoot
	}
	return nil
}

// proofs remembers which signatures inside events hold: to ask takes long, and
// the answer is for good.
type proofs map[*events.Event]error

var errNotRoot = errors.New("not signed by the root")

func (p proofs) ask(e *events.Event, holds func() error) error {
	err, known := p[e]
	if !known {
		err = holds()
		p[e] = err
	}
	return err
}

// revoke ends a member's say. Of several revocations each can raise the cut, and
// none lower it: else an old one said again would take back what was accepted.
func (t *trust) revoke(e *events.Event, p events.MemberRevoked) {
	m := t.members[p.Key]
	if m == nil {
		return
	}
	if m.Cut == nil {
		m.Cut = map[events.FeedID]events.Head{}
	}
	m.Standing, m.Why = Revoked, p.Why
	for feed, head := range p.Heads {
		if head.Seq > m.Cut[feed].Seq {
			m.Cut[feed] = head
		}
	}
	t.decided[p.Key] = e
}

// decideByLeads applies what leads said of others, the last in record order
// counting, again and again until nothing new comes of it: a lead's own
// admission may rank after its first decisions.
func (t *trust) decideByLeads(records []*events.Event) {
	for {
		before := maps.Clone(t.decided)
		for _, e := range records {
			switch p := e.Payload.(type) {
			case events.MemberAdmitted:
				if m := t.members[p.Key]; m != nil && m.Invite == p.Invite && t.leads(e) {
					t.admit(e, m)
				}
			case events.MemberRevoked:
				if t.leads(e) && t.mayRevoke(e, p) {
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
func (t *trust) mayRevoke(e *events.Event, p events.MemberRevoked) bool {
	m := t.members[p.Key]
	return m != nil && m.Role != events.Lead && !t.byRoot[e] && !t.byRoot[t.decided[p.Key]]
}

// leads says whether an event is the word of a lead in good standing.
func (t *trust) leads(e *events.Event) bool {
	m := t.members[e.Member()]
	if m == nil || m.Role != events.Lead || m.Invite != "" && t.admitted[m.Key] == nil {
		return false
	}
	return m.Standing != Revoked || !t.beyond(m.Cut, e)
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

// beyond says whether an event lies past the cut of a revocation: after the head,
// or on a branch of its feed that does not lead to it.
func (t *trust) beyond(cut map[events.FeedID]events.Head, e *events.Event) bool {
	head, listed := cut[e.Feed]
	if !listed || e.Seq > head.Seq || e.Seq == head.Seq && e.Hash != head.Hash {
		return true
	}
	at, forked := t.forkedAt[e.Feed]
	return forked && e.Seq >= at && !t.branch(e.Feed, head)[e.Hash]
}

// branch lists the lines of a forked feed that lead to a head, back to where it
// forks.
func (t *trust) branch(feed events.FeedID, head events.Head) map[events.Hash]bool {
	if lines, known := t.branches[head]; known {
		return lines
	}
	lines := map[events.Hash]bool{}
	e, ok := t.ranks.Find(events.Ref{Feed: feed, Seq: head.Seq, Hash: head.Hash.Short()})
	for ok && e.Seq >= t.forkedAt[feed] {
		lines[e.Hash] = true
		e, ok = t.ranks.Find(events.Ref{Feed: feed, Seq: e.Seq - 1, Hash: e.Prev.Short()})
	}
	t.branches[head] = lines
	return lines
}
