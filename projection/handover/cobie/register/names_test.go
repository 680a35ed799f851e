package register_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection/handover/cobie/register"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
)

// oddName draws from few letters, so that names are alike but for case, blanks and
// commas, or are what COBie writes for nothing.
func oddName() *rapid.Generator[string] {
	drawn := rapid.OneOf(
		rapid.StringMatching(`[aA1](  ?|,|, |\x{a0}|;|-)?[bB2]?( \([23]\))?`),
		rapid.SampledFrom([]string{"n/a", "N/A", ",", "=1+1", "ß", "ẞ", "İ", "\u200b", "_x0041_"}),
	)
	return rapid.Custom(func(t *rapid.T) string {
		return drawn.Filter(func(s string) bool { return events.CheckName(s) == nil }).Draw(t, "name")
	})
}

// Whatever things are called, no two keys of a sheet are alike and every reference
// leads to its row.
func TestKeysHoldUnderOddNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := tale.New()
		s.Lead.Say("09:00", events.HubListed{Hub: events.HubID(oddName().Draw(t, "hub"))})
		for range rapid.IntRange(1, 12).Draw(t, "devices") {
			s.Lead.Say("09:00", events.DeviceListed{
				Device: events.Tag(oddName().Draw(t, "tag")), Is: events.Driver, Power: events.Mains, Radio: events.Mesh,
				Hub: events.HubID(oddName().Draw(t, "of")), Circuit: events.CircuitID(oddName().Draw(t, "circuit")),
				Floor: events.FloorID(oddName().Draw(t, "floor")), Room: events.RoomID(oddName().Draw(t, "room")),
				Maker: oddName().Draw(t, "maker"), Model: oddName().Draw(t, "model"), WarrantyMonths: rapid.IntRange(0, 2).Draw(t, "months"),
			})
		}
		h := handed.History(s)
		b := book(h)
		holdKeys(t, b)
		require.Equal(t, b, book(h), "the same again")
	})
}

func TestNamesThatAreAlike(t *testing.T) {
	s := begun()
	for _, tag := range []events.Tag{"A-1", "a-1", "a,1", "a;1", "n/a", "H1", "x  y", "x y"} {
		s.Lead.Say("09:00", driver(tag))
	}
	components := sheet(t, book(handed.History(s)), "Component")
	require.ElementsMatch(t, []string{"H1", "A-1", "a-1 (2)", "a;1", "a;1 (2)", "n/a (2)", "H1 (2)", "x y", "x y (2)"}, column(t, components, "Name"))
	require.ElementsMatch(t, []string{"H1", "A-1", "a-1", "a,1", "a;1", "n/a", "H1", "x  y", "x y"}, column(t, components, "TagNumber"), "the tag is as it was")
	require.NotContains(t, column(t, components, "Name"), register.Unknown)
}
