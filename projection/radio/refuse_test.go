package radio_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/radio"
)

// links are samples of given lengths that the published model tells exactly.
func links(metres ...float64) []radio.Sample {
	out := make([]radio.Sample, len(metres))
	for i, d := range metres {
		b := radio.Between{Metres: d}
		out[i] = radio.Sample{Name: "A" + string(rune('a'+i)), Between: b, RSSI: -6 - truth{n: 30}.loss(b), PDR: math.NaN()}
	}
	return out
}

func with(s []radio.Sample, change func(i int, s *radio.Sample)) []radio.Sample {
	for i := range s {
		change(i, &s[i])
	}
	return s
}

func TestCalibrateRefuses(t *testing.T) {
	five := func() []radio.Sample { return links(2, 4, 8, 16, 32) }
	cases := []struct {
		name    string
		samples []radio.Sample
		says    string
	}{
		{"nothing measured", nil, "calibrate p1238-10-office: of 0 measured links 0 can be used, and it takes 5: measure more"},
		{"four", links(2, 4, 8, 16), "of 4 measured links 4 can be used"},
		{"only a quality figure", with(five(), func(i int, s *radio.Sample) { s.RSSI = math.NaN() }), "of 5 measured links 0 can be used"},
		{"all of one length", links(7, 7, 7.1, 7, 7, 7), "all 6 links are 7.0 m long: measure shorter and longer ones"},
		{"all in one hand", with(links(1, 2, 4, 8, 16), func(i int, s *radio.Sample) { s.Between.Metres = float64(i) / 50 }), "all 5 links are 0.1 m long"},
		{"one of five no level", with(five(), func(i int, s *radio.Sample) {
			if i == 2 {
				s.RSSI = 300
			}
		}), "of 5 measured links 4 can be used"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f, err := radio.Calibrate(model("p1238-10-office"), radio.Mesh(), c.samples)
			require.ErrorContains(t, err, c.says)
			require.Zero(t, f)
		})
	}
}

// What the links can't tell stays as published, doubt and all.
func TestCalibrationKeeps(t *testing.T) {
	board := wall(t, "plasterboard", 12.5)
	cases := []struct {
		name    string
		samples []radio.Sample
		kept    []string
		says    string
	}{
		{"one floor, no walls", links(2, 4, 8, 16, 32), []string{"floors", "walls"},
			"the loss of floors stays as published: 0 of 5 links cross one, and it takes 3 that do and 3 that do not"},
		{"nearly of one length", links(10, 12, 14, 16, 18), []string{"distance", "floors", "walls"},
			"the distance coefficient stays as published: the longest link, 18.0 m, is not twice the shortest, 10.0 m"},
		{"two through a floor", with(links(2, 4, 8, 16, 32, 33), func(i int, s *radio.Sample) {
			if i < 2 {
				s.Between.Floors, s.RSSI = 1, s.RSSI-14
			}
		}), []string{"floors", "walls"}, "2 of 6 links cross one"},
		{"all but two through floors", with(links(2, 4, 8, 16, 32, 33), func(i int, s *radio.Sample) {
			if i > 1 {
				s.Between.Floors, s.RSSI = 1, s.RSSI-14
			}
		}), []string{"floors", "walls"}, "4 of 6 links cross one"},
		{"walls that change nothing", with(links(2, 4, 8, 16, 32, 33), func(i int, s *radio.Sample) {
			if i > 2 {
				s.Between.Walls = board
			}
		}), []string{"floors", "walls"}, "the loss of walls stays as published: for 0 of 6 links listed walls decide"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := calibrate(t, c.samples)
			require.Contains(t, strings.Join(f.Refused, "\n"), c.says)
			var kept []string
			for _, p := range f.Params {
				if !p.Fitted {
					kept = append(kept, p.Name)
					require.Equal(t, p.Prior, p.Value, p.Name)
					require.InDelta(t, p.PriorSpread, p.Spread, 1e-12, p.Name)
				}
			}
			require.Equal(t, c.kept, kept)
			require.Len(t, f.Refused, len(kept))
			require.InDelta(t, 0, param(f, "offset").Value, 1e-4, "and the rest is fitted beside it: these links are as published")
		})
	}
}

