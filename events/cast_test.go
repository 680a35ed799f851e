package events_test

import (
	"crypto/ed25519"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
)

// The cast of the tests: a site whose root opened it, Ada who leads, Ben who is
// a technician, and the invite Ben came in with. Their keys are fixed, so every
// run signs the same bytes.
var (
	rootKey   = fixedKey(1)
	adaKey    = fixedKey(2)
	benKey    = fixedKey(3)
	inviteKey = fixedKey(4)

	root    = publicOf(rootKey)
	ada     = publicOf(adaKey)
	adaBus  = publicOf(fixedKey(12))
	ben     = publicOf(benKey)
	benBus  = publicOf(fixedKey(13))
	invite  = publicOf(inviteKey)
	site    = events.SiteOf(rootKey.Public().(ed25519.PublicKey))
	adaFeed = events.NewFeedID(ada, [8]byte{0xAD, 0xA0})
	benFeed = events.NewFeedID(ben, [8]byte{0xBE, 0x40})
)

func fixedKey(n byte) ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	for i := range seed {
		seed[i] = n
	}
	return ed25519.NewKeyFromSeed(seed)
}

func publicOf(key ed25519.PrivateKey) events.Key {
	return events.KeyOf(key.Public().(ed25519.PublicKey))
}

// hash is a fixed hash told apart by its first byte.
func hash(n byte) events.Hash { return events.HashOf([]byte{n}) }

// nine is 2026-03-02 09:00 UTC, a Monday.
const nine events.Instant = 1_772_442_000_000

func minutes(n int) events.Instant { return nine + events.Instant(n)*60_000 }

// benSays is the seventh event of Ben's feed, with every field of the envelope
// filled in.
func benSays(p events.Payload) *events.Event {
	return &events.Event{
		Header:  events.NextHeader(site, benFeed, events.Head{Seq: 6, Hash: hash(6)}),
		ID:      ulid.MustParse("01KJPWD6M0WA0KTHEF00R2NDT2"),
		HLC:     events.HLC{L: nine, C: 3},
		Wall:    events.Wall{At: nine - 1500, Offset: 60},
		Mono:    events.Mono{Boot: "boot-1", Ms: 86_400_000},
		Told:    events.NewTold(events.Some(events.Interval{From: minutes(-20), To: minutes(-10)}), "Cy, apprentice"),
		Seen:    []events.Ref{{Feed: adaFeed, Seq: 12, Hash: hash(12).Short()}},
		Payload: p,
	}
}

// benSaysBriefly is the first event of Ben's feed, with every field left out
// that may be.
func benSaysBriefly(p events.Payload) *events.Event {
	return &events.Event{
		Header:  events.NextHeader(site, benFeed, events.Head{}),
		ID:      ulid.MustParse("01KJPWD6M0WA0KTHEF00R2NDT1"),
		HLC:     events.HLC{L: nine},
		Wall:    events.Wall{At: nine},
		Payload: p,
	}
}
