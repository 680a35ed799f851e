package intake_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/intake"
)

func zone(t require.TestingT, name string) *time.Location {
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}

func at(t *testing.T, rfc3339 string) time.Time {
	t.Helper()
	v, err := time.Parse(time.RFC3339, rfc3339)
	require.NoError(t, err)
	return v
}

func TestMoments(t *testing.T) {
	vienna := zone(t, "Europe/Vienna")
	now := at(t, "2026-03-02T23:30:00Z") // half past midnight of the 3rd in Vienna
	for _, tt := range []struct{ text, want string }{
		{"2026-03-02T14:05:00+01:00", "2026-03-02T13:05:00Z"},
		{"2026-03-02t14:05:00z", "2026-03-02T14:05:00Z"},
		{"2026-03-02T14:05:00.5Z", "2026-03-02T14:05:00.5Z"},
		{"2026-03-02 14:05", "2026-03-02T13:05:00Z"},
		{"2026-03-02T14:05", "2026-03-02T13:05:00Z"},
		{"2026-07-02 14:05", "2026-07-02T12:05:00Z"},
		{"2028-12-31 14:05", "2028-12-31T13:05:00Z"}, // the last day of a leap year: see offsets
		{"2040-12-31 14:05", "2040-12-31T13:05:00Z"},
		{"4009-01-01 00:00", "4008-12-31T23:00:00Z"},
		{"2026-07-02", "2026-07-01T22:00:00Z"}, // its start
		{" 2026-03-02 ", "2026-03-01T23:00:00Z"},
		{"00:10", "2026-03-02T23:10:00Z"},
		{"9:05", "2026-03-03T08:05:00Z"},
		{"09:05:30", "2026-03-03T08:05:30Z"},
		{"today 09:05", "2026-03-03T08:05:00Z"},
		{"yesterday 17:00", "2026-03-02T16:00:00Z"},
		{"Yesterday  17:00 ", "2026-03-02T16:00:00Z"},
		{"-2h", "2026-03-02T21:30:00Z"},
		{"-1h30m", "2026-03-02T22:00:00Z"},
		{"-90s", "2026-03-02T23:28:30Z"},
		{"now", "2026-03-02T23:30:00Z"},
	} {
		t.Run(tt.text, func(t *testing.T) {
			got, err := intake.ParseMoment(tt.text, now, vienna)
			require.NoError(t, err)
			require.Equal(t, events.InstantOf(at(t, tt.want)), got)
		})
	}
}

func TestNoMoments(t *testing.T) {
	vienna := zone(t, "Europe/Vienna")
	now := at(t, "2026-03-02T12:00:00Z")
	for _, tt := range []struct{ text, words string }{
		{"", "no time: write 14:05, yesterday 17:00, -2h"},
		{"noon", `"noon" is no time`},
		{"25:00", `"25:00" is no time`},
		{"14:60", `"14:60" is no time`},
		{"14.05", `"14.05" is no time`},
		{"2h", `"2h" is no time`},
		{"-", `"-" is no time`},
		{"-2", `"-2" is no time`},
		{"2.3.2026 14:05", "2026-03-02 14:05"},
		{"2026-02-30 14:05", "is no time"},
		{"tomorrow 14:05", "is no time"},
		{"2026-02-30", "is no time"},
		{"09:40..10:10", "is no time"},
		{"2026-03-29 02:30", "the clocks in Europe/Vienna never showed 2026-03-29 02:30"},
		{"2026-10-25 02:30", `twice: write 2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00`},
	} {
		t.Run(tt.text, func(t *testing.T) {
			_, err := intake.ParseMoment(tt.text, now, vienna)
			require.ErrorContains(t, err, tt.words)
		})
	}
}

