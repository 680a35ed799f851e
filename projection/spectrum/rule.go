package spectrum

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// rules are the channels that may be planned.
type rules struct {
	allowed []int // rising
	last    bool  // 26 is among them, and to be had only where nothing else is left
	usual   int
}

// weak is the channel that often needs reduced power in North America, being next
// to the upper edge of the band (seen in a secondary text).
const weak = 26

func isNorthAmerica(region string) bool {
	return slices.Contains([]string{"US", "USA", "CA", "CAN", "NA", "NORTH AMERICA"}, strings.ToUpper(strings.TrimSpace(region)))
}

func newRules(s *projection.Site) (r rules, notes []string) {
	text := s.Settings.Value(events.AllowedChannels)
	allowed, err := events.ParseChannels(text)
	if err != nil { // a log of a later version may say it in other words
		set, _ := events.SettingFor(events.AllowedChannels)
		allowed, _ = events.ParseChannels(set.Default)
		notes = append(notes, fmt.Sprintf("allowed_channels %q is not understood: %v; %s stand in", text, err, set.Default))
	}
	r = rules{allowed: allowed, usual: int(s.Settings.Int(events.UsualChannel))}
	region := s.Settings.Value(events.Region)
	r.last = isNorthAmerica(region) && slices.Contains(allowed, weak)
	return r, notes
}

// open lists the channels that are planned for at first: without the weak one, if
// there is any other.
func (r rules) open() []int {
	if !r.last || len(r.allowed) == 1 {
		return r.allowed
	}
	return slices.DeleteFunc(slices.Clone(r.allowed), func(c int) bool { return c == weak })
}

// stays says whether a system may not change channel, and which it is on. Where
// devices are paired and the log has no channel, it is taken to be the usual one.
func (r rules) stays(x *system, o Options) (channel int, stays bool) {
	if x.paired == 0 || o.Move {
		return 0, false
	}
	return r.present(x), true
}

// present is a system's channel, or the one it is taken to be on.
func (r rules) present(x *system) int {
	if x.now != 0 {
		return x.now
	}
	return r.usual
}

// channels lists every number that comes up: those allowed, those in use and the
// usual one.
func (r rules) channels(list []*system) []int {
	out := append(slices.Clone(r.allowed), r.usual)
	for _, x := range list {
		out = append(out, r.present(x))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func isMesh(channel int) bool { return channel >= 11 && channel <= 26 }

func listed[T any](list []T) string {
	var b strings.Builder
	for i, x := range list {
		switch {
		case i == 0:
		case i == len(list)-1:
			b.WriteString(" and ")
		default:
			b.WriteString(", ")
		}
		fmt.Fprint(&b, x)
	}
	return b.String()
}

// counted is a number with its noun.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
