package handover

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

var states = []projection.State{projection.Listed, projection.Fitted, projection.Paired, projection.Settled, projection.Pushed}

// summary is the job in numbers, and what of it is not finished.
func (c *composer) summary() Part {
	return Part{
		ID:    "summary",
		Title: "In short",
		Lead:  "What there is, how far it has come, and what is not finished.",
		Blocks: []Block{
			Facts{c.numbers()},
			Heading{Text: "Not finished"},
			Table{
				Caption: "What is not finished at this moment",
				Columns: []Column{{"What", 3, false}, {"How many", 1, true}, {"Which", 5, false}},
				Rows:    c.unfinished(),
				None:    "As far as this log tells, nothing is left to do.",
			},
		},
	}
}

func (c *composer) numbers() [][2]string {
	s := c.site
	ready, hubs, struck := 0, 0, 0
	for i := range s.Hubs {
		switch h := &s.Hubs[i]; {
		case h.Struck != nil:
			continue
		case h.Ready != nil && h.Lost == nil:
			ready++
		}
		hubs++
	}
	by := map[projection.State]int{}
	for i := range s.Devices {
		if s.Devices[i].Struck != nil {
			struck++
			continue
		}
		by[s.Devices[i].State]++
	}
	var devices []string
	for _, st := range states {
		if by[st] > 0 {
			devices = append(devices, fmt.Sprintf("%d %s", by[st], st))
		}
	}
	return [][2]string{
		{"Hubs", totalOf(hubs, fmt.Sprintf("%d ready", ready))},
		{"Devices", totalOf(len(s.Devices)-struck, strings.Join(devices, ", ")) + also(struck, "taken off the schedule")},
		{"Functional tests", c.testNumbers()},
		{"Devices that are to answer their hub", c.answerNumbers()},
		{"Open faults", c.faultNumbers()},
		{"Holds that stand", number(len(s.Holds))},
		{"Conflicts that stand", number(len(c.conflicts))},
		{"Signatures", number(len(s.Signed))},
	}
}

func totalOf(n int, parts string) string {
	if n == 0 {
		return "none"
	}
	if parts == "" {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d (%s)", n, parts)
}

// number is a count in a cell of its own.
func number(n int) string { return totalOf(n, "") }

func also(n int, words string) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("; %d more %s", n, words)
}

func (c *composer) faultNumbers() string {
	by, n := map[events.Severity]int{}, 0
	for _, f := range c.site.Faults {
		if f.Open() {
			by[f.Severity]++
			n++
		}
	}
	var words []string
	for _, v := range events.Severities {
		if by[v] > 0 {
			words = append(words, fmt.Sprintf("%d %s", by[v], v))
		}
	}
	return totalOf(n, strings.Join(words, ", "))
}

// unfinished lists what is left, in the order of the job.
func (c *composer) unfinished() [][]string {
	var out [][]string
	add := func(what string, n int, which string) {
		if n > 0 {
			out = append(out, []string{what, fmt.Sprint(n), which})
		}
	}
	devices := func(what string, holds func(d *projection.Device) bool) {
		tags := c.devicesThat(func(d *projection.Device) bool { return d.Struck == nil && holds(d) })
		add(what, len(tags), c.tags(tags))
	}
	has := func(f projection.Flag) func(d *projection.Device) bool {
		return func(d *projection.Device) bool { return d.Has(f) }
	}
	wants := func(n projection.Need) func(d *projection.Device) bool {
		return func(d *projection.Device) bool { return d.Wants(n) }
	}
	unready := c.unready()
	add("Hubs that are not ready", len(unready), strings.Join(unready, ", "))
	devices("Devices not paired", wants(projection.NeedPair))
	devices("Devices that refused", has(projection.FlagRefused))
	devices("Devices skipped", has(projection.FlagSkipped))
	devices("Paired, and no serial is known", wants(projection.NeedSerial))
	devices("Pairings not yet in the design file", has(projection.FlagNotMerged))
	devices("Devices that need a push", wants(projection.NeedPush))
	devices("Devices that missed their last push", has(projection.FlagMissed))
	devices("Took a push, and nobody saw the hub hear them since", wants(projection.NeedCheck))
	devices("Without power, as far as known", has(projection.FlagDark))
	devices("Without a way to their hub", c.answers(mesh.No))
	devices("Paired, and nobody knows whether they have a way to their hub", c.answers(mesh.Unknown))
	c.owed(add)
	c.standing(add)
	return out
}

// standing lists what is open of the site as a whole.
func (c *composer) standing(add adder) {
	open, on := 0, []string(nil)
	for _, f := range c.site.Faults {
		if f.Open() {
			open++
			on = append(on, c.subject(f.Of))
		}
	}
	add("Open faults", open, strings.Join(unique(on), ", "))
	on = nil
	for _, h := range c.site.Holds {
		on = append(on, c.subject(h.Of))
	}
	add("Holds that stand", len(c.site.Holds), strings.Join(unique(on), ", "))
	add("Conflicts that stand", len(c.conflicts), "see “Faults, holds and conflicts”")
	add("Entries that do not count: quarantined or not understood", len(c.site.Quarantined)+len(c.site.NotUnderstood), "see “Faults, holds and conflicts”")
	if _, ok := c.signedOver(); !ok {
		add("A signature for the whole site", 1, "nobody has signed yet")
	}
}

func (c *composer) unready() []string {
	var out []string
	for i := range c.site.Hubs {
		if h := &c.site.Hubs[i]; h.Struck == nil && (h.Ready == nil || h.Lost != nil) {
			out = append(out, said(h.Hub))
		}
	}
	return out
}

func (c *composer) answers(a mesh.Answer) func(d *projection.Device) bool {
	return func(d *projection.Device) bool {
		r, ok := c.Net.Reach(d.Device)
		return ok && r.Answer == a
	}
}

// unique keeps the first of each, in order.
func unique(words []string) []string {
	had := map[string]bool{}
	var out []string
	for _, w := range words {
		if !had[w] {
			had[w] = true
			out = append(out, w)
		}
	}
	return out
}
