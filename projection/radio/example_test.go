package radio_test

import (
	"fmt"
	"math"

	"pairwalk/projection/radio"
)

// A dimmer 16 m from its hub, in an office that nobody has measured; then the same
// with a listed wall of concrete between, and then one floor up.
func Example() {
	office, _ := radio.ModelByID("p1238-10-office")
	p := radio.NewPredictor(office, radio.Mesh(), radio.Fit{})
	fmt.Println(p.Describe())
	concrete, _ := radio.Slab("concrete", 250, 2440)
	show := func(what string, b radio.Between) {
		m := p.Margin(b)
		lo, hi := m.Range()
		least, most := m.Chance()
		fmt.Printf("%s: %.1f to %.1f dB, it holds with %.0f to %.0f %%\n", what, lo, hi, 100*least, 100*most)
	}
	show("open", radio.Between{Metres: 16})
	show("wall", radio.Between{Metres: 16, Walls: concrete})
	show("floor", radio.Between{Metres: 16, Floors: 1})
	// Output:
	// ITU-R P.1238-10, office, at 2440 MHz, not calibrated
	// open: 1.5 to 23.9 dB, it holds with 78 to 96 %
	// wall: -8.1 to 20.7 dB, it holds with 34 to 95 %
	// floor: -13.3 to 10.7 dB, it holds with 22 to 70 %
}

// Six links measured on one floor say that this office is opener than most. They
// say nothing of its floors.
func ExampleCalibrate() {
	office, _ := radio.ModelByID("p1238-10-office")
	var samples []radio.Sample
	for _, l := range []struct {
		name         string
		metres, rssi float64
	}{
		{"2-101 to H2", 3.1, -51}, {"2-102 to H2", 5.0, -55}, {"2-107 to H2", 9.4, -65},
		{"2-107 to 2-114", 14.2, -66}, {"2-114 to H2", 21, -73}, {"2-118 to 2-101", 33, -78},
	} {
		samples = append(samples, radio.Sample{Name: l.name, Between: radio.Between{Metres: l.metres}, RSSI: l.rssi, PDR: math.NaN()})
	}
	fit, err := radio.Calibrate(office, radio.Mesh(), samples)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range fit.Params {
		fmt.Printf("%-8s %5.1f ± %.1f, published %.0f ± %.1f\n", p.Name, p.Value, p.Spread, p.Prior, p.PriorSpread)
	}
	for _, why := range fit.Refused {
		fmt.Println("-", why)
	}
	at := radio.Between{Metres: 40}
	before := radio.NewPredictor(office, radio.Mesh(), radio.Fit{}).Margin(at)
	after := radio.NewPredictor(office, radio.Mesh(), fit).Margin(at)
	fmt.Printf("at 40 m: %.1f dB, doubt %.1f; was %.1f, doubt %.1f\n", after.Mean, after.Doubt, before.Mean, before.Doubt)
	// Output:
	// offset    -8.6 ± 2.6, published 0 ± 5.0
	// distance  29.3 ± 3.6, published 30 ± 4.0
	// floors     1.0 ± 0.3, published 1 ± 0.3
	// walls      1.0 ± 0.4, published 1 ± 0.4
	// - the loss of floors stays as published: 0 of 6 links cross one, and it takes 3 that do and 3 that do not
	// - the loss of walls stays as published: for 0 of 6 links listed walls decide, and it takes 3 where they do and 3 where they do not
	// at 40 m: 9.8 dB, doubt 3.4; was 0.8, doubt 5.5
}

// A wall is a range, not a figure.
func ExampleSlab() {
	for _, w := range []struct {
		material string
		mm       float64
	}{{"plasterboard", 25}, {"concrete", 200}, {"glass", 6}, {"cheese", 30}} {
		s, err := radio.Slab(w.material, w.mm, 2440)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%g mm of %s: %.1f dB, %.1f to %.1f\n", w.mm, w.material, s.Mid, s.Lo, s.Hi)
	}
	// Output:
	// 25 mm of plasterboard: 1.2 dB, 0.6 to 1.7
	// 200 mm of concrete: 14.8 dB, 1.6 to 24.7
	// 6 mm of glass: 1.9 dB, 1.7 to 2.2
	// work out wall: material "cheese" is not known: it can be brick, ceiling-board, chipboard, concrete, glass, marble, metal, plasterboard, plywood, wood
}

// Which mesh channels lie beside the usual three of Wi-Fi.
func ExampleClear() {
	for ch := radio.FirstChannel; ch <= radio.LastChannel; ch++ {
		if radio.Clear(ch, 1, 20) && radio.Clear(ch, 6, 20) && radio.Clear(ch, 11, 20) {
			mhz, _ := radio.CentreMHz(ch)
			fmt.Printf("%d, at %g MHz\n", ch, mhz)
		}
	}
	// Output:
	// 15, at 2425 MHz
	// 20, at 2450 MHz
	// 25, at 2475 MHz
	// 26, at 2480 MHz
}
