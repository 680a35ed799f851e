package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

type statusCmd struct {
	momentFlags
	Floor string `help:"Only devices on this floor."`
	Hub   string `help:"Only this hub and its devices."`
	Needs string `help:"Only devices that need this: resolve, pair, serial, push, check, mend."`
	All   bool   `help:"List every device, not only those that want something."`
}

func (statusCmd) Help() string {
	return "Example: pairwalk status --at \"yesterday 17:00\" --known-by Bo\n\nWithout --at it is as of the last entry known here."
}

func (c *statusCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		s := m.At(moment)
		doc := member.StatusOf(s)
		if err := c.known(doc); err != nil {
			return err
		}
		doc.Devices = slices.DeleteFunc(doc.Devices, c.hidden)
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.status(s, doc, c.All || c.Floor+c.Hub+c.Needs != "")
		a.picturesAway(m.Pictures(moment))
		return nil
	})
}

func (c *statusCmd) hidden(d member.StatusDevice) bool {
	return c.Floor != "" && d.Floor != c.Floor || c.Hub != "" && d.Hub != c.Hub || c.Needs != "" && !slices.Contains(d.Needs, c.Needs)
}

// known refuses a filter that names nothing, so that nobody takes a slip of the
// hand for good news.
func (c *statusCmd) known(doc member.StatusAnswer) error {
	has := func(want string, of func(member.StatusDevice) string) bool {
		return want == "" || slices.ContainsFunc(doc.Devices, func(d member.StatusDevice) bool { return of(d) == want })
	}
	needs := []projection.Need{projection.NeedResolve, projection.NeedPair, projection.NeedSerial, projection.NeedPush, projection.NeedCheck, projection.NeedMend}
	hub := slices.ContainsFunc(doc.Hubs, func(h member.StatusHub) bool { return h.ID == c.Hub })
	switch {
	case !has(c.Floor, func(d member.StatusDevice) string { return d.Floor }):
		return fmt.Errorf("no device is on a floor %q at that moment", c.Floor)
	case c.Hub != "" && !hub:
		return fmt.Errorf("no hub %q at that moment", c.Hub)
	case c.Needs != "" && !slices.Contains(needs, projection.Need(c.Needs)):
		return usef("--needs %q is none of resolve, pair, serial, push, check, mend", c.Needs)
	}
	return nil
}

// status prints a site for people: hubs, counts, then what wants attention.
func (a *app) status(s *projection.Site, doc member.StatusAnswer, all bool) {
	name := doc.Site.Name
	if name == "" {
		name = "(not heard of yet: take in a bundle)"
	}
	if doc.Practice {
		name += "   PRACTICE SITE, a made-up job"
	}
	a.printf("%s\nas of %s, as known to %s\n\n", a.bold(name), short(doc.Moment.When), doc.Moment.Known)
	a.hubs(doc)
	a.counts(doc)
	a.deviceTable(doc.Devices, all)
	a.trouble(doc)
	if hasEmergency(doc.Devices) {
		a.printf("\n%s\n", cautionEmergency)
	}
}

func short(rfc string) string {
	if len(rfc) < 19 {
		return rfc
	}
	return strings.Replace(rfc[:16], "T", " ", 1)
}

func (a *app) hubs(doc member.StatusAnswer) {
	t := table{head: []string{"hub", "ready", "channel", "program", "listed", "paired", "pushed"}}
	for _, h := range doc.Hubs {
		ready := "yes"
		if !h.Ready {
			ready = "no: " + h.Why
		}
		var channels []string
		for _, r := range sorted(h.Channel) {
			channels = append(channels, fmt.Sprintf("%s %d", r, h.Channel[r]))
		}
		t.add(h.ID, ready, dash(strings.Join(channels, ", ")), dash(h.Program), fmt.Sprint(h.Listed), fmt.Sprint(h.Paired), fmt.Sprint(h.Pushed))
	}
	a.table(&t)
}

func (a *app) counts(doc member.StatusAnswer) {
	states := map[string]int{}
	for _, d := range doc.Devices {
		states[d.State]++
	}
	var parts []string
	for _, x := range []projection.State{projection.Listed, projection.Fitted, projection.Paired, projection.Settled, projection.Pushed} {
		if n := states[string(x)]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, x))
		}
	}
	a.printf("\n%s: %s\n", plural(len(doc.Devices), "device"), dash(strings.Join(parts, ", ")))
}

// deviceTable lists devices; unless all are wanted, only those with a flag that
// tells of trouble.
func (a *app) deviceTable(devices []member.StatusDevice, all bool) {
	t := table{head: []string{"device", "hub", "kind", "state", "since", "by", "serial", "needs", "marks"}}
	for _, d := range devices {
		if !all && len(d.Flags) == 0 {
			continue
		}
		t.add(d.Tag, d.Hub, d.Kind, d.State, short(d.Since), d.By, dash(d.Serial), strings.Join(d.Needs, " "), strings.Join(d.Flags, " "))
	}
	if len(t.rows) > 0 {
		a.println()
	}
	a.table(&t)
	if !all && len(devices) > len(t.rows) {
		a.println(a.dim(fmt.Sprintf("(%s without a mark not shown; --all lists them)", plural(len(devices)-len(t.rows), "device"))))
	}
}