// What can't be is not believed: a loss that falls with distance, a floor or wall
// that amplifies.
func TestCalibrationHolds(t *testing.T) {
	cases := []struct {
		name, model, held string
		site              truth
		value             float64
		says              string
	}{
		{"farther is stronger", "p1238-10-office", "distance", truth{n: -20, noise: 1}, 10, "distance came out as "},
		{"floors amplify", "p1238-10-office", "floors", truth{n: 30, floor: -20, noise: 1}, 0, "floors came out as -"},
		{"walls amplify", "p525", "walls", truth{n: 30, walls: true, factor: -3, noise: 1}, 0, "walls came out as -"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := c.site.samples(300, 2)
			if c.site.floor < 0 { // truth puts no negative floors between
				s = with(s, func(i int, s *radio.Sample) {
					if i%2 == 1 {
						s.Between.Floors, s.RSSI = 1, s.RSSI+20
					}
				})
			}
			if c.site.factor < 0 {
				s = with(s, func(i int, s *radio.Sample) {
					if s.Between.Walls != (radio.Span{}) {
						s.RSSI += 60
					}
				})
			}
			f, err := radio.Calibrate(model(c.model), radio.Mesh(), s)
			require.NoError(t, err)
			p := param(f, c.held)
			require.Equal(t, c.value, p.Value)
			require.False(t, p.Fitted)
			require.InDelta(t, p.PriorSpread, p.Spread, 1e-12, "as doubtful as before")
			told := strings.Join(f.Refused, "\n")
			require.Contains(t, told, c.says)
			require.Contains(t, told, "mixed up")
		})
	}
}

func TestLeftOut(t *testing.T) {
	s := links(2, 3, 4, 5, 6, 8, 12, 16, 20, 24, 28, 32, 36)
	nan := math.NaN()
	s[0].RSSI, s[0].PDR = nan, 1
	s[1].RSSI, s[1].PDR = nan, 0
	s[2].RSSI, s[2].PDR = nan, 1.2
	s[3].RSSI = nan
	s[4].RSSI = -200
	s[5].Between.Metres = -1
	s[7].Between.Metres = nan
	s[6].Between.Walls = radio.Span{Lo: 1, Mid: math.Inf(1), Hi: 1}
	f := calibrate(t, s)
	require.Equal(t, 5, f.Samples)
	require.Equal(t, []string{
		"left out Aa, Ab: a packet rate of 0 or 1 is only a bound of the level",
		"left out Ac: a packet rate is between 0 and 1",
		"left out Ad: neither a level nor a packet rate was measured (a quality figure alone says neither)",
		"left out Ae: no radio reads such a level",
		"left out Af, Ag, Ah: what lies between its ends is not known",
	}, f.Refused[:5])
	require.Equal(t, [2]float64{20, 36}, [2]float64{f.Least, f.Most})

	many := links(2, 4, 8, 16, 32, 3, 5, 6, 7, 9)
	for i := 5; i < len(many); i++ {
		many[i].RSSI, many[i].PDR = nan, 1
	}
	require.Equal(t, "left out Af, Ag, Ah and 2 more: a packet rate of 0 or 1 is only a bound of the level", calibrate(t, many).Refused[0])
	require.Equal(t, "left out Af, Ag, Ah, Ai: a packet rate of 0 or 1 is only a bound of the level", calibrate(t, many[:9]).Refused[0])
}

// A packet rate stands for the level at which as many packets get through.
func TestCalibrationByPacketRates(t *testing.T) {
	levels := truth{n: 34, offset: 4}.samples(10, 4)
	rates := truth{n: 34, offset: 4}.samples(10, 4)
	near := 0
	for i := range rates {
		// Bring all of them to where packets get lost.
		rates[i].Between.Metres *= 6
		levels[i].Between = rates[i].Between
		level := -6 - truth{n: 34, offset: 4}.loss(rates[i].Between)
		levels[i].RSSI = level
		pdr := 1 - radio.PER(level-radio.Mesh().NoiseDBm()-16, 20)
		if pdr > 1e-9 && pdr < 1-1e-9 {
			rates[i].RSSI, rates[i].PDR = math.NaN(), pdr
			near++
		} else {
			rates[i].RSSI = level
		}
	}
	require.Greater(t, near, 1)
	byLevel, byRate := calibrate(t, levels), calibrate(t, rates)
	require.Equal(t, near, byRate.ByPDR)
	for i := range byLevel.Params {
		require.InDelta(t, byLevel.Params[i].Value, byRate.Params[i].Value, 1e-3)
	}

	// A level is believed over a rate, which other radios may have spoilt.
	both := levels
	both[0].PDR = 0.2
	require.Equal(t, byLevel, calibrate(t, both))

	_, err := radio.Calibrate(model("p1238-10-office"), radio.Star("EU"), with(links(2, 4, 8, 16, 32), func(i int, s *radio.Sample) { s.RSSI, s.PDR = math.NaN(), 0.5 }))
	require.ErrorContains(t, err, "of 5 measured links 0 can be used", "no error curve, no level")
}