func TestWhenIsAnInterval(t *testing.T) {
	now := at(t, "2026-03-02T15:00:00Z")
	for _, tt := range []struct{ name, text, zone, from, to string }{
		{"a bare time may be five minutes off", "14:05", "Europe/Vienna", "2026-03-02T13:00:00Z", "2026-03-02T13:10:00Z"},
		{"so may a time with its date", "2026-03-01 14:05", "Europe/Vienna", "2026-03-01T13:00:00Z", "2026-03-01T13:10:00Z"},
		{"and one counted back", "-2h", "Europe/Vienna", "2026-03-02T12:55:00Z", "2026-03-02T13:05:00Z"},
		{"RFC 3339 means what it says", "2026-03-02T14:05:00+01:00", "Europe/Vienna", "2026-03-02T13:05:00Z", "2026-03-02T13:05:00Z"},
		{"now is now", "now", "Europe/Vienna", "2026-03-02T15:00:00Z", "2026-03-02T15:00:00Z"},
		{"a range says how far off it may be", "09:40..10:10", "Europe/Vienna", "2026-03-02T08:40:00Z", "2026-03-02T09:10:00Z"},
		{"the end is on the day of the beginning", "yesterday 09:40..10:10", "Europe/Vienna", "2026-03-01T08:40:00Z", "2026-03-01T09:10:00Z"},
		{"yesterday is yesterday at both ends", "yesterday 09:40 .. yesterday 10:10", "Europe/Vienna", "2026-03-01T08:40:00Z", "2026-03-01T09:10:00Z"},
		{"over midnight with both dates", "2026-02-28 23:50..2026-03-01 00:10", "Europe/Vienna", "2026-02-28T22:50:00Z", "2026-02-28T23:10:00Z"},
		{"to now", "-20m..now", "Europe/Vienna", "2026-03-02T14:40:00Z", "2026-03-02T15:00:00Z"},
		{"a time shown twice covers both", "2025-10-26 02:30", "Europe/Vienna", "2025-10-26T00:25:00Z", "2025-10-26T01:35:00Z"},
		{"a range over the hour shown twice", "2025-10-26 02:30..02:40", "Europe/Vienna", "2025-10-26T00:30:00Z", "2025-10-26T01:40:00Z"},
		{"a half hour shown twice", "2025-04-06 01:45", "Australia/Lord_Howe", "2025-04-05T14:40:00Z", "2025-04-05T15:20:00Z"},
		{"ahead of the clock is read all the same", "18:00", "Europe/Vienna", "2026-03-02T16:55:00Z", "2026-03-02T17:05:00Z"},
		{"a little ahead is within the tolerance", "16:04", "Europe/Vienna", "2026-03-02T14:59:00Z", "2026-03-02T15:09:00Z"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := intake.ParseWhen(tt.text, now, zone(t, tt.zone), 5*time.Minute)
			require.NoError(t, err)
			require.Equal(t, events.Interval{From: events.InstantOf(at(t, tt.from)), To: events.InstantOf(at(t, tt.to))}, got)
		})
	}
}

func TestWhenIsRefusedInWords(t *testing.T) {
	now := at(t, "2026-03-30T12:00:00Z")
	for _, tt := range []struct{ name, text, zone, words string }{
		{"backwards", "10:10..09:40", "Europe/Vienna", "ends before it begins: write the date of both ends"},
		{"half a range", "10:10..", "Europe/Vienna", "no time"},
		{"skipped by summer time", "yesterday 02:30", "Europe/Vienna", "never showed 2026-03-29 02:30"},
		{"a day that Samoa left out", "2011-12-30 12:00", "Pacific/Apia", "the clocks in Pacific/Apia never showed 2011-12-30 12:00"},
		{"three", "09:00..10:00..11:00", "Europe/Vienna", "is no time"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := intake.ParseWhen(tt.text, now, zone(t, tt.zone), 5*time.Minute)
			require.ErrorContains(t, err, tt.words)
		})
	}
	_, err := intake.ParseWhen("14:05", time.Time{}, time.UTC, 0)
	require.ErrorContains(t, err, "the day is not known")
	_, err = intake.ParseWhen("-2h", time.Time{}, time.UTC, 0)
	require.ErrorContains(t, err, "now, which is not known")
}

// What a clock in the zone showed is found again: exactly, or within an interval
// that has it at one of its ends where the clock showed it twice.
func TestEveryShownTimeIsFoundAgain(t *testing.T) {
	zones := []string{"Europe/Vienna", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia", "Asia/Kathmandu", "America/Sao_Paulo", "Africa/Casablanca", "UTC"}
	rapid.Check(t, func(t *rapid.T) {
		z := zone(t, rapid.SampledFrom(zones).Draw(t, "zone"))
		when := time.Unix(rapid.Int64Range(1_262_304_000, 2_524_608_000).Draw(t, "second"), 0).In(z) // 2010 to 2050
		got, err := intake.ParseWhen(when.Format("2006-01-02 15:04:05"), time.Time{}, z, 0)
		require.NoError(t, err)
		require.Contains(t, []events.Instant{got.From, got.To}, events.InstantOf(when))
		if got.From != got.To {
			require.Equal(t, got.From.Time().In(z).Format(time.DateTime), got.To.Time().In(z).Format(time.DateTime))
		}
	})
}
