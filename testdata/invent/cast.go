package invent

import (
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"

	"pairwalk/events"
)

// person is one member, with clocks, and with what it has heard of the others.
type person struct {
	nth   int
	name  string
	role  events.Role
	key   ed25519.PrivateKey
	bus   events.Key
	feed  events.FeedID
	head  events.Head
	hlc   events.HLC
	heard map[events.FeedID]events.Head // newest heads known, not its own
	fresh map[events.FeedID]bool        // heard since the last entry
	known map[events.FeedID]bool        // heard at all

	skew   int64 // ms that the clock is ahead of true time at the start
	drift  int64 // ppm that it runs fast
	boot   string
	booted int64 // true ms
	freeAt int64 // true ms at which it can act again
	hubs   []*hub
	todo   []step
	notes  []events.Ref // own remarks, which it may yet take back
}

var names = []string{"Ilse", "Tomo", "Marit", "Anselm", "Noor", "Pavo", "Signe", "Rui"}

// newKey derives a key from the seed and what it is for.
func newKey(seed uint64, what string, n int) ed25519.PrivateKey {
	sum := sha256.Sum256(fmt.Appendf(nil, "invent %d %s %d", seed, what, n))
	return ed25519.NewKeyFromSeed(sum[:])
}

func keyOf(k ed25519.PrivateKey) events.Key { return events.KeyOf(k.Public().(ed25519.PublicKey)) }

func (w *world) newPerson(n int) *person {
	p := &person{
		nth: n, name: names[n%len(names)], role: events.Tech,
		key: newKey(w.Seed, "feed", n), bus: keyOf(newKey(w.Seed, "bus", n)),
		heard: map[events.FeedID]events.Head{}, fresh: map[events.FeedID]bool{}, known: map[events.FeedID]bool{},
		skew: w.dice.Int64N(360_001) - 180_000, drift: w.dice.Int64N(3) - 1,
		boot: fmt.Sprintf("boot-%d-1", n+1), booted: start - w.dice.Int64N(7_200_000), freeAt: start,
	}
	if n >= len(names) {
		p.name = fmt.Sprintf("%s %d", p.name, n/len(names)+1)
	}
	if n == 0 {
		p.role = events.Lead
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "invent %d random %d", w.Seed, n))
	p.feed = events.NewFeedID(keyOf(p.key), [8]byte(sum[:8]))
	return p
}

// Keys are the two secrets of the n-th member, counted from 0: for its feed, and for
// the bus.
func (j Job) Keys(n int) (feed, bus ed25519.PrivateKey) {
	return newKey(j.Seed, "feed", n), newKey(j.Seed, "bus", n)
}

// Root is the key whose hash is the site's id.
func (j Job) Root() events.Key { return keyOf(newKey(j.Seed, "root", 0)) }

// Site is the id of the job's site.
func (j Job) Site() events.SiteID {
	return events.SiteOf(newKey(j.Seed, "root", 0).Public().(ed25519.PublicKey))
}

// Lead is the first member's feed key and join, as it stands in the log: what is
// needed to invite somebody else.
func (j Job) Lead() (ed25519.PrivateKey, events.MemberJoined) {
	w := newWorld(j)
	p := w.newPerson(0)
	return p.key, w.certified(p)
}

// certified is the join of a lead whom the root vouches for.
func (w *world) certified(p *person) events.MemberJoined {
	root := newKey(w.Seed, "root", 0)
	joined := events.MemberJoined{Name: p.name, Role: p.role, Key: keyOf(p.key), Bus: p.bus, Root: keyOf(root)}
	joined.Proof = events.Sign(root, joined.Statement(w.site))
	return joined
}

// opening is how the first member begins: with the site itself.
func (w *world) opening(p *person) []events.Payload {
	joined := w.certified(p)
	w.voucher = joined.Vouch()
	out := []events.Payload{
		events.FeedStarted{Why: events.NewFeed},
		events.SiteOpened{Name: "Tannery Works", Root: w.Root(), Zone: "Europe/Vienna", Practice: true},
		joined,
	}
	return append(out, Site(w.Size)...)
}

// joining is how a later member begins, on the lead's invite.
func (w *world) joining(p, lead *person) (joins []events.Payload, admits events.Payload) {
	invite := newKey(w.Seed, "invite "+string(p.feed), 0)
	grant := events.Grant{Key: keyOf(invite), Role: p.role, Expires: start + 30*24*3_600_000, Issuer: keyOf(lead.key)}
	grant.Signature = events.Sign(lead.key, grant.Statement(w.site))
	joined := events.MemberJoined{
		Name: p.name, Role: p.role, Key: keyOf(p.key), Bus: p.bus, Root: w.Root(),
		Grant: events.Some(grant), Voucher: events.Some(w.voucher),
	}
	joined.Proof = events.Sign(invite, joined.Statement(w.site))
	return []events.Payload{events.FeedStarted{Why: events.NewFeed}, joined}, events.MemberAdmitted{Key: keyOf(p.key), Invite: grant.Key}
}
