package invite_test

import (
	"bytes"
	"crypto/ed25519"
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/events/invite"
)

// keys are a member's two keys, from fixed seeds here and from real randomness on
// a site.
func keys(n byte) (feed ed25519.PrivateKey, feedKey, busKey events.Key) {
	feed = ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n}, ed25519.SeedSize))
	bus := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n + 1}, ed25519.SeedSize))
	return feed, events.KeyOf(feed.Public().(ed25519.PublicKey)), events.KeyOf(bus.Public().(ed25519.PublicKey))
}

// Ana opens a site and invites Ben, who joins in a basement with no signal.
func Example() {
	random := bytes.NewReader(bytes.Repeat([]byte{0x7f}, 64))
	root, err := invite.NewRoot(random)
	if err != nil {
		panic(err)
	}
	fmt.Println("on paper:", strings.Join(root.Words()[:3], " "), "…")

	anaKey, ana, anaBus := keys(10)
	lead := root.Lead("Ana", "ana@harbour.example", ana, anaBus)

	token, err := invite.NewToken(random, anaKey, root.Key(), lead, invite.Offer{
		SiteName: "Harbour House", Zone: "Europe/Vienna", Practice: true,
		Role: events.Tech, Expires: 1_780_000_000_000,
		Meet: []invite.Meeting{{Addr: "192.168.1.20:4222", Key: anaBus}},
	})
	if err != nil {
		panic(err)
	}
	text := token.String()
	fmt.Println("by mail:", text[:30], "…")

	got, err := invite.Parse(text)
	if err != nil {
		panic(err)
	}
	fmt.Printf("%s invites to %s as %s\n", got.Lead.Value.Name, got.SiteName, got.Grant.Role)

	_, ben, benBus := keys(20)
	join := got.Join("Ben", "", ben, benBus)
	fmt.Println(join, "- error:", join.Proven(got.Site, events.NewFeedID(ben, [8]byte{1})))

	_, err = invite.Parse(text[:300])
	fmt.Println(err)
	fmt.Println(got.Current(got.Grant.Expires + 1))
	// Output:
	// on paper: legal winner thank …
	// by mail: pairwalk1-practice:apim7lhokq7 …
	// Ana invites to Harbour House as tech
	// Ben joined as tech - error: <nil>
	// this invite is mistyped or cut off: copy it again, from its first character to its last
	// this invite has expired at 2026-05-28T20:26:40.000Z: ask Ana for a new one
}
