package member

import (
	"crypto/ed25519"
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/seal"
	"pairwalk/projection"
)

// BusKey is the secret key that this member shows itself with on a bus. It never
// signs entries.
func (m *Member) BusKey() ed25519.PrivateKey { return m.keys.busKey() }

// Joined is this member's own join as it was sealed, which shows who it is to a
// member who has not heard of it; nil where it is not held any more.
func (m *Member) Joined() []byte {
	m.mu.Lock()
	ref := m.join
	m.mu.Unlock()
	for v, err := range m.journal.Descent(ref, ref.Seq) {
		if err == nil {
			return v.Line()
		}
		break
	}
	return nil
}

// Errors of those who may not come onto this member's bus.
var (
	ErrStranger    = errors.New("its key is no member's, and it shows no invite to this site")
	ErrRevoked     = errors.New("its member was revoked")
	ErrQuarantined = errors.New("its member waits for a lead's word")
	ErrUsedInvite  = errors.New("its invite was used by another device")
	ErrLateInvite  = errors.New("its invite has expired")
	ErrLostInvite  = errors.New("its invite is from a lead who has been revoked since")
)

// Admits says whether the holder of a bus key may come onto this member's bus:
// nil, or one of the errors above. Joined is the join it shows, looked at where
// the log does not know the key.
func (m *Member) Admits(bus events.Key, joined []byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if known, err := m.standing(bus); known {
		return err
	}
	v, err := seal.Open(joined)
	if err != nil {
		return ErrStranger
	}
	e := v.Event()
	p, ok := e.Payload.(events.MemberJoined)
	if !ok || e.Site != m.keys.Site || p.Bus != bus || p.Proven(m.keys.Site, e.Feed) != nil {
		return ErrStranger
	}
	if !p.Grant.Known {
		return nil
	}
	if p.Grant.Value.Expires < m.world.wall() {
		return ErrLateInvite
	}
	for _, x := range m.members() {
		if x.Key == p.Grant.Value.Issuer && x.Standing == projection.Revoked {
			return ErrLostInvite
		}
		if x.Invite == p.Grant.Value.Key && x.Key != p.Key {
			return ErrUsedInvite
		}
		if x.Key == p.Key && x.Standing != projection.Admitted && x.Standing != projection.Provisional {
			return ErrRevoked
		}
	}
	return nil
}

// standing says whether the log knows a bus key, and what keeps it from a bus.
// Anybody can name another's bus key as their own: one member in good standing
// is enough.
func (m *Member) standing(bus events.Key) (known bool, err error) {
	for _, x := range m.members() {
		if x.Bus != bus {
			continue
		}
		known = true
		switch x.Standing {
		case projection.Admitted, projection.Provisional:
			return true, nil
		case projection.Revoked:
			err = ErrRevoked
		case projection.Quarantined:
			err = ErrQuarantined
		}
	}
	return known, err
}

// Trusts says whether the holder of a bus key may be called at: a member in good
// standing, or one that our invite named. The latter as long as they are not revoked:
// of a log that comes in bit by bit, the revocation of the lead who let them in may
// be here before that lead's admission of them.
func (m *Member) Trusts(server events.Key) bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	known, err := m.standing(server)
	if known && !errors.Is(err, ErrQuarantined) {
		return err == nil
	}
	return m.places.pinned(server)
}

// NameOf is the name of the member with a bus key, or the start of the key.
func (m *Member) NameOf(bus events.Key) string {
	m.mu.Lock()
	defer m.mu.Unlock()
	if who := m.memberOn(bus); who != nil {
		return m.team.MemberName(who.Key)
	}
	return fmt.Sprintf("somebody new (%s)", bus.Short())
}

// memberOn is the member with a bus key, best standing first, or nil.
func (m *Member) memberOn(bus events.Key) *projection.Member {
	var found *projection.Member
	members := m.members()
	for i := range members {
		x := &members[i]
		if x.Bus == bus && (found == nil || found.Standing != projection.Admitted && x.Standing == projection.Admitted) {
			found = x
		}
	}
	return found
}

// members is the team as the log has it now. It is worked out afresh only where
// something was said of members.
func (m *Member) members() []projection.Member {
	if m.team == nil {
		m.team = m.history.Team()
	}
	return m.team.Members
}

// Dealings counts what this device learnt of the team: who belongs to it, and also what
// no entry tells, such as how far others have the log, when they were heard, who was
// refused and where others are met. Whoever shows [Member.Members], [Member.Through],
// [Member.Refusals] or [Member.Meetings] sees by it whether to look again before the
// log grows.
func (m *Member) Dealings() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.dealings
}

// ofMembers says whether an entry may change who belongs to the team.
func ofMembers(e *events.Event) bool {
	switch e.Payload.(type) {
	case events.MemberJoined, events.MemberAdmitted, events.MemberRevoked, events.SiteOpened:
		return true
	}
	return false
}
