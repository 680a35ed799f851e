package checks_test

import (
	"math"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/checks"
)

// FuzzParseLimit reads any text as a limit: what is taken can be logged, and is
// taken again as the same limit.
func FuzzParseLimit(f *testing.F) {
	for _, seed := range []string{
		"off_within=15min", "off_within_s=900", "auto_on=40%", "override_within=2h", "average=1fc", "minimum=0.1fc", "max_to_min=40:1",
		"average=10,8lux", "off_within_min=9223372036854775807", "off_within=99999999999999999999999h", "=", "a=1", "off_within_h=-1", "off_within=0s",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		name, value, err := checks.ParseLimit(text)
		if err != nil {
			return
		}
		require.Less(t, max(value, -value), int64(1<<53), "more than an entry can tell")
		require.Greater(t, value, int64(math.MinInt64))
		require.True(t, utf8.ValidString(name))
		require.NoError(t, events.CheckName(name))
	})
}

// FuzzBeyond reads any text as what a test read.
func FuzzBeyond(f *testing.F) {
	for _, seed := range []string{"off after 14 min", "1.2 fc average", "40 : 1", "auto on at 50 %", "9e9", "0,5 h then 20 min", "٣ min", "99999999999999999999 s"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, reading string) {
		limits := []checks.Limit{{Name: checks.OffWithin, Value: 900, Words: "off within 15 min", Source: "usual"}}
		for _, words := range checks.Beyond(limits, reading) {
			require.Contains(t, words, "is beyond the limit")
			require.Regexp(t, `\d`, words)
		}
	})
}
