// Package tale tells made-up histories, for tests of what is folded from them.
// A [Story] has a true clock; each [Teller] in it has a device whose clock may be
// wrong, be set, and stop at a reboot. What a teller says is encoded as on a real
// site, joined by real signatures, and carries what that teller had heard; lines
// are not sealed, since nothing that folds them looks at a seal.
//
//	s := tale.New()
//	ann, bo := s.Lead, s.Join("bo", events.Tech)
//	ann.Say("09:00", events.HubListed{Hub: "H1"})
//	bo.Hear(ann)
//	bo.Skew = 4 * time.Minute
//	bo.Say("09:05", events.DevicePaired{Device: "1-1", Hub: "H1"})
//	site := s.History().At(projection.Moment{})
//
// It panics where a story can't be told: that is a fault in the test.
package tale

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"time"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
	"pairwalk/projection"
)

// Day is the date on which stories are told, in UTC.
const Day = "2026-03-02"

// T is a true instant on the day of the story, from a time such as "14:05" or
// "14:05:30.250", or from a whole RFC 3339 time.
func T(clock string) events.Instant {
	for _, layout := range []string{"2006-01-02 15:04:05.999", "2006-01-02 15:04"} {
		if at, err := time.Parse(layout, Day+" "+clock); err == nil {
			return events.InstantOf(at)
		}
	}
	at, err := time.Parse(time.RFC3339Nano, clock)
	if err != nil {
		panic(fmt.Sprintf("tale: %q is no time", clock))
	}
	return events.InstantOf(at)
}

// Story is one made-up site and all that was said of it.
type Story struct {
	Site events.SiteID
	Lead *Teller // opened the site

	root  ed25519.PrivateKey
	lead  events.MemberJoined // the lead's own join
	told  []events.Event
	draws int
}

// New opens a practice site at 08:00 on the day, by a lead called "lead".
func New() *Story { return NewAt("08:00") }

// NewAt opens a practice site at the given true time.
func NewAt(clock string) *Story {
	s := &Story{root: keyOf("root")}
	s.Site = events.SiteOf(s.root.Public().(ed25519.PublicKey))
	s.Lead = s.teller("lead", T(clock))
	root := events.KeyOf(s.root.Public().(ed25519.PublicKey))
	s.Lead.Say(clock, events.FeedStarted{Why: events.NewFeed})
	s.Lead.Say(clock, events.SiteOpened{Name: "Lime Works", Root: root, Zone: "UTC", Practice: true})
	join := s.Lead.join(events.Lead)
	join.Proof = events.Sign(s.root, join.Statement(s.Site))
	s.lead = join
	s.Lead.Say(clock, join)
	return s
}

// Join lets a member in by the lead's invite and has the lead admit them, both at
// 08:00. Each has heard the other.
func (s *Story) Join(name string, role events.Role) *Teller {
	t, invite := s.JoinPending(name, role)
	s.Lead.Hear(t)
	s.Lead.Say("08:00", events.MemberAdmitted{Key: t.Key, Invite: invite})
	t.Hear(s.Lead)
	return t
}

// JoinPending lets a member in by a fresh invite of the lead's that nobody has
// confirmed yet.
func (s *Story) JoinPending(name string, role events.Role) (t *Teller, invite events.Key) {
	s.draws++
	secret := keyOf(fmt.Sprintf("invite %d", s.draws))
	return s.JoinBy(secret, name, role), events.KeyOf(secret.Public().(ed25519.PublicKey))
}

// JoinBy lets a member in by an invite with that secret, issued by the lead.
func (s *Story) JoinBy(secret ed25519.PrivateKey, name string, role events.Role) *Teller {
	t := s.teller(name, T("08:00"))
	grant := events.Grant{Key: events.KeyOf(secret.Public().(ed25519.PublicKey)), Role: role, Expires: T("08:00") + 1<<40, Issuer: s.Lead.Key}
	signer := s.Lead.secret
	if role == events.Lead {
		grant.Issuer, signer = events.KeyOf(s.root.Public().(ed25519.PublicKey)), s.root
	}
	grant.Signature = events.Sign(signer, grant.Statement(s.Site))
	join := t.join(role)
	join.Grant = events.Some(grant)
	if role != events.Lead {
		join.Voucher = events.Some(s.lead.Vouch())
	}
	join.Proof = events.Sign(secret, join.Statement(s.Site))
	t.Hear(s.Lead)
	t.Say("08:00", events.FeedStarted{Why: events.NewFeed})
	t.Say("08:00", join)
	return t
}

