package radio_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"pairwalk/projection/radio"
)

// truth is a site made up for a test: what its links really lose. It shares no code
// with the package but the losses of slabs and of free space.
type truth struct {
	offset float64 // dB more than the office at 10 m
	n      float64 // dB per decade
	floor  float64 // dB, of one floor; 4 more for a second; 0: no link crosses one
	walls  bool    // every third link goes through concrete
	factor float64 // of walls; 0 is 1
	noise  float64 // dB
}

const office10 = 69.74779652677458 // dB, 10 m at 2440 MHz: P.1238-10, computed

// loss is what a link loses on average.
func (s truth) loss(b radio.Between) float64 {
	x := math.Log10(b.Metres / 10)
	floors := 0.0
	if b.Floors > 0 {
		floors = s.floor * (14 + 4*float64(b.Floors-1)) / 14
	}
	factor := s.factor
	if factor == 0 {
		factor = 1
	}
	line := office10 + s.offset + s.n*x
	if b.Walls != (radio.Span{}) {
		line = max(line, radio.FreeSpace(2440, 10)+s.offset+20*x+factor*b.Walls.Mid)
	}
	return line + floors
}

// between places the i-th of n links: 2 to 40 m, every other one through floors.
func (s truth) between(i, n int) radio.Between {
	b := radio.Between{Metres: 2 * math.Pow(20, float64(i)/float64(n-1))}
	if s.floor > 0 {
		b.Floors = i % 2 * (1 + i%4/3)
	}
	if s.walls && i%3 == 0 {
		slab, err := radio.Slab("concrete", 250, 2440)
		if err != nil {
			panic(err)
		}
		b.Walls = slab
	}
	return b
}

// samples measures n links with the mesh radio.
func (s truth) samples(n int, seed uint64) []radio.Sample {
	rnd := rand.New(rand.NewPCG(seed, 7))
	out := make([]radio.Sample, n)
	for i := range out {
		b := s.between(i, n)
		rssi := -6 - s.loss(b) + s.noise*rnd.NormFloat64()
		out[i] = radio.Sample{Name: fmt.Sprintf("link %d", i+1), Between: b, RSSI: rssi, PDR: math.NaN()}
	}
	return out
}

// drawn is a site whose truth is as far from the published figures as the package
// says sites are.
func drawn(seed uint64) truth {
	rnd := rand.New(rand.NewPCG(seed, 11))
	return truth{
		offset: 5 * rnd.NormFloat64(),
		n:      30 + 4*rnd.NormFloat64(),
		floor:  14 * (1 + 0.3*max(rnd.NormFloat64(), -3)),
		walls:  true,
		factor: 1 + 0.4*max(rnd.NormFloat64(), -2),
		noise:  10,
	}
}
