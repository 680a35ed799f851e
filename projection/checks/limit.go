package checks

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// The names of the limits that this version knows. Each says its unit.
const (
	OffWithin      = "off_within_s"
	AutoOn         = "auto_on_percent"
	OverrideWithin = "override_within_s"
	Average        = "average_cfc"
	Minimum        = "minimum_cfc"
	MaxToMin       = "max_to_min"
)

// usual says where a limit comes from that nobody planned.
type usual struct {
	name   string
	key    events.SettingKey
	factor int64 // from the setting's unit to the limit's
	source string
}

const (
	fromSampling = "IECC C408.3.1.1"
	fromControls = "IECC C405.2.1.1"
	fromEgress   = "IBC 1008.3.5"
)

// usuals are the limits of a test where nobody plans others.
var usuals = map[events.TestKind][]usual{
	events.TestOccupancy: {
		{OffWithin, events.OffWithin, 60, fromControls},
		{AutoOn, events.AutoOn, 1, fromControls},
	},
	events.TestVacancy:    {{OffWithin, events.OffWithin, 60, fromControls}},
	events.TestTimeSwitch: {{OverrideWithin, events.Override, 60, fromSampling}},
	events.TestEgress: {
		{Average, events.EgressAverage, 1, fromEgress},
		{Minimum, events.EgressMinimum, 1, fromEgress},
		{MaxToMin, events.EgressMaxToMin, 1, fromEgress},
	},
}

// limits lists what a test is held against: what was planned, and the site's
// settings for the rest.
func limits(s *projection.Site, test events.TestKind, plan *projection.Plan) []Limit {
	var out []Limit
	planned := map[string]int64{}
	if plan != nil {
		for _, name := range slices.Sorted(maps.Keys(plan.Limits)) {
			known, value := canonical(name, plan.Limits[name])
			planned[known] = int64(min(max(value, -mostTold), mostTold))
		}
	}
	for _, u := range usuals[test] {
		l := Limit{Name: u.name, Source: u.from(s)}
		if v, ok := planned[u.name]; ok {
			l.Value, l.Source = v, "planned"
			delete(planned, u.name)
		} else {
			l.Value = s.Settings.Int(u.key) * u.factor
		}
		out = append(out, l.spelled())
	}
	for _, name := range slices.Sorted(maps.Keys(planned)) {
		out = append(out, Limit{Name: name, Value: planned[name], Source: "planned"}.spelled())
	}
	return out
}

// from names the setting, and the rule where the default stands.
func (u usual) from(s *projection.Site) string {
	if s.Settings.Event(u.key) != nil {
		return fmt.Sprintf("setting %s, as set on this site", u.key)
	}
	return fmt.Sprintf("setting %s (%s)", u.key, u.source)
}

// spelled fills in unit and words.
func (l Limit) spelled() Limit {
	switch l.Name {
	case OffWithin:
		l.Unit, l.Words = "s", "off or down within "+minutes(l.Value)
	case AutoOn:
		l.Unit, l.Words = "%", "on by itself to at most "+percent(l.Value)
	case OverrideWithin:
		l.Unit, l.Words = "s", "override at most "+minutes(l.Value)
	case Average:
		l.Unit, l.Words = "cfc", "average at least "+footCandles(l.Value)
	case Minimum:
		l.Unit, l.Words = "cfc", "no point below "+footCandles(l.Value)
	case MaxToMin:
		l.Unit, l.Words = ":1", fmt.Sprintf("most to least at most %d:1", l.Value)
	default:
		name, unit := l.Name, ""
		if i := strings.LastIndexByte(l.Name, '_'); i > 0 {
			name, unit = l.Name[:i], l.Name[i+1:]
		}
		l.Unit = unit
		l.Words = strings.TrimSpace(fmt.Sprintf("%s %d %s", strings.ReplaceAll(name, "_", " "), l.Value, unit))
	}
	return l
}

func minutes(seconds int64) string {
	d := time.Duration(seconds) * time.Second
	if seconds%60 != 0 {
		return fmt.Sprintf("%d s", seconds)
	}
	return fmt.Sprintf("%d min", int64(d/time.Minute))
}

// milliLuxPerCentiFootCandle: 1 fc = 10.764 lx.
const milliLuxPerCentiFootCandle = 107.64

func footCandles(hundredths int64) string {
	fc := strings.TrimRight(strings.TrimRight(fmt.Sprintf("%d.%02d", hundredths/100, hundredths%100), "0"), ".")
	return fmt.Sprintf("%s fc (%.1f lx)", fc, float64(hundredths)*milliLuxPerCentiFootCandle/1000)
}