// Rejoin says the teller's own join a second time.
func (t *Teller) Rejoin(clock string) *events.Event {
	for _, e := range t.story.told {
		if p, ok := e.Payload.(events.MemberJoined); ok && p.Key == t.Key {
			return t.Say(clock, p)
		}
	}
	panic("tale: " + t.Name + " never joined")
}

// Stranger is somebody with a key and no invite.
func (s *Story) Stranger(name string) *Teller { return s.teller(name, T("08:00")) }

// RevokedByRoot fills in the root's signature on a revocation.
func (s *Story) RevokedByRoot(p events.MemberRevoked) events.MemberRevoked {
	p.Proof = events.Sign(s.root, p.Statement(s.Site))
	return p
}

// Events is everything said so far, in the order it was told.
func (s *Story) Events() []events.Event { return slices.Clone(s.told) }

// History holds everything said so far.
func (s *Story) History() *projection.History {
	h := &projection.History{Site: s.Site}
	h.Add(s.Events()...)
	return h
}

// Now is the facts of everything said so far.
func (s *Story) Now() *projection.Site { return s.History().At(projection.Moment{}) }

func keyOf(name string) ed25519.PrivateKey {
	seed := sha256.Sum256([]byte("tale " + name))
	return ed25519.NewKeyFromSeed(seed[:])
}

// Teller is one member's device.
type Teller struct {
	Name string
	Key  events.Key
	Feed events.FeedID
	Skew time.Duration  // its wall clock minus true time; set it to step the clock
	Boot string         // the boot it is in
	Up   events.Instant // true time it booted
	Rate int64          // ppm its mono clock gains on true time

	story  *Story
	secret ed25519.PrivateKey
	head   events.Head
	hlc    events.HLC
	heard  map[events.FeedID]events.Ref // heads taken in
	spoken map[events.FeedID]events.Ref // of those, what its entries have said
}

func (s *Story) teller(name string, at events.Instant) *Teller {
	secret := keyOf("member " + name)
	t := &Teller{
		Name: name, Key: events.KeyOf(secret.Public().(ed25519.PublicKey)), Boot: name + "-boot-1", Up: at - 3_600_000,
		story: s, secret: secret, heard: map[events.FeedID]events.Ref{}, spoken: map[events.FeedID]events.Ref{},
	}
	t.Feed = s.feed(t.Key)
	return t
}

func (s *Story) feed(key events.Key) events.FeedID {
	s.draws++
	var random [8]byte
	binary.BigEndian.PutUint64(random[:], uint64(s.draws))
	return events.NewFeedID(key, random)
}

func (t *Teller) join(role events.Role) events.MemberJoined {
	bus := keyOf("bus " + t.Name)
	return events.MemberJoined{Name: t.Name, Role: role, Key: t.Key, Bus: events.KeyOf(bus.Public().(ed25519.PublicKey)), Root: events.KeyOf(t.story.root.Public().(ed25519.PublicKey))}
}

// Reboot starts a new boot at a true time.
func (t *Teller) Reboot(clock string) {
	t.Boot, t.Up = t.Boot+"'", T(clock)
}

// Stamp is the teller's clocks at a true instant.
func (t *Teller) Stamp(at events.Instant) events.Stamp {
	run := int64(at - t.Up)
	s := events.Stamp{Wall: events.Wall{At: at.Add(t.Skew)}}
	if t.Boot != "" {
		s.Mono = events.Mono{Boot: t.Boot, Ms: run + run*t.Rate/1_000_000}
	}
	return s
}

// Hear takes in all that others have said or heard so far.
func (t *Teller) Hear(others ...*Teller) {
	for _, o := range others {
		for feed, ref := range o.heard {
			t.take(feed, ref)
		}
		if o.head.Seq > 0 {
			t.take(o.Feed, events.Ref{Feed: o.Feed, Seq: o.head.Seq, Hash: o.head.Hash.Short()})
		}
	}
}

func (t *Teller) take(feed events.FeedID, ref events.Ref) {
	if feed != t.Feed && ref.Seq > t.heard[feed].Seq {
		t.heard[feed] = ref
	}
}

// Detail changes an event before it is encoded.
type Detail func(*events.Event)

// When gives the entry a typed time, by the teller's own clock.
func When(from, to string) Detail {
	return func(e *events.Event) {
		e.Told = events.NewTold(events.Some(events.Interval{From: T(from), To: T(to)}), e.By())
	}
}

// By names another doer.
func By(name string) Detail { return func(e *events.Event) { e.Told = events.NewTold(e.When(), name) } }

// Say makes an entry at a true time and adds it to the story.
func (t *Teller) Say(clock string, p events.Payload, details ...Detail) *events.Event {
	return t.SayAt(T(clock), p, details...)
}

