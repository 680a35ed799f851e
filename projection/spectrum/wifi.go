package spectrum

import (
	"math"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/radio"
)

// air is the Wi-Fi that was surveyed: at every place the newest survey.
type air struct {
	ears   ears
	floors map[events.FloorID][]*projection.Survey // in record order
}

func newAir(s *projection.Site, e ears) air {
	a := air{e, map[events.FloorID][]*projection.Survey{}}
	for i := range s.Surveys {
		x := &s.Surveys[i]
		list := a.floors[x.Floor]
		again := -1
		for k, old := range list {
			if old.Place == x.Place {
				again = k
			}
		}
		switch {
		case again < 0:
			a.floors[x.Floor] = append(list, x)
		case x.Done.After(list[again].Done):
			list[again] = x
		}
	}
	return a
}

// at is the chance in millionths that Wi-Fi is above the noise of a mesh radio near
// a place of the survey: that any access point is which overlaps the channel.
func (a air) at(x *projection.Survey, channel int) int64 {
	quiet := int64(million)
	for _, p := range x.Heard {
		if !overlaps(p, channel) {
			continue
		}
		e := radio.Estimate{Mean: float64(p.RSSI) - inMesh(p.Width), Spread: a.ears.sigma}
		quiet = quiet * (million - a.ears.over(e)) / million
	}
	return million - quiet
}

// overlaps says whether an access point's channel covers part of a mesh channel.
// Which side of its number a 40 MHz channel extends to is not surveyed: either may
// be, as long as its centre is one from 3 to 11 (IEEE 802.11, channels 1 to 13;
// from memory).
func overlaps(p events.AccessPoint, channel int) bool {
	width := float64(p.Width)
	if p.Width == 40 {
		for _, centre := range []int{p.Channel - 2, p.Channel + 2} {
			if centre >= 3 && centre <= 11 && !radio.Clear(channel, centre, width) {
				return true
			}
		}
		return false
	}
	return !radio.Clear(channel, p.Channel, width)
}

// inMesh is how much less of a Wi-Fi signal there is in the 2 MHz of a mesh channel
// than in all its width, in dB.
func inMesh(width int) float64 { return 10 * math.Log10(float64(max(width, 2))/2) }

// disturbed is how many of a system's members Wi-Fi disturbs, by channel, in
// thousandths; and of how many nothing is known.
func (a air) disturbed(x *system, channels []int) (thousandths []int64, unknown int) {
	thousandths = make([]int64, len(channels))
	sums := make([]int64, len(channels))
	chances := map[*projection.Survey][]int64{}
	for _, m := range x.members {
		list := a.floors[m.floor]
		if m.floor == "" || len(list) == 0 {
			unknown++
			continue
		}
		if m.at.Known {
			list = []*projection.Survey{closest(m.at.Value, list)}
		}
		for k := range channels {
			sum := int64(0)
			for _, y := range list {
				if chances[y] == nil {
					chances[y] = a.by(y, channels)
				}
				sum += chances[y][k]
			}
			sums[k] += sum / int64(len(list)) // of no known place: as at the floor's places on average
		}
	}
	for k, sum := range sums {
		thousandths[k] = sum / (million / 1000)
	}
	return thousandths, unknown
}

func (a air) by(x *projection.Survey, channels []int) []int64 {
	out := make([]int64, len(channels))
	for k, c := range channels {
		out[k] = a.at(x, c)
	}
	return out
}

// closest is the place of a survey nearest in plan; of equals the one said first.
func closest(from events.Point, list []*projection.Survey) *projection.Survey {
	best, least := list[0], uint64(math.MaxUint64)
	for _, x := range list {
		dx, dy := from.X-x.Place.X, from.Y-x.Place.Y
		if d := uint64(dx*dx) + uint64(dy*dy); d < least {
			best, least = x, d
		}
	}
	return best
}
