package events

import (
	"fmt"
)

// Grant is the signed core of an invite: whoever holds the secret of Key may
// join in this role until Expires, on the word of Issuer (a lead's feed key, or
// the root key itself). Signature is Issuer's over [Grant.Statement].
type Grant struct {
	Key       Key
	Role      Role
	Expires   Instant // by the issuer's clock
	Issuer    Key
	Signature Signature
}

func (g *Grant) fields(w *walk) {
	text(w, "key", &g.Key, isKey)
	text(w, "role", &g.Role, oneOf(Roles...))
	num(w, "expires", &g.Expires, 0, maxInt)
	text(w, "issuer", &g.Issuer, isKey)
	text(w, "signature", &g.Signature, isSignature)
}

// Voucher says how the issuer of an invite became a lead itself: its own join,
// as far as that needs proof. A grant in it is the root's own.
type Voucher struct {
	Bus   Key
	Grant Maybe[Grant]
	Proof Signature
}

func (v *Voucher) fields(w *walk) {
	text(w, "bus", &v.Bus, isKey)
	if maybe(w, "grant", &v.Grant) {
		w.object(func() { v.Grant.Value.fields(w) })
	}
	text(w, "proof", &v.Proof, isSignature)
}

// MemberJoined introduces a member with its keys, and carries the whole proof
// with it: whoever reads it needs no other entry to check it back to the root.
// With a Grant, Proof is the invite key's signature over
// [MemberJoined.Statement], and the Voucher speaks for a lead who issued it;
// without a Grant, Proof is the root key's, which makes a lead.
type MemberJoined struct {
	said
	Name     string
	Contact  string
	Role     Role
	Key      Key // feed key
	Bus      Key // bus key: a separate one, since the bus signs what a server sends
	Root     Key // the site's root key, whose hash is the site's id
	Grant    Maybe[Grant]
	Voucher  Maybe[Voucher]
	Proof    Signature
	Replaces Key // an earlier installation of the same person
}

func (MemberJoined) Kind() Kind            { return "member.joined" }
func (p MemberJoined) Subjects() []Subject { return []Subject{Member(p.Key)} }
func (p MemberJoined) String() string      { return fmt.Sprintf("%s joined as %s", p.Name, p.Role) }

func (p *MemberJoined) fields(w *walk) {
	text(w, "name", &p.Name, named)
	textOpt(w, "contact", &p.Contact, line)
	text(w, "role", &p.Role, oneOf(Roles...))
	text(w, "key", &p.Key, isKey)
	text(w, "bus", &p.Bus, isKey)
	text(w, "root", &p.Root, isKey)
	if maybe(w, "grant", &p.Grant) {
		w.object(func() { p.Grant.Value.fields(w) })
	}
	if maybe(w, "voucher", &p.Voucher) {
		w.object(func() { p.Voucher.Value.fields(w) })
	}
	text(w, "proof", &p.Proof, isSignature)
	textOpt(w, "replaces", &p.Replaces, isKey)
	if w.err == nil && p.Bus == p.Key {
		w.fail("bus: is the feed key, not a key of its own")
	}
}

// MemberAdmitted is a lead's word that this key used this invite rightly.
type MemberAdmitted struct {
	said
	Key    Key
	Invite Key
}

func (MemberAdmitted) Kind() Kind            { return "member.admitted" }
func (p MemberAdmitted) Subjects() []Subject { return []Subject{Member(p.Key)} }
func (p MemberAdmitted) String() string      { return "admitted member " + p.Key.Short() }

func (p *MemberAdmitted) fields(w *walk) {
	text(w, "key", &p.Key, isKey)
	text(w, "invite", &p.Invite, isKey)
}

// MemberRevoked ends a member's say: of each of its feeds, everything past the
// listed head is quarantined, and of a feed not listed everything is. A later
// one may raise the cut. Revoking a lead takes Proof, the root key's signature
// over [MemberRevoked.Statement].
type MemberRevoked struct {
	said
	Key   Key
	Heads map[FeedID]Head
	Why   string
	Proof Signature
}

