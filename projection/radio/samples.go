package radio

import (
	"fmt"
	"math"
	"strings"
)

// Sample is one measured link.
type Sample struct {
	Name    string
	Between Between
	RSSI    float64 // dBm, NaN if none
	PDR     float64 // 0..1, NaN if none; used where there is no RSSI
}

// reading is a sample that can be used: the loss it shows.
type reading struct {
	name    string
	between Between
	loss    float64
	byPDR   bool
}

// What a level can be at all: the ends of the RSSI octet of IEEE 802.15.4-2020
// §6.16.2.8, 0 and 254.
const (
	leastRSSI = -174
	mostRSSI  = 80
)

// sift keeps the samples that say what a link loses, and tells in words which were
// left out and why.
func sift(p Profile, samples []Sample) (out []reading, told []string) {
	var whys []string
	left := map[string][]string{}
	for _, s := range samples {
		r, why := read(p, s)
		if why == "" {
			out = append(out, r)
			continue
		}
		if left[why] == nil {
			whys = append(whys, why)
		}
		left[why] = append(left[why], s.Name)
	}
	for _, why := range whys {
		told = append(told, fmt.Sprintf("left out %s: %s", list(left[why]), why))
	}
	return out, told
}

func read(p Profile, s Sample) (r reading, why string) {
	for _, x := range []float64{s.Between.Metres, s.Between.Walls.Lo, s.Between.Walls.Mid, s.Between.Walls.Hi} {
		if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
			return reading{}, "what lies between its ends is not known"
		}
	}
	r = reading{name: s.Name, between: s.Between}
	switch {
	case !math.IsNaN(s.RSSI):
		if s.RSSI < leastRSSI || s.RSSI > mostRSSI {
			return reading{}, "no radio reads such a level"
		}
		r.loss = p.eirp() - s.RSSI
	case math.IsNaN(s.PDR):
		return reading{}, "neither a level nor a packet rate was measured (a quality figure alone says neither)"
	case s.PDR < 0 || s.PDR > 1:
		return reading{}, "a packet rate is between 0 and 1"
	case s.PDR == 0 || s.PDR == 1:
		return reading{}, "a packet rate of 0 or 1 is only a bound of the level"
	default:
		level, ok := p.LevelFor(s.PDR, ProbeOctets)
		if !ok {
			return reading{}, "no error curve is known of this radio, so its packet rates tell no level"
		}
		r.loss, r.byPDR = p.eirp()-level, true
	}
	return r, ""
}

// list names the first few and counts the rest.
func list(names []string) string {
	const few = 4
	if len(names) <= few {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:few-1], ", "), len(names)-few+1)
}
