package seal_test

import (
	"crypto/ed25519"
	"fmt"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Ben pairs a device. What he says is sealed once, and whoever gets the line
// opens it by the very bytes that he signed.
func Example() {
	key := ed25519.NewKeyFromSeed([]byte("a seed for examples, never reuse"))
	ben := events.KeyOf(key.Public().(ed25519.PublicKey))
	now := events.Instant(1_772_442_000_000)

	sealed, err := seal.Seal(key, &events.Event{
		Header:  events.NextHeader(events.SiteOf(key.Public().(ed25519.PublicKey)), events.NewFeedID(ben, [8]byte{1}), events.Head{}),
		ID:      ulid.MustParse("01KJPWD6M0WA0KTHEF00R2NDT1"),
		HLC:     events.HLC{}.Tick(now),
		Wall:    events.Wall{At: now, Offset: 60},
		Payload: events.DevicePaired{Device: "2-114", Hub: "H2", How: events.ByButton},
	})
	if err != nil {
		fmt.Println(err)
		return
	}

	opened, err := seal.Open(sealed.Line())
	if err != nil {
		fmt.Println(err)
		return
	}
	e := opened.Event()
	fmt.Println(e.Wall.At, e.Kind(), e.Payload)
	fmt.Println(e.Payload.Subjects())

	changed := []byte(string(sealed.Line()))
	changed[len(changed)/2]++
	_, err = seal.Open(changed)
	fmt.Println(err)

	// Output:
	// 2026-03-02T09:00:00.000Z device.paired paired 2-114 to H2 by button
	// [device:2-114 hub:H2]
	// signature does not fit the line
}
