package checks

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// sensor is one occupant sensor as the draw sees it.
type sensor struct {
	tag    events.Tag
	first  events.Tag // the first it was known by: a new name is no new draw
	alike  alike
	passed bool // its test is passed
	failed bool // it ever failed
}

// alike is what sensors have in common that one may stand for another.
type alike struct {
	test     events.TestKind
	maker    string
	model    string
	text     string
	geometry string
}

// unknown says whether it is not known of what sort its sensors are, or in what
// space: then none can stand for another.
func (a alike) unknown() bool { return a.kind() == "" || a.geometry == "" }

func (a alike) kind() string {
	words := slices.DeleteFunc([]string{a.maker, a.model, a.text}, func(s string) bool { return s == "" })
	return strings.Join(words, " ")
}

// draw applies the rule to all occupant sensors of a site.
func draw(rule Rule, site events.SiteID, all []sensor) []Group {
	groups := map[alike][]sensor{}
	for _, x := range all {
		groups[x.alike] = append(groups[x.alike], x)
	}
	out := make([]Group, 0, len(groups))
	for a, members := range groups {
		out = append(out, a.draw(rule, site, members, int64(len(all)) <= rule.All))
	}
	slices.SortFunc(out, func(a, b Group) int {
		return cmp.Or(cmp.Compare(slices.Index(events.TestKinds, a.Test), slices.Index(events.TestKinds, b.Test)),
			events.ByName(a.Type, b.Type), events.ByName(a.Geometry, b.Geometry), events.ByName(a.Devices[0], b.Devices[0]))
	})
	return out
}

// draw takes the sample of one group: those with the lowest lots.
func (a alike) draw(rule Rule, site events.SiteID, members []sensor, every bool) Group {
	lots := make(map[events.Tag][]byte, len(members))
	for _, x := range members {
		lots[x.tag] = a.lot(site, x.first)
	}
	slices.SortFunc(members, func(x, y sensor) int {
		return cmp.Or(bytes.Compare(lots[x.tag], lots[y.tag]), events.ByName(x.tag, y.tag))
	})
	g := Group{Test: a.test, Type: a.kind(), Geometry: a.geometry}
	n := len(members)
	if !every && !a.unknown() {
		n = rule.share(len(members))
	}
	sampled, failed := n, 0
	for i, x := range members {
		g.Devices = append(g.Devices, x.tag)
		if i < n {
			g.Drawn = append(g.Drawn, x.tag)
		}
		if x.passed {
			g.Passed = append(g.Passed, x.tag)
		}
		if x.failed {
			g.Failed = append(g.Failed, x.tag)
			failed++
			if i >= n {
				sampled++ // it counts as if it had been drawn
			}
		}
	}
	if n < len(members) && rule.widens(failed, sampled) {
		g.Widened, g.Drawn = true, slices.Clone(g.Devices)
	}
	g.Words = a.words(rule, g, every)
	for _, tags := range [][]events.Tag{g.Devices, g.Drawn, g.Passed, g.Failed} {
		slices.SortFunc(tags, events.ByName)
	}
	return g
}

// share is how many of n are drawn: so many percent rounded up, so at least one.
func (r Rule) share(n int) int { return (n*int(r.Share) + 99) / 100 }

// widens says whether so many of a sample failed that the rest is to be tested.
func (r Rule) widens(failed, sampled int) bool {
	return failed > 0 && int64(failed)*100 >= r.Widen*int64(sampled)
}

// lot is what a sensor draws in its group: nobody chooses it, and everybody who
// knows the schedule comes to the same.
func (a alike) lot(site events.SiteID, tag events.Tag) []byte {
	sum := sha256.Sum256([]byte(strings.Join([]string{string(site), string(a.test), a.maker, a.model, a.text, a.geometry, string(tag)}, "\x00")))
	return sum[:]
}

func (a alike) words(r Rule, g Group, every bool) string {
	switch {
	case every:
		return "every sensor: the site has no more than " + count(int(r.All), "sensor")
	case a.unknown():
		return "every sensor: the schedule does not tell their " + a.missing() + ", so none can stand for another; import it with both and a sample will do"
	case g.Widened:
		return "every sensor: " + percent(r.Widen) + " or more of the sample failed"
	}
	return count(len(g.Drawn), "sensor") + " of " + count(len(g.Devices), "") + ", drawn by lot"
}

func (a alike) missing() string {
	switch {
	case a.kind() == "" && a.geometry == "":
		return "type and the geometry of their spaces"
	case a.kind() == "":
		return "type"
	}
	return "space's geometry"
}

// testsOfSensor are the tests that a sensor asks for, by the words of its type; see the package.
func testsOfSensor(d *projection.Device) []events.TestKind {
	if d.Is != events.Sensor {
		return nil
	}
	text := strings.ToLower(d.Type)
	says := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(text, w) })
	}
	var out []events.TestKind
	switch {
	case says("vacancy", "absence"):
		out = append(out, events.TestVacancy)
	case says("occupancy", "presence", "motion"), !says("daylight", "photocell"):
		out = append(out, events.TestOccupancy)
	}
	if says("daylight", "photocell") {
		out = append(out, events.TestDaylight)
	}
	return out
}
