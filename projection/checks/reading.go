package checks

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// LimitsOf lists what a test of a room or device is held against: what was planned
// for its room, and the site's settings for the rest.
func LimitsOf(s *projection.Site, of events.Subject, test events.TestKind) []Limit {
	room := events.RoomID(of.ID)
	if tag, ok := of.Tag(); ok {
		room = ""
		if d, known := s.Device(tag); known {
			room = d.Room
		}
	}
	var plan *projection.Plan
	for i := range s.Plans {
		if p := &s.Plans[i]; p.Room == room && p.Test == test {
			plan = p
		}
	}
	return limits(s, test, plan)
}

// LimitWords writes limits and their sources on one line; "" for none.
func LimitWords(ls []Limit) string {
	out := make([]string, len(ls))
	for i, l := range ls {
		out[i] = l.Words + ", " + l.Source
	}
	return strings.Join(out, "; ")
}

// quantity is what a reading or a limit is of.
type quantity string

const (
	duration   quantity = "time"
	level      quantity = "level"
	lightLevel quantity = "light"
	ratio      quantity = "ratio"
)

// measure is one number that a reading tells.
type measure struct {
	of    quantity
	value float64 // in s, %, cfc, or as it is
	words string
	near  string // the words before it, or after it where there are none
}

var (
	numbers = regexp.MustCompile(`(\d+(?:[.,]\d+)?)\s*(ms|sec(?:onds?)?|s|min(?:utes?)?|h|hours?|%|fc|lx|lux|:\s*1)(?:[^\pL\d]|$)`)
	units   = map[string]struct {
		of     quantity
		factor float64
	}{
		"ms": {duration, 0.001}, "s": {duration, 1}, "sec": {duration, 1}, "second": {duration, 1}, "seconds": {duration, 1},
		"min": {duration, 60}, "minute": {duration, 60}, "minutes": {duration, 60}, "h": {duration, 3600}, "hour": {duration, 3600}, "hours": {duration, 3600},
		"%": {level, 1}, "fc": {lightLevel, 100}, "lx": {lightLevel, 1000 / milliLuxPerCentiFootCandle}, "lux": {lightLevel, 1000 / milliLuxPerCentiFootCandle},
		":1": {ratio, 1},
	}
)

// mostTold is the largest whole number that every device tells from its
// neighbours; beyond it they might disagree on what was read.
const mostTold = 1<<53 - 1

// measures finds the numbers with a unit in a reading, such as "off after 14 min".
func measures(reading string) []measure {
	var out []measure
	text, from := strings.ToLower(reading), 0
	found := numbers.FindAllStringSubmatchIndex(text, -1)
	for i, at := range found {
		unit := units[strings.ReplaceAll(text[at[4]:at[5]], " ", "")]
		v, err := strconv.ParseFloat(strings.ReplaceAll(text[at[2]:at[3]], ",", "."), 64)
		if err != nil || v*unit.factor > mostTold {
			continue
		}
		near, to := strings.Trim(text[from:at[2]], " ,;"), len(text)
		if i+1 < len(found) {
			to = found[i+1][2]
		}
		if near == "" { // "1.2 fc average"
			near = text[at[5]:to]
		}
		out = append(out, measure{unit.of, v * unit.factor, text[at[2]:at[5]], near})
		from = at[5]
	}
	return out
}

// Beyond says which limits a reading goes beyond, as far as its numbers tell; it
// is empty where they keep within them, or tell nothing. A light level is held
// against the average or the minimum that the words before it name.
func Beyond(ls []Limit, reading string) []string {
	var out []string
	for _, m := range measures(reading) {
		for _, l := range ls {
			if l.passedBy(m) {
				out = append(out, fmt.Sprintf("%s is beyond the limit: %s (%s)", m.words, l.Words, l.Source))
			}
		}
	}
	return out
}

// takes says whether a limit is one of such numbers.
func (l Limit) takes(q quantity) bool {
	switch l.Name {
	case OffWithin, OverrideWithin:
		return q == duration
	case AutoOn:
		return q == level
	case Average, Minimum:
		return q == lightLevel
	case MaxToMin:
		return q == ratio
	}
	return false
}

// measures says whether a number in a text is to be held against the limit.
func (l Limit) measures(m measure) bool {
	says := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(m.near, w) })
	}
	switch l.Name {
	case AutoOn:
		return m.of == level && !says("down", "dimmed")
	case Average:
		return m.of == lightLevel && says("average", "mean", "avg")
	case Minimum:
		return m.of == lightLevel && says("least", "lowest", "min", "darkest") && !says("average", "mean", "avg")
	}
	return l.takes(m.of)
}

// passedBy says whether a number goes beyond the limit.
func (l Limit) passedBy(m measure) bool {
	if l.Name == Average || l.Name == Minimum {
		return l.measures(m) && m.value < float64(l.Value)
	}
	return l.measures(m) && m.value > float64(l.Value)
}