func (a *app) trouble(doc member.StatusAnswer) {
	for _, c := range doc.Conflicts {
		a.printf("\n%s %s\n  stands meanwhile: %s\n  settle it: %s conflicts shows how\n", a.warn("conflict:"), c.Why, c.Stands, a.name)
	}
	for _, f := range doc.Faults {
		if f.Open {
			a.printf("\n%s %s, %s: %s (%s)\n", a.warn("fault:"), f.Subject, f.Severity, f.Symptom, f.ID[len(f.ID)-6:])
		}
	}
	for _, h := range doc.Holds {
		a.printf("\n%s %s: %s %s\n  %s\n", a.warn("hold:"), h.Subject, h.Why, h.Who, cautionHold)
	}
	if n := len(doc.Anomalies); n > 0 {
		a.printf("\nmaking no sense where they stand: %s; see: %s conflicts\n", plural(n, "entry"), a.name)
	}
	if doc.Quarantined > 0 {
		a.printf("%s in quarantine: kept, and not counted.\n", plural(doc.Quarantined, "entry"))
	}
	if doc.NotUnderstood > 0 {
		a.printf("%s of a kind this version does not know: kept and passed on.\n", plural(doc.NotUnderstood, "entry"))
	}
}

func hasEmergency(devices []member.StatusDevice) bool {
	return slices.ContainsFunc(devices, func(d member.StatusDevice) bool { return d.Emergency })
}

func dash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func sorted[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

type showCmd struct {
	Subject string `arg:"" help:"A device, hub, circuit, room or floor."`
	momentFlags
}

func (showCmd) Help() string { return "Example: pairwalk show 2-114 --at 14:05" }

func (c *showCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		about, err := m.Subject(c.Subject)
		if err != nil {
			return err
		}
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		doc := m.Show(moment, about)
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.printf("%s\nas of %s, as known to %s\n\n", a.bold(about.Words()), short(doc.Moment.When), doc.Moment.Known)
		a.subject(doc)
		return nil
	})
}

func (a *app) subject(doc member.SubjectAnswer) {
	switch {
	case doc.Device != nil:
		d := doc.Device
		a.printf("%s on %s, %s radio, %s. Needs: %s. Marks: %s.\n", d.Kind, d.Hub, d.Radio, d.State, dash(strings.Join(d.Needs, ", ")), dash(strings.Join(d.Flags, ", ")))
		if d.Emergency {
			a.println(cautionEmergency)
		}
	case doc.Hub != nil:
		a.hubs(member.StatusAnswer{Hubs: []member.StatusHub{*doc.Hub}})
	case doc.Circuit != nil && doc.Circuit.Off:
		a.println("off, says the log. " + cautionPower)
	}
	if r := doc.Reach; r != nil {
		a.printf("path home: %s (%s): %s\n", r.OK, r.Basis, r.Why)
	}
	for _, p := range doc.Strands {
		if len(p.Strands) > 0 {
			a.printf("if it goes, %s on %s lose their path: %s\n", plural(len(p.Strands), "other device"), p.Hub, listTags(p.Strands))
		}
	}
	t := table{head: []string{"fact", "when", "by", "entry"}}
	for _, c := range doc.Causes {
		t.add(c.Fact, short(c.At), c.By, c.Words)
	}
	if len(t.rows) > 0 {
		a.println()
	}
	a.table(&t)
	if len(doc.Devices) > 0 {
		a.deviceTable(doc.Devices, true)
	}
	if len(doc.Pictures) > 0 {
		a.println()
		a.pictureTable(doc.Pictures)
	}
	a.trouble(member.StatusAnswer{Conflicts: doc.Conflicts, Faults: doc.Faults, Holds: doc.Holds})
}

type historyCmd struct {
	Subject string `arg:"" optional:"" help:"A device, hub, circuit, room, floor or member; leave out for all."`
	momentFlags
	Last int `help:"Only the last so many." placeholder:"N"`
}

func (historyCmd) Help() string { return "Example: pairwalk history 2-114" }

func (c *historyCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		var about events.Subject
		if c.Subject != "" {
			var err error
			if about, err = m.Subject(c.Subject); err != nil {
				return err
			}
		}
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		said := m.History(moment, about)
		if c.Last > 0 && len(said) > c.Last {
			said = said[len(said)-c.Last:]
		}
		s := m.Now()
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "entries": member.HistoryOf(s, said)})
		}
		a.history(s, said)
		return nil
	})
}

func (a *app) history(s *projection.Site, said []member.Said) {
	t := table{head: []string{"id", "when", "by", "what"}}
	for _, x := range said {
		what := member.Words(s, x.Event)
		if x.Withdrawn != "" {
			what += "   [withdrawn: " + x.Withdrawn + "]"
		}
		if x.Quarantined != "" {
			what += "   [not counted: " + x.Quarantined + "]"
		}
		when := short(x.At.Time().In(s.Location()).Format("2006-01-02T15:04:05.000Z07:00"))
		if x.Event.When().Known {
			when += " (typed)"
		} else if !x.Placed {
			when += " (clock not compared)"
		}
		t.add(entryID(x.Event), when, x.By, what)
	}
	if len(t.rows) == 0 {
		a.println("No entry.")
	}
	a.table(&t)
}
