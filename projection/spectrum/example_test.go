package spectrum_test

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection/spectrum"
	"pairwalk/projection/tale"
)

// A bare schedule of three hubs: no places, no survey. Each gets a channel of its
// own, and the note says what that rests on.
func ExampleFor() {
	s := tale.New()
	for _, h := range []events.HubID{"H1", "H2", "H3"} {
		s.Lead.Say("08:05", events.HubListed{Hub: h})
	}
	p, err := spectrum.For(s.Now(), spectrum.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, h := range p.Hubs {
		fmt.Println(h.Hub, h.Plan)
	}
	fmt.Println(p.Basis, p.Cost, p.NowCost, p.Exact)
	// Output:
	// H1 11
	// H2 12
	// H3 25
	// assumed 0 3000 true
}

// Five hubs in a circle, each of which disturbs its two neighbours by 10, on two
// channels: some two neighbours have to share.
func ExampleLeast() {
	p := spectrum.Problem{Hubs: 5, Channels: []int{15, 25}, Pair: make([][]int64, 5)}
	for i := range p.Pair {
		p.Pair[i] = make([]int64, 5)
		p.Pair[i][(i+1)%5], p.Pair[i][(i+4)%5] = 10, 10
	}
	r, err := spectrum.Least(p)
	fmt.Println(r.Channel, r.Cost, r.Exact, err)
	// Output: [15 15 25 15 25] 10 true <nil>
}
