package checks

import (
	"fmt"
	"math/big"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// asAdopted is the rule as IECC C408.3.1.1 has it.
var asAdopted = Rule{All: 7, Share: 10, Widen: 30}

const here events.SiteID = "a site"

func sensors(n int, a alike) []sensor {
	out := make([]sensor, n)
	for i := range out {
		tag := events.Tag(fmt.Sprintf("%s-%d", a.geometry, i+1))
		out[i] = sensor{tag: tag, first: tag, alike: a}
	}
	return out
}

func ceiling(geometry string) alike {
	return alike{test: events.TestOccupancy, maker: "Example", text: "ceiling", geometry: geometry}
}

// scheduled is a made-up schedule of sensors in a few groups.
func scheduled(t *rapid.T) []sensor {
	var all []sensor
	for _, g := range []string{"cell", "open plan", "stairs"} {
		all = append(all, sensors(rapid.IntRange(0, 60).Draw(t, g), ceiling(g))...)
	}
	return all
}

func TestHowManyAreDrawnAgainstCounting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := scheduled(t)
		seen := 0
		for _, g := range draw(asAdopted, here, slices.Clone(all)) {
			seen += len(g.Devices)
			want := 0
			for want*10 < len(g.Devices) { // ten percent, counted out
				want++
			}
			if len(all) <= 7 {
				want = len(g.Devices)
			}
			require.Len(t, g.Drawn, want, "%s of %d in all", g.Geometry, len(all))
			require.NotEmpty(t, g.Drawn, "at least one of each type and geometry")
			require.Subset(t, g.Devices, g.Drawn)
			require.False(t, g.Widened)
		}
		require.Equal(t, len(all), seen, "every sensor is in one group")
	})
}

func TestWhenTheRestComesInAgainstFractions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := append(sensors(rapid.IntRange(8, 80).Draw(t, "sensors"), ceiling("cell")), sensors(3, ceiling("stairs"))...)
		rule := Rule{All: 7, Share: rapid.SampledFrom([]int64{10, 25, 50}).Draw(t, "share"), Widen: 30}
		before := draw(rule, here, slices.Clone(all))[0]
		for i := range all {
			all[i].failed = all[i].alike.geometry == "cell" && rapid.IntRange(0, 5).Draw(t, "luck") == 0
		}
		evidence, failed := map[events.Tag]bool{}, int64(0)
		for _, tag := range before.Drawn {
			evidence[tag] = true
		}
		for _, x := range all {
			if x.failed {
				evidence[x.tag] = true
				failed++
			}
		}
		share := big.NewRat(failed, int64(len(evidence)))
		after := draw(rule, here, slices.Clone(all))
		wide := share.Cmp(big.NewRat(3, 10)) >= 0 && len(before.Drawn) < len(before.Devices)
		require.Equal(t, wide, after[0].Widened, "%s failed", share)
		if wide {
			require.Equal(t, after[0].Devices, after[0].Drawn)
		} else {
			require.Equal(t, before.Drawn, after[0].Drawn, "failures move nobody's lot")
		}
		require.False(t, after[1].Widened, "the stairs have nothing to do with it")
	})
}

func TestTheDrawHangsOnNothingButTheSchedule(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := scheduled(t)
		shuffled := rapid.Permutation(all).Draw(t, "order")
		require.Equal(t, draw(asAdopted, here, slices.Clone(all)), draw(asAdopted, here, slices.Clone(shuffled)))
	})
}

func TestOneMoreSensorMovesTheDrawByOneAtMost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cells, stairs := sensors(rapid.IntRange(5, 60).Draw(t, "cells"), ceiling("cell")), sensors(20, ceiling("stairs"))
		before := draw(asAdopted, here, slices.Concat(cells, stairs))
		after := draw(asAdopted, here, slices.Concat(sensors(len(cells)+1, ceiling("cell")), stairs))
		require.Equal(t, before[1], after[1], "another group does not notice")
		gone := slices.DeleteFunc(slices.Clone(before[0].Drawn), func(tag events.Tag) bool { return slices.Contains(after[0].Drawn, tag) })
		require.LessOrEqual(t, len(gone), 1)
	})
}

func TestNobodyCanTellTheLotFromTheTag(t *testing.T) {
	all := sensors(200, ceiling("cell"))
	there := draw(asAdopted, "another site", slices.Clone(all))[0].Drawn
	drawn := draw(asAdopted, here, all)[0].Drawn
	require.NotEqual(t, there, drawn, "each site has its own lots")
	first := make([]events.Tag, len(drawn))
	for i, x := range sensors(len(drawn), ceiling("cell")) {
		first[i] = x.tag
	}
	require.NotEqual(t, first, drawn, "not simply the first ones")
}

func TestARenamedSensorKeepsItsLot(t *testing.T) {
	all := sensors(200, ceiling("cell"))
	drawn := draw(asAdopted, here, slices.Clone(all))[0].Drawn
	i := slices.IndexFunc(all, func(x sensor) bool { return x.tag == drawn[0] })
	all[i].tag = "99-1"
	after := draw(asAdopted, here, all)[0].Drawn
	require.Contains(t, after, events.Tag("99-1"))
	require.NotContains(t, after, drawn[0])
}
