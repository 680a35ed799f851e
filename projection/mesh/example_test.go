package mesh_test

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection/mesh"
	"pairwalk/projection/tale"
)

// A corridor of four dimmers: which of them reach their hub, what it hangs on, and
// what a breaker would do.
func Example() {
	story := tale.New()
	say := story.Lead.Say
	say("08:10", events.HubListed{Hub: "H1", Place: events.Some(events.Point{})})
	for i, circuit := range []events.CircuitID{"C3-7", "C3-7", "C3-8", "C3-8"} {
		tag := events.Tag(fmt.Sprintf("2-10%d", i+1))
		place := events.Some(events.Point{X: int64(i+1) * 14_000})
		say("08:10", events.DeviceListed{
			Device: tag, Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Circuit: circuit, Place: place,
		})
		say("09:00", events.DevicePaired{Device: tag, Hub: "H1"})
	}

	site := story.Now()
	ground := mesh.Survey(site)
	net := ground.Net(site, mesh.What{})
	fmt.Println(ground.Model())
	for _, r := range net.Reaches() {
		fmt.Println(r.Device, r.Answer, r.Basis, "-", r.Why)
	}
	for _, p := range net.SinglePoints() {
		fmt.Println("without", p.Of.Words(), "no path for", p.Strands)
	}
	off := ground.Net(site, mesh.What{Without: []events.Subject{events.Circuit("C3-7")}})
	fmt.Printf("%+v\n", mesh.Compare(net, off).Lost)
	if a, ok := net.BestRelay(); ok {
		fmt.Println(a.Why)
	}
	// Output:
	// mesh: ITU-R P.1238-10, office, at 2440 MHz, not calibrated
	// 2-101 yes predicted - straight to H1; margin 3–26 dB
	// 2-102 yes predicted - through 2-101; weakest link 2-102–2-101, margin 3–26 dB
	// 2-103 yes predicted - through 2-102 and 2-101; weakest link 2-103–2-102, margin 3–26 dB
	// 2-104 yes predicted - through 2-103, 2-102 and 2-101; weakest link 2-104–2-103, margin 3–26 dB
	// without 2-101 no path for [2-102 2-103 2-104]
	// without 2-102 no path for [2-103 2-104]
	// without circuit C3-7 no path for [2-103 2-104]
	// without 2-103 no path for [2-104]
	// [2-103 2-104]
	// a relay at x 15.3, y 0.0, z 0.0 m frees 1 device of H1 from hanging on a single one
}
