package intake_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/intake"
)

func TestListsAndRangesOfTags(t *testing.T) {
	known := []events.Tag{"2-12", "2-9", "2-10", "2-10a", "2-10-1", "3-10", "2-11", "stair", "A.1", "A.2", "odd..one", "this, that"}
	for _, tt := range []struct {
		text string
		want []events.Tag
	}{
		{"2-9", []events.Tag{"2-9"}},
		{"2-9..2-11", []events.Tag{"2-9", "2-10", "2-10a", "2-11"}},
		{" 2-11 .. 2-12 , stair", []events.Tag{"2-11", "2-12", "stair"}},
		{"2-12,2-9..2-10,2-10", []events.Tag{"2-12", "2-9", "2-10"}},
		{"A.1..A.2", []events.Tag{"A.1", "A.2"}},
		{"odd..one", []events.Tag{"odd..one"}},
		{"this, that", []events.Tag{"this, that"}},
		{"2-9..2-9", []events.Tag{"2-9"}},
	} {
		t.Run(tt.text, func(t *testing.T) {
			got, err := intake.ParseTags(tt.text, known)
			require.NoError(t, err)
			require.Equal(t, tt.want, got)
		})
	}
	for _, tt := range []struct{ text, words string }{
		{"", "a tag is missing"},
		{"2-9,", "a tag is missing"},
		{"2-9..", "a range lacks an end"},
		{"2-9..2-13", `"2-13" is not on the schedule; did you mean 2-12?`},
		{"2-99", `"2-99" is not on the schedule; did you mean 2-9?`},
		{"teapot", `"teapot" is not on the schedule`},
		{"2-9..3-10", "2-9..3-10 is no range: its ends must be alike up to their last number"},
		{"stair..2-9", "is no range"},
		{"2-11..2-9", "ends before it begins; did you mean 2-9..2-11?"},
	} {
		t.Run(tt.text, func(t *testing.T) {
			_, err := intake.ParseTags(tt.text, known)
			require.ErrorContains(t, err, tt.words)
		})
	}
}

// A range is a part of the tags from its first to its last, in order.
func TestARangeLiesBetweenItsEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tag := rapid.Custom(func(t *rapid.T) events.Tag {
			return events.Tag(rapid.StringMatching(`[12]-[0-9]{1,3}a?`).Draw(t, "tag"))
		})
		known := rapid.SliceOfNDistinct(tag, 2, 30, rapid.ID[events.Tag]).Draw(t, "known")
		from, to := known[0], known[1]
		got, err := intake.ParseTags(string(from+".."+to), known)
		if err != nil {
			return
		}
		require.Equal(t, from, got[0])
		require.Equal(t, to, got[len(got)-1])
		for _, g := range got {
			require.Contains(t, known, g)
			require.Equal(t, from[:2], g[:2])
		}
		slices.Reverse(known)
		again, err := intake.ParseTags(string(from+".."+to), known)
		require.NoError(t, err)
		require.Equal(t, got, again, "the order of the known tags doesn't matter")
	})
}

// What is written as ranges is read back as the same tags.
func TestRangesAreReadAsTheyAreWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tag := rapid.StringMatching(`[1-3]-[0-9]{1,2}[ab]?|roof|[A-C][1-9]`)
		known := rapid.SliceOfNDistinct(rapid.Map(tag, func(s string) events.Tag { return events.Tag(s) }), 1, 60, rapid.ID).Draw(t, "known")
		some := rapid.SliceOfN(rapid.SampledFrom(known), 1, 60).Draw(t, "some")
		got, err := intake.ParseTags(events.RangesOf(known).Of(some), known)
		require.NoError(t, err)
		slices.SortFunc(some, events.ByName[events.Tag])
		require.Equal(t, slices.Compact(some), got)
	})
}
