package journaltest

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"fmt"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Site is a made-up site that every Author belongs to unless told otherwise.
func Site() events.SiteID {
	return events.SiteOf(key("site root", 0).Public().(ed25519.PublicKey))
}

// RootKey is the secret of Site's root key.
func RootKey() ed25519.PrivateKey { return key("site root", 0) }

// Start of the authors' clocks: 2026-03-02 08:00 UTC.
const start = events.Instant(1_772_438_400_000)

// Author says well-formed events in one feed, each a second after the last, with
// a key and a feed that follow from its seed. It is not safe for many goroutines.
type Author struct {
	Key  ed25519.PrivateKey
	Site events.SiteID
	Feed events.FeedID
	Head events.Head // what was said last
	seed uint64
	hlc  events.HLC
}

// NewAuthor is an author who has said nothing yet. Equal seeds give equal
// authors, who say the same bytes if they say the same things.
func NewAuthor(seed uint64) *Author {
	a := &Author{Key: key("author", seed), Site: Site(), seed: seed}
	return a.Anew(0)
}

// Anew is the same author with another feed of the same key.
func (a *Author) Anew(n uint64) *Author {
	var random [8]byte
	binary.BigEndian.PutUint64(random[:], n)
	b := *a
	b.Feed, b.Head = events.NewFeedID(events.KeyOf(a.Key.Public().(ed25519.PublicKey)), random), events.Head{}
	return &b
}

// Twin is an author who has said the same so far, and may now say something
// else: that makes a fork.
func (a *Author) Twin() *Author {
	b := *a
	return &b
}

// Resume is the author at a head of that feed.
func (a *Author) Resume(feed events.FeedID, head events.Head) *Author {
	b := *a
	b.Feed, b.Head = feed, head
	return &b
}

// Stamp is what the author's clocks show as it says event n of its feed.
func (a *Author) Stamp(n events.Seq) events.Stamp {
	ms := int64(n) * 1000
	return events.Stamp{
		Wall: events.Wall{At: start + events.Instant(ms), Offset: 60},
		Mono: events.Mono{Boot: fmt.Sprintf("boot-%d", a.seed), Ms: ms},
	}
}

// With changes an event before it is sealed.
type With func(*events.Event)

// At sets both clocks, and the hybrid clock with them.
func At(s events.Stamp) With {
	return func(e *events.Event) { e.Wall, e.Mono, e.HLC = s.Wall, s.Mono, events.HLC{L: s.Wall.At} }
}

// When says when it happened, if that was not as it was said.
func When(v events.Interval) With {
	return func(e *events.Event) { e.Told = events.NewTold(events.Some(v), e.By()) }
}

// By names the doer.
func By(name string) With { return func(e *events.Event) { e.Told = events.NewTold(e.When(), name) } }

// Seen says which heads the author had taken in; sorted by feed.
func Seen(refs ...events.Ref) With { return func(e *events.Event) { e.Seen = refs } }

// Start says the first line of a feed.
func (a *Author) Start(with ...With) seal.Verified {
	return a.Say(events.FeedStarted{Why: events.NewFeed}, with...)
}

// Note remarks something about the site.
func (a *Author) Note(text string, with ...With) seal.Verified {
	return a.Say(events.NoteAdded{Of: events.Site(), Text: text}, with...)
}

// Notes begins a feed if need be, and goes on to n events in it.
func (a *Author) Notes(n int) []seal.Verified {
	var lines []seal.Verified
	for len(lines) < n {
		if a.Head.Seq == 0 {
			lines = append(lines, a.Start())
			continue
		}
		lines = append(lines, a.Note(fmt.Sprintf("remark %d", a.Head.Seq+1)))
	}
	return lines
}

// Say seals the author's next event. It panics where the payload breaks a rule
// of shape: that is a mistake in the test.
func (a *Author) Say(p events.Payload, with ...With) seal.Verified {
	seq := a.Head.Seq + 1
	s := a.Stamp(seq)
	e := events.Event{
		Header: events.NextHeader(a.Site, a.Feed, a.Head),
		Wall:   s.Wall, Mono: s.Mono, HLC: a.hlc.Tick(s.Wall.At), Payload: p,
	}
	for _, w := range with {
		w(&e)
	}
	a.hlc = e.HLC
	e.ID = a.id(e.Wall.At, seq)
	v, err := seal.Seal(a.Key, &e)
	if err != nil {
		panic(fmt.Sprintf("seal event %d: %v", seq, err))
	}
	a.Head = v.Head()
	return v
}

// SayRaw seals an event of a kind and body that need not be known here, as a
// later version would.
func (a *Author) SayRaw(kind, body string) seal.Verified {
	seq := a.Head.Seq + 1
	e := events.Event{
		Header: events.NextHeader(a.Site, a.Feed, a.Head),
		Wall:   a.Stamp(seq).Wall, HLC: a.hlc.Next(), Payload: events.NoteAdded{Of: events.Site(), Text: "x"},
	}
	e.ID = a.id(e.Wall.At, seq)
	signed, err := e.Encode()
	if err != nil {
		panic(err)
	}
	head, _, _ := bytes.Cut(signed, []byte(`"kind":`))
	signed = fmt.Appendf(head, `"kind":%q,"body":%s`, kind, body)
	sig := events.Sign(a.Key, append([]byte("pairwalk event v1\n"), signed...))
	v, err := seal.Open(fmt.Appendf(signed, `,"sig":"%s"}`, sig))
	if err != nil {
		panic(err)
	}
	a.Head, a.hlc = v.Head(), e.HLC
	return v
}

func (a *Author) id(at events.Instant, seq events.Seq) ulid.ULID {
	var id ulid.ULID
	if err := id.SetTime(uint64(at)); err != nil {
		panic(err)
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %d", a.Feed, seq))
	if err := id.SetEntropy(sum[:10]); err != nil {
		panic(err)
	}
	return id
}

// key derives a key from a word and a number.
func key(word string, n uint64) ed25519.PrivateKey {
	sum := sha256.Sum256(fmt.Appendf(nil, "pairwalk test %s %d", word, n))
	return ed25519.NewKeyFromSeed(sum[:])
}