func (MemberRevoked) Kind() Kind            { return "member.revoked" }
func (p MemberRevoked) Subjects() []Subject { return []Subject{Member(p.Key)} }
func (p MemberRevoked) String() string {
	return fmt.Sprintf("revoked member %s: %s", p.Key.Short(), p.Why)
}

func (p *MemberRevoked) fields(w *walk) {
	text(w, "key", &p.Key, isKey)
	heads(w, "heads", &p.Heads)
	text(w, "why", &p.Why, line)
	textOpt(w, "proof", &p.Proof, isSignature)
}

// HubAssigned says that a member works on a hub, or no longer does.
type HubAssigned struct {
	said
	Hub    HubID
	Member Key
	Ended  bool
}

func (HubAssigned) Kind() Kind            { return "hub.assigned" }
func (p HubAssigned) Subjects() []Subject { return []Subject{Hub(p.Hub), Member(p.Member)} }
func (p HubAssigned) String() string {
	if p.Ended {
		return fmt.Sprintf("took member %s off %s", p.Member.Short(), p.Hub)
	}
	return fmt.Sprintf("assigned member %s to %s", p.Member.Short(), p.Hub)
}

func (p *HubAssigned) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	text(w, "member", &p.Member, isKey)
	flag(w, "ended", &p.Ended)
}

// MemberAsked takes down what a colleague said by voice: when they last paired
// anything on a hub, or that they paired nothing that has not been heard here.
// The answer holds for everything up to Through, by the asker's clock.
type MemberAsked struct {
	said
	Member  Key
	Hub     HubID
	Last    Maybe[Interval] // absent: none
	Through Instant
}

func (MemberAsked) Kind() Kind            { return "member.asked" }
func (p MemberAsked) Subjects() []Subject { return []Subject{Hub(p.Hub), Member(p.Member)} }
func (p MemberAsked) String() string {
	if p.Last.Known {
		return fmt.Sprintf("asked member %s about %s: last paired %s", p.Member.Short(), p.Hub, p.Last.Value.Middle())
	}
	return fmt.Sprintf("asked member %s about %s: none", p.Member.Short(), p.Hub)
}

func (p *MemberAsked) fields(w *walk) {
	text(w, "member", &p.Member, isKey)
	text(w, "hub", &p.Hub, named)
	spanMaybe(w, "last", &p.Last)
	num(w, "through", &p.Through, 0, maxInt)
}

// Reading is one look at a member's clocks, as told to another.
type Reading struct {
	Wall Instant
	Mono Mono
}

func (r *Reading) value(w *walk) {
	w.object(func() {
		num(w, "wall", &r.Wall, 0, maxInt)
		mono(w, "mono", &r.Mono)
	})
}

// ClockCompared is a measured difference between the recorder's clock and
// another's: θ = theirs − mine with round trip δ (RFC 5905 §8), so the true
// difference lies within θ ± δ/2.
type ClockCompared struct {
	said
	Other     Key
	Mine      Reading
	Theirs    Reading
	Offset    int64 // ms, theirs − mine
	RoundTrip int64 // ms
}

func (ClockCompared) Kind() Kind            { return "clock.compared" }
func (p ClockCompared) Subjects() []Subject { return []Subject{Member(p.Other)} }
func (p ClockCompared) String() string {
	return fmt.Sprintf("compared clocks with member %s: theirs is %+d ms, round trip %d ms", p.Other.Short(), p.Offset, p.RoundTrip)
}

func (p *ClockCompared) fields(w *walk) {
	text(w, "other", &p.Other, isKey)
	if w.need("mine") {
		p.Mine.value(w)
	}
	if w.need("theirs") {
		p.Theirs.value(w)
	}
	num(w, "offset", &p.Offset, -maxInt, maxInt)
	num(w, "round_trip", &p.RoundTrip, 0, maxInt)
}
