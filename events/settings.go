package events

import (
	"fmt"
)

// SettingKey names one of a site's settings.
type SettingKey string

// The settings of a site.
const (
	SettleMinutes   SettingKey = "settle_minutes"
	HeardMinutes    SettingKey = "heard_minutes"
	AskedMinutes    SettingKey = "asked_minutes"
	ActiveHours     SettingKey = "active_hours"
	WhenTolerance   SettingKey = "when_tolerance_minutes"
	ClockReference  SettingKey = "clock_reference"
	ClockStep       SettingKey = "clock_step_seconds"
	ClockAhead      SettingKey = "clock_ahead_minutes"
	Region          SettingKey = "region"
	FadeMargin      SettingKey = "fade_margin_cdb"
	PairMinutes     SettingKey = "pair_minutes"
	PushMinutes     SettingKey = "push_minutes"
	UsualChannel    SettingKey = "usual_channel"
	AllowedChannels SettingKey = "allowed_channels"
)

// Setting says what may be set, in which unit, and where its default is from.
type Setting struct {
	Key     SettingKey
	Default string
	Unit    string
	Doc     string
	ok      rule
}

const commonPractice = " (common practice, no source)"

// Settings lists every setting this version applies, in the order people are
// shown.
var Settings = []Setting{
	{SettleMinutes, "10", "min", "wait between the last mesh pairing on a hub and a push to it" + commonPractice, wholeIn(0, 24*60)},
	{HeardMinutes, "1", "min", "how fresh a colleague's log must be before a push without asking" + commonPractice, wholeIn(0, 24*60)},
	{AskedMinutes, "15", "min", "how long a colleague's spoken answer holds" + commonPractice, wholeIn(0, 24*60)},
	{ActiveHours, "24", "h", "how long after their last entry on a hub a member counts as working on it" + commonPractice, wholeIn(0, 24*365)},
	{WhenTolerance, "5", "min", "how far off a typed time may be" + commonPractice, wholeIn(0, 24*60)},
	{ClockReference, "", "", "feed key of the member whose clock is site time; empty for the lead who opened the site", orEmpty(isKey)},
	{ClockStep, "30", "s", "a step of a clock larger than this is a conflict" + commonPractice, wholeIn(1, 24*3600)},
	{ClockAhead, "10", "min", "an entry further ahead of site time than this is flagged" + commonPractice, wholeIn(1, 24*60)},
	{Region, "", "", "regulatory region for radio limits, such as EU or US", orEmpty(named)},
	{FadeMargin, "1000", "cdB", "margin a predicted link should keep for fading" + commonPractice, wholeIn(0, 10_000)},
	{PairMinutes, "2", "min", "time to pair one device" + commonPractice, wholeIn(1, 24*60)},
	{PushMinutes, "5", "min", "time a push takes" + commonPractice, wholeIn(1, 24*60)},
	{UsualChannel, "25", "", "mesh channel a hub is put on where nobody plans one" + commonPractice, wholeIn(11, 26)},
	{AllowedChannels, "11-26", "", "mesh channels that may be planned", named},
}

// SettingFor finds a setting by its key.
func SettingFor(k SettingKey) (Setting, bool) {
	for _, s := range Settings {
		if s.Key == k {
			return s, true
		}
	}
	return Setting{}, false
}

// Check says whether v may be the value of s, or what would be right.
func (s Setting) Check(v string) error {
	if err := s.ok(v); err != nil {
		return fmt.Errorf("set %s: %w", s.Key, err)
	}
	return nil
}

func wholeIn(lo, hi int64) rule {
	return func(s string) error {
		if _, err := parseInt(s, lo, hi); err != nil {
			return fmt.Errorf("%q is not a whole number from %d to %d", clip(s), lo, hi)
		}
		return nil
	}
}

func orEmpty(r rule) rule {
	return func(s string) error {
		if s == "" {
			return nil
		}
		return r(s)
	}
}