// SayAt is Say at a true instant.
func (t *Teller) SayAt(at events.Instant, p events.Payload, details ...Detail) *events.Event {
	return t.say(at, p, details, func(signed []byte) []byte { return signed })
}

// Mumble makes an entry of a kind that no version knows yet, in the envelope of a
// remark.
func (t *Teller) Mumble(clock string) *events.Event {
	return t.say(T(clock), events.NoteAdded{Of: events.Site(), Text: "la la"}, nil, func(signed []byte) []byte {
		return bytes.Replace(signed, []byte(`"kind":"note.added"`), []byte(`"kind":"note.sung"`), 1)
	})
}

// MumbleWhole makes an entry of a later version, of which nothing but its place
// can be read.
func (t *Teller) MumbleWhole(clock string) *events.Event {
	return t.say(T(clock), events.NoteAdded{Of: events.Site(), Text: "la la"}, nil, func(signed []byte) []byte {
		return bytes.Replace(signed, []byte(`{"v":1,`), []byte(`{"v":2,`), 1)
	})
}

func (t *Teller) say(at events.Instant, p events.Payload, details []Detail, spell func([]byte) []byte) *events.Event {
	stamp := t.Stamp(at)
	t.hlc = t.hlc.Tick(stamp.Wall.At)
	e := events.Event{Header: events.NextHeader(t.story.Site, t.Feed, t.head), Wall: stamp.Wall, Mono: stamp.Mono, HLC: t.hlc, Payload: p}
	e.ID = ulid.MustNew(uint64(stamp.Wall.At), &counter{n: uint64(len(t.story.told))})
	for feed, ref := range t.heard {
		if t.spoken[feed] != ref {
			e.Seen = append(e.Seen, ref)
			t.spoken[feed] = ref
		}
	}
	slices.SortFunc(e.Seen, events.Ref.Compare)
	for _, d := range details {
		d(&e)
	}
	signed, err := e.Encode()
	if err != nil {
		panic("tale: " + err.Error())
	}
	said, err := events.Decode(spell(signed))
	if err != nil {
		panic("tale: " + err.Error())
	}
	t.head = events.Head{Seq: said.Seq, Hash: said.Hash}
	t.story.told = append(t.story.told, said)
	return &said
}

// Head is the teller's newest entry.
func (t *Teller) Head() events.Head { return t.head }

// Cut is a revocation's list of heads: each of the tellers' feeds accepted up to
// what it has said so far.
func Cut(tellers ...*Teller) map[events.FeedID]events.Head {
	heads := map[events.FeedID]events.Head{}
	for _, t := range tellers {
		heads[t.Feed] = t.head
	}
	return heads
}

// NewFeed goes on with the same key in a new feed, as after a restored backup.
func (t *Teller) NewFeed(clock string, why events.StartWhy) {
	last := t.head
	t.heard[t.Feed] = events.Ref{Feed: t.Feed, Seq: last.Seq, Hash: last.Hash.Short()}
	previous := t.Feed
	t.Feed, t.head, t.spoken = t.story.feed(t.Key), events.Head{}, map[events.FeedID]events.Ref{}
	t.Say(clock, events.FeedStarted{Previous: previous, Last: events.Some(last), Why: why})
}

// Compare measures another teller's clock at a true time over a round trip, and
// says so. The answer is stamped in the middle of it.
func (t *Teller) Compare(clock string, other *Teller, trip time.Duration) *events.Event {
	at := T(clock)
	mine, theirs := t.Stamp(at), other.Stamp(at)
	return t.SayAt(at, events.ClockCompared{
		Other:     other.Key,
		Mine:      events.Reading{Wall: mine.Wall.At, Mono: mine.Mono},
		Theirs:    events.Reading{Wall: theirs.Wall.At, Mono: theirs.Mono},
		Offset:    int64(theirs.Wall.At - mine.Wall.At),
		RoundTrip: trip.Milliseconds(),
	})
}

// Branch makes a second teller with the same key and feed, as a copied laptop
// would be: what both say from now on forks the feed.
func (t *Teller) Branch() *Teller {
	twin := *t
	twin.heard, twin.spoken = map[events.FeedID]events.Ref{}, map[events.FeedID]events.Ref{}
	for f, r := range t.heard {
		twin.heard[f] = r
	}
	for f, r := range t.spoken {
		twin.spoken[f] = r
	}
	return &twin
}

// counter is a source of bytes that never repeats within a story.
type counter struct{ n uint64 }

func (c *counter) Read(p []byte) (int, error) {
	sum := sha256.Sum256(binary.BigEndian.AppendUint64(nil, c.n))
	return copy(p, sum[:]), nil
}
