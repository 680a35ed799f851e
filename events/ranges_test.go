package events_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

func TestRangesAreShortAndExact(t *testing.T) {
	schedule := []events.Tag{"2-9", "2-10", "2-11", "2-12", "2-14", "3-15", "3-16", "roof", "2-12a"}
	r := events.RangesOf(schedule)
	for name, x := range map[string]struct {
		tags []events.Tag
		want string
	}{
		"none":                      {nil, ""},
		"one":                       {[]events.Tag{"2-9"}, "2-9"},
		"two stay two":              {[]events.Tag{"2-10", "2-9"}, "2-9, 2-10"},
		"three are a range":         {[]events.Tag{"2-11", "2-9", "2-10"}, "2-9..2-11"},
		"a gap that is on the list": {[]events.Tag{"2-9", "2-10", "2-11", "2-12a", "2-14"}, "2-9..2-11, 2-12a, 2-14"},
		"a number nobody has":       {[]events.Tag{"2-12", "2-12a", "2-14"}, "2-12..2-14"},
		"not over two beginnings":   {[]events.Tag{"2-14", "3-15", "3-16"}, "2-14, 3-15, 3-16"},
		"without a number":          {[]events.Tag{"roof", "2-9"}, "2-9, roof"},
		"not on the schedule":       {[]events.Tag{"5-1", "5-2", "5-3"}, "5-1, 5-2, 5-3"},
		"twice the same":            {[]events.Tag{"2-9", "2-9"}, "2-9"},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, x.want, r.Of(x.tags)) })
	}
	require.Equal(t, "2-9, 2-10, 2-11", events.Ranges{}.Of(schedule[:3]), "of no schedule, every tag")
}
