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

	RadioModel         SettingKey = "radio_model"
	MeshPower          SettingKey = "mesh_power_cdbm"
	StarPower          SettingKey = "star_power_cdbm"
	AntennaGain        SettingKey = "antenna_gain_cdb"
	NoiseFigure        SettingKey = "noise_figure_cdb"
	ImplementationLoss SettingKey = "implementation_loss_cdb"
	MeasuredDoubt      SettingKey = "measured_doubt_cdb"
	MeasuredDays       SettingKey = "measured_days"
	ObservedDays       SettingKey = "observed_days"

	PairMinutesOf SettingKey = "pair_minutes_of"
	ReadyMinutes  SettingKey = "ready_minutes"
	CheckMinutes  SettingKey = "check_minutes"
	WalkSpeed     SettingKey = "walk_cm_s"
	StairsSeconds SettingKey = "stairs_seconds"
	RoomSeconds   SettingKey = "room_seconds"

	SampleAll      SettingKey = "sample_all_up_to"
	SamplePercent  SettingKey = "sample_percent"
	SampleWiden    SettingKey = "sample_widen_percent"
	OffWithin      SettingKey = "off_within_minutes"
	AutoOn         SettingKey = "auto_on_percent"
	Override       SettingKey = "override_minutes"
	EgressAverage  SettingKey = "egress_average_cfc"
	EgressMinimum  SettingKey = "egress_minimum_cfc"
	EgressMaxToMin SettingKey = "egress_max_to_min"
)

// RadioModels are the propagation models that radio_model may name: the pinned
// edition of a recommendation, and the row of its table.
var RadioModels = []string{
	"p1238-10-office", "p1238-10-commercial", "p1238-10-residential-apartment", "p1238-10-residential-house",
	"p1238-13-office-los", "p1238-13-office-nlos", "p1238-13-corridor-los", "p1238-13-corridor-nlos",
	"p1238-13-industrial-los", "p1238-13-industrial-nlos", "p1238-13-conference-los", "p1238-13-conference-nlos",
	"p525",
}

// Setting says what may be set, in which unit, and where its default is from.
type Setting struct {
	Key     SettingKey
	Default string
	Unit    string
	Doc     string
	ok      rule
}

const (
	commonPractice = " (common practice, no source)"
	cautious       = " (a cautious assumption, no source)"
	sampling       = " (IECC C408.3.1.1)"
	egress         = " (IBC 1008.3.5); 1 fc is 100 cfc, or 10.764 lx"
)

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
	{AllowedChannels, "11-26", "", "mesh channels that may be planned, such as 15,20,25-26", isChannels},

	{RadioModel, "p1238-10-office", "", "propagation model: ITU-R P.1238 by edition and row, or P.525", oneOf(RadioModels...)},
	{MeshPower, "0", "cdBm", "transmit power of mesh radios" + cautious, wholeIn(-4000, 3000)},
	{StarPower, "0", "cdBm", "transmit power of star radios" + cautious, wholeIn(-4000, 3000)},
	{AntennaGain, "-300", "cdBi", "gain of every antenna, in its fitting" + cautious, wholeIn(-3000, 1500)},
	{NoiseFigure, "1000", "cdB", "noise figure of receivers" + cautious, wholeIn(0, 4000)},
	{ImplementationLoss, "600", "cdB", "what receivers lose against the ideal one" + cautious, wholeIn(0, 4000)},
	{MeasuredDoubt, "300", "cdB", "how far a fresh measurement of a link may be off" + commonPractice, wholeIn(0, 3000)},
	{MeasuredDays, "90", "d", "age at which a measurement's doubt has doubled" + commonPractice, wholeIn(1, 3650)},
	{ObservedDays, "30", "d", "how long having been heard, or having taken a push, shows that a device has a path" + commonPractice, wholeIn(1, 3650)},

	{PairMinutesOf, "", "min", "time to pair a device by its kind, such as sensor=3,driver=1; pair_minutes for the rest" + commonPractice, orEmpty(isMinutesOf)},
	{ReadyMinutes, "10", "min", "time to make a hub ready" + commonPractice, wholeIn(0, 24*60)},
	{CheckMinutes, "1", "min", "time to see that a device answers" + commonPractice, wholeIn(0, 24*60)},
	{WalkSpeed, "100", "cm/s", "walking pace with a ladder" + commonPractice, wholeIn(1, 1000)},
	{StairsSeconds, "40", "s", "time from one level to the next" + commonPractice, wholeIn(0, 3600)},
	{RoomSeconds, "20", "s", "time to the next room where places are not known" + commonPractice, wholeIn(0, 3600)},

	{SampleAll, "7", "sensors", "up to so many occupant sensors on the site, every one is tested" + sampling, wholeIn(0, 1_000_000)},
	{SamplePercent, "10", "%", "of more, so many of each sensor type and space geometry are tested, and at least one" + sampling, wholeIn(1, 100)},
	{SampleWiden, "30", "%", "where so many of those fail, all that are alike are tested" + sampling, wholeIn(1, 100)},
	{OffWithin, "20", "min", "lights are off or down so soon after a room is empty (IECC C405.2.1.1; some older adoptions say 30)", wholeIn(1, 24*60)},
	{AutoOn, "50", "%", "lights come on by themselves up to this level (IECC C405.2.1.1)", wholeIn(0, 100)},
	{Override, "120", "min", "longest override of a time switch" + sampling, wholeIn(1, 24*60)},
	{EgressAverage, "100", "cfc", "least average of egress lighting at the floor" + egress, wholeIn(0, 1_000_000)},
	{EgressMinimum, "10", "cfc", "least egress lighting at any point of the floor" + egress, wholeIn(0, 1_000_000)},
	{EgressMaxToMin, "40", "", "greatest ratio of most to least egress lighting (IBC 1008.3.5)", wholeIn(1, 1_000_000)},
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
