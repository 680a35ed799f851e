package checks

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// Doubts says what is odd about a check that is said to have passed: a number in
// its reading that goes beyond what it was held against. A limit that was typed
// counts before those of plan and settings. It is a word with whoever did the
// test, and never a reason to refuse an entry.
func Doubts(s *projection.Site, p events.CheckDone) []string {
	if !p.Pass {
		return nil
	}
	limits := LimitsOf(s, p.Of, p.Test)
	if p.Limit != "" && p.Limit != LimitWords(limits) {
		limits = typed(limits, p.Limit)
	}
	return Beyond(limits, p.Reading)
}

// typed puts the numbers of a typed limit in the place of the usual ones. What has
// no number in it leaves them as they are.
func typed(usual []Limit, text string) []Limit {
	out := slices.Clone(usual)
	for _, m := range measures(text) {
		for i, l := range out {
			if l.measures(m) {
				out[i].Value, out[i].Source = int64(math.Round(m.value)), "as typed"
				out[i] = out[i].spelled()
			}
		}
	}
	return out
}

// ParseLimit reads a limit as people type it: a name with its unit and a whole
// number, off_within_s=900, or a known name and a value with a unit, such as
// off_within=15min, auto_on=40%, average=1fc, max_to_min=40.
func ParseLimit(text string) (name string, value int64, err error) {
	name, given, ok := strings.Cut(text, "=")
	if !ok || events.CheckName(strings.TrimSpace(name)) != nil {
		return "", 0, fmt.Errorf("%q is no limit; write it as off_within=15min", text)
	}
	name, given = strings.TrimSpace(name), strings.TrimSpace(given)
	if n, err := strconv.ParseInt(given, 10, 64); err == nil {
		name, told := canonical(name, n)
		if math.Abs(told) > mostTold {
			return "", 0, fmt.Errorf("%q is more than a limit can be", text)
		}
		return name, int64(told), wholeName(name)
	}
	full, known := stems[name]
	ms := measures(given)
	if !known || len(ms) != 1 || !(Limit{Name: full}).takes(ms[0].of) || ms[0].words != strings.ToLower(given) {
		return "", 0, fmt.Errorf("%q is no limit that is known here; write off_within=15min, auto_on=40%%, override_within=2h, average=1fc, minimum=0.1fc or max_to_min=40, or a name that ends in its unit and a whole number", text)
	}
	return full, int64(math.Round(ms[0].value)), nil
}

// stems are the known limits without their units.
var stems = map[string]string{
	"off_within": OffWithin, "auto_on": AutoOn, "override_within": OverrideWithin,
	"average": Average, "minimum": Minimum, "max_to_min": MaxToMin,
}

// canonical turns a known limit in another unit into the one that is judged by:
// off_within_min into off_within_s.
func canonical(name string, value int64) (string, float64) {
	for stem, full := range stems {
		unit, ok := strings.CutPrefix(name, stem+"_")
		u, known := units[unit]
		if ok && known && (Limit{Name: full}).takes(u.of) {
			return full, math.Round(float64(value) * u.factor)
		}
	}
	return name, float64(value)
}

// wholeName refuses a name that lacks its unit: nobody could tell later what the
// number was.
func wholeName(name string) error {
	if full := stems[name]; full != "" && full != name {
		return fmt.Errorf("say in which unit %s is, as in %s=…, or with the number", name, full)
	}
	return nil
}
