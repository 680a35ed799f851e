package bundle_test

import (
	"bytes"
	"crypto/ed25519"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/seal"
)

// A technician carries the log up from the basement on a memory stick.
func Example() {
	root := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{9}, ed25519.SeedSize))
	key := ed25519.NewKeyFromSeed(bytes.Repeat([]byte{1}, ed25519.SeedSize))
	site := events.SiteOf(root.Public().(ed25519.PublicKey))
	feed := events.NewFeedID(events.KeyOf(key.Public().(ed25519.PublicKey)), [8]byte{1})

	line, err := seal.Seal(key, &events.Event{
		Header:  events.NextHeader(site, feed, events.Head{}),
		Payload: events.DevicePaired{Device: "2-114", Hub: "H2", How: events.ByButton},
	})
	if err != nil {
		panic(err)
	}

	var file bytes.Buffer
	count, err := bundle.Write(&file, key, bundle.Manifest{
		Site: site, Name: "Harbour House", Maker: feed, MakerName: "Ben",
		Made:  events.Stamp{Wall: events.Wall{At: 1_700_000_000_000}},
		Heads: map[events.FeedID]events.Head{feed: line.Head()},
	}, func(yield func(seal.Verified, error) bool) { yield(line, nil) }, nil)
	fmt.Println(count.Lines, "line written:", err)

	b, err := bundle.Read(&file)
	if err != nil {
		panic(err)
	}
	fmt.Printf("%s, by %s at %s\n", b.Name, b.MakerName, b.Made.Wall.At)
	for _, run := range b.Runs() {
		for _, v := range run.Lines {
			fmt.Println(v.Seq(), v.Event().Payload)
		}
	}

	_, err = bundle.Read(bytes.NewReader([]byte("tag,kind,hub\n")))
	fmt.Println(err)
	// Output:
	// 1 line written: <nil>
	// Harbour House, by Ben at 2023-11-14T22:13:20.000Z
	// 1 paired 2-114 to H2 by button
	// read bundle: this is not a bundle: choose the file that pairwalk wrote with bundle out
}
