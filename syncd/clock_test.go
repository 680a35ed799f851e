package syncd_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/syncd"
)

// device is the two clocks of a device: what they show at a time in
// microseconds, read as whole milliseconds.
type device struct {
	boot       string
	wall, mono int64 // µs ahead of the true time, by either clock
}

func (d device) at(µs int64) events.Stamp {
	return events.Stamp{
		Wall: events.Wall{At: events.Instant((µs + d.wall) / 1000)},
		Mono: events.Mono{Boot: d.boot, Ms: (µs + d.mono) / 1000},
	}
}

// answers reads the clocks at one time after the other.
func (d device) answers(µs ...int64) []byte {
	return syncd.AnswerClock(func() events.Stamp {
		s := d.at(µs[0])
		µs = µs[1:]
		return s
	})
}

// T = 1000, 4040, 4045, 1065 ms gives θ = +3010 and δ = 60 (RFC 5905 §8). The
// code adds 2 ms to δ, since every reading is cut to whole milliseconds.
func TestClocksComparedByTheStandard(t *testing.T) {
	mine, theirs := device{boot: "mine"}, device{boot: "theirs"}
	s, err := syncd.CompareClocks(mine.at(1000_000), theirs.answers(4040_000, 4045_000), mine.at(1065_000))
	require.NoError(t, err)
	require.Equal(t, syncd.Sample{
		Mine:      events.Reading{Wall: 1065, Mono: events.Mono{Boot: "mine", Ms: 1065}},
		Theirs:    events.Reading{Wall: 4045, Mono: events.Mono{Boot: "theirs", Ms: 4045}},
		Offset:    3010,
		RoundTrip: 60 + 2,
	}, s)
}

// However unlike the two ways are, and whatever of a millisecond was cut off,
// the true offset lies within θ ± δ/2.
func TestTheTrueOffsetIsWithinHalfTheRoundTrip(t *testing.T) {
	day := int64(86_400_000_000)
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, from, to int64) int64 { return rapid.Int64Range(from, to).Draw(t, name) }
		t1 := draw("asked", 2*day, 3*day)
		t2 := t1 + draw("way there", 0, 5_000_000)
		t3 := t2 + draw("in the making", 0, 50_000)
		t4 := t3 + draw("way back", 0, 5_000_000)
		mine := device{"mine", draw("my wall", -day, day), draw("my mono", -day, day)}
		theirs := device{"theirs", draw("their wall", -day, day), draw("their mono", -day, day)}
		requireWithin(t, mine, theirs, [4]int64{t1, t2, t3, t4})
	})
}

// The worst that cutting to whole milliseconds can do, on either clock.
func TestTheTrueOffsetIsWithinAtTheEdges(t *testing.T) {
	edges, ahead := []int64{0, 1, 500, 999}, []int64{-3000, 0, 3000}
	second := int64(1_000_000)
	for _, there := range []int64{0, 1, 2000, 2999} {
		for _, back := range []int64{0, 1, 999, 1000, 2000} {
			for _, making := range []int64{0, 1, 999} {
				for i := range int64(256) {
					mine := device{"mine", edges[i&3], edges[i>>2&3]}
					theirs := device{"theirs", edges[i>>4&3] + ahead[i%3], edges[i>>6&3]}
					t2, t3 := second+there, second+there+making
					requireWithin(t, mine, theirs, [4]int64{second, t2, t3, t3 + back})
				}
			}
		}
	}
}

// requireWithin compares clocks and says that the true offset is within θ ± δ/2,
// unless they were refused for too short a way.
func requireWithin(t tester, mine, theirs device, at [4]int64) {
	t.Helper()
	s, err := syncd.CompareClocks(mine.at(at[0]), theirs.answers(at[1], at[2]), mine.at(at[3]))
	if at[3]-at[0]-(at[2]-at[1]) < 2000 && err != nil {
		return // shorter on its way than the clocks can tell
	}
	require.NoError(t, err)
	off := (theirs.wall - mine.wall) - 1000*s.Offset // µs
	require.LessOrEqual(t, 2*max(off, -off), 1000*s.RoundTrip, "offset %d within %d", s.Offset, s.RoundTrip)
}

func TestClocksThatCannotBeCompared(t *testing.T) {
	mine, theirs := device{boot: "mine"}, device{boot: "theirs"}
	t1, t4 := mine.at(1000_000), mine.at(1065_000)
	good := string(theirs.answers(4040_000, 4045_000))
	with := func(old, fresh string) string {
		require.Contains(t, good, old)
		return strings.ReplaceAll(good, old, fresh)
	}
	set := func(s events.Stamp, ms events.Instant) events.Stamp { s.Wall.At += ms; return s }
	for name, row := range map[string]struct {
		t1     events.Stamp
		answer string
		t4     events.Stamp
		words  string
	}{
		"mine was set forward":        {t1, good, set(t4, 3), "set during"},
		"mine was set back":           {t1, good, set(t4, -3), "set during"},
		"theirs was set forward":      {t1, with(`"wall":4045`, `"wall":4048`), t4, "set during"},
		"theirs was set back":         {t1, with(`"wall":4045`, `"wall":4042`), t4, "set during"},
		"mine was rebooted":           {t1, good, device{boot: "later"}.at(1065_000), "no forward-running clock"},
		"mine has no boot clock":      {device{}.at(1000_000), good, device{}.at(1065_000), "no forward-running clock"},
		"theirs was rebooted":         {t1, strings.Replace(good, `"boot":"theirs"`, `"boot":"later"`, 1), t4, "no forward-running clock"},
		"theirs has no boot clock":    {t1, string(device{}.answers(4040_000, 4045_000)), t4, "no reading"},
		"theirs is before 1970":       {t1, with(`"wall":4045`, `"wall":-1`), t4, "no reading"},
		"theirs is past all time":     {t1, with(`"wall":4045`, `"wall":9007199254740992`), t4, "no reading"},
		"theirs runs backward":        {t1, string(theirs.answers(4045_000, 4040_000)), t4, "longer in the making"},
		"it was longer in the making": {t1, string(theirs.answers(4040_000, 4140_000)), t4, "longer in the making"},
		"the boot is no name":         {t1, with(`"theirs"`, `"a\u0007b"`), t4, "no reading"},
		"nothing":                     {t1, "", t4, "read clock"},
		"noise":                       {t1, string(noise(200)), t4, "read clock"},
		"an empty object":             {t1, `{"v":1}`, t4, "no reading"},
		"half":                        {t1, good[:30], t4, "read clock"},
		"too many bytes":              {t1, good + strings.Repeat(" ", 1024), t4, "too many bytes"},
		"a later version":             {t1, with(`"v":1`, `"v":2`), t4, "version"},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := syncd.CompareClocks(row.t1, []byte(row.answer), row.t4)
			require.ErrorContains(t, err, row.words)
			require.Equal(t, syncd.Sample{}, s)
			require.Equal(t, row.words == "set during", fmt.Sprint(err) == syncd.ErrStepped.Error())
		})
	}
}
