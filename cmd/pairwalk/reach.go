package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/syncd/member"
)

type reachCmd struct {
	momentFlags
	Subject   []string `arg:"" optional:"" help:"Only these devices, hubs, rooms or floors."`
	Planned   bool     `help:"As if every device on the schedule were paired and had power: does the plan hold?"`
	Without   []string `help:"As if this device, circuit or hub were gone." placeholder:"TAG|CIRCUIT" sep:"none"`
	WithRelay []string `help:"As if one more mains-fed mesh device sat there; metres, as x,y,z or HUB:x,y,z." placeholder:"X,Y,Z" sep:"none"`
	Advise    bool     `help:"Say where one more relay would help most."`
	Draw      string   `help:"Draw this floor." placeholder:"FLOOR"`
}

func (reachCmd) Help() string {
	return "Example: pairwalk reach --planned --without C3-7\n\n" +
		"Paired is not reachable: a device needs a path home through devices that are paired and have power. " +
		"A path is only told where something shows it: it was heard, a link was measured, or the places of the devices let one be predicted. " +
		"Where nothing does, the answer is unknown."
}

func (c *reachCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		only, err := c.only(m)
		if err != nil {
			return err
		}
		w, err := c.supposed(m)
		if err != nil {
			return err
		}
		doc, err := m.Reach(moment, w)
		if err != nil {
			return err
		}
		s := m.At(moment)
		all := doc.Devices
		doc.Devices = slices.DeleteFunc(slices.Clone(all), func(d member.ReachDevice) bool { return !within(s, only, d) })
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		if c.Draw != "" {
			if err := a.drawReach(s, all, doc.SinglePoints, events.FloorID(c.Draw), c.Planned); err != nil {
				return err
			}
		}
		a.reach(doc, len(only) > 0, c.Advise)
		return nil
	})
}

func (c *reachCmd) only(m *member.Member) ([]events.Subject, error) {
	var out []events.Subject
	for _, text := range c.Subject {
		if tags, err := m.Tags(text); err == nil {
			for _, t := range tags {
				out = append(out, events.Device(t))
			}
			continue
		}
		x, err := m.Subject(text)
		if err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, nil
}

// within says whether a device is one of those asked for; all are where none is.
func within(s *projection.Site, only []events.Subject, d member.ReachDevice) bool {
	return len(only) == 0 || slices.ContainsFunc(only, func(x events.Subject) bool {
		dev, known := s.Device(events.Tag(d.Tag))
		switch x.Class {
		case events.OfDevice:
			return x.ID == d.Tag
		case events.OfHub:
			return x.ID == d.Hub
		case events.OfRoom:
			return known && string(dev.Room) == x.ID
		case events.OfFloor:
			return known && string(dev.Floor) == x.ID
		case events.OfCircuit:
			return known && string(dev.Circuit) == x.ID
		}
		return false
	})
}

func (c *reachCmd) supposed(m *member.Member) (member.Supposed, error) {
	w := member.Supposed{What: mesh.What{Planned: c.Planned}, Advise: c.Advise}
	for _, text := range c.Without {
		x, err := m.Subject(text)
		if err != nil {
			return w, err
		}
		w.Without = append(w.Without, x)
	}
	for _, text := range c.WithRelay {
		r, err := relayAt(text)
		if err != nil {
			return w, err
		}
		w.Relays = append(w.Relays, r)
	}
	return w, nil
}

// relayAt reads x,y,z or HUB:x,y,z in metres.
func relayAt(text string) (mesh.Relay, error) {
	var r mesh.Relay
	at := text
	if i := strings.LastIndex(text, ":"); i >= 0 {
		r.Hub, at = events.HubID(text[:i]), text[i+1:]
	}
	parts := strings.Split(at, ",")
	into := []*int64{&r.Place.X, &r.Place.Y, &r.Place.Z}
	for i, part := range parts {
		v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil || len(parts) != len(into) || v != v || v > 1e6 || v < -1e6 {
			return r, usef("--with-relay %q is not a place in metres such as 12.5,3,2.7 or H2:12.5,3,2.7", text)
		}
		*into[i] = int64(v*1000 + half(v))
	}
	return r, nil
}

func half(v float64) float64 {
	if v < 0 {
		return -0.5
	}
	return 0.5
}

// reach prints who has a path: the answer in a line, what breaks it, then the
// devices.
func (a *app) reach(doc member.ReachAnswer, all, advised bool) {
	a.printf("as of %s, as known to %s\n", short(doc.Moment.When), doc.Moment.Known)
	for _, x := range doc.Supposed {
		a.printf("supposing: %s\n", x)
	}
	a.printf("links: %s\n", doc.Model)
	for _, n := range doc.Notes {
		a.println(a.dim("note: " + n))
	}
	a.reachCounts(doc)
	a.islands(doc)
	a.change(doc)
	a.singlePoints(doc)
	switch r := doc.Relay; {
	case r != nil:
		a.printf("\none more relay helps most: %s%s\n", r.Why, onFloor(r.Floor))
	case advised:
		a.println("\nNo place was found where one more relay would help.")
	}
	a.reachTable(doc, all)
	for _, c := range doc.Cautions {
		a.printf("\n%s\n", a.warn(c))
	}
}

// islands prints the groups without a path home. A doubtful one of a single device
// is in the table of devices.
func (a *app) islands(doc member.ReachAnswer) {
	for _, x := range doc.Islands {
		switch {
		case x.Sure:
			a.printf("\n%s on %s: %s\n    %s\n", a.warn("island"), x.Hub, listTags(x.Devices), x.Why)
		case len(x.Devices) > 1:
			a.printf("\nperhaps an island on %s: %s\n    %s\n", x.Hub, listTags(x.Devices), x.Why)
		}
	}
}

func onFloor(f string) string {
	if f == "" {
		return ""
	}
	return " (floor " + f + ")"
}

func (a *app) reachCounts(doc member.ReachAnswer) {
	n := map[string]int{}
	for _, d := range doc.Devices {
		n[d.OK]++
	}
	if len(doc.Devices) == 0 {
		a.println("\nNothing is paired here at that moment, so there is nothing to reach; --planned asks of the whole schedule.")
		return
	}
	a.printf("\n%s: %d with a path, %d without, %d unknown\n", plural(len(doc.Devices), "device"), n[string(mesh.Yes)], n[string(mesh.No)], n[string(mesh.Unknown)])
}

func (a *app) change(doc member.ReachAnswer) {
	c := doc.Change
	if c == nil {
		return
	}
	if len(c.Lost)+len(c.Gained)+len(c.Weaker)+len(c.Shaken)+len(c.Doubtful) == 0 {
		a.println("\nNobody's path would change.")
	}
	for _, x := range []struct {
		words string
		tags  []string
	}{{"would no longer have a sure path", c.Lost}, {"would gain a sure path", c.Gained}, {"would keep a sure path, with less margin", c.Weaker}, {"would have no second path beside it", c.Shaken}, {"were observed to have a path, which may be gone", c.Doubtful}, {"would have no power", c.Dark}} {
		if len(x.tags) > 0 {
			a.printf("\n%d %s: %s\n", len(x.tags), x.words, listTags(x.tags))
		}
	}
}

// singlePoints lists what others hang on, those that most hang on first.
func (a *app) singlePoints(doc member.ReachAnswer) {
	const most = 10
	points := slices.Clone(doc.SinglePoints)
	slices.SortStableFunc(points, func(x, y member.ReachPoint) int { return len(y.Strands) - len(x.Strands) })
	t := table{head: []string{"if it goes", "hub", "these lose their path"}}
	for _, p := range points[:min(most, len(points))] {
		if len(p.Strands) > 0 {
			t.add(p.Kind+" "+p.ID, p.Hub, fmt.Sprintf("%d: %s", len(p.Strands), listTags(p.Strands)))
		}
	}
	if len(t.rows) > 0 {
		a.println()
		a.table(&t)
		if n := len(points) - most; n > 0 {
			a.println(a.dim(fmt.Sprintf("(and %d more; --json lists them)", n)))
		}
	}
}

// listTags names a dozen, and counts the rest.
func listTags(tags []string) string {
	const most = 12
	if len(tags) <= most {
		return strings.Join(tags, ", ")
	}
	return strings.Join(tags[:most], ", ") + fmt.Sprintf(" and %d more", len(tags)-most)
}

// reachTable lists devices; unless all are wanted, those without a sure path. Ones
// with no path known for the same reason share a row.
func (a *app) reachTable(doc member.ReachAnswer, all bool) {
	t := table{head: []string{"device", "hub", "path", "basis", "hops", "margin dB", "holds", "two ways", "why"}}
	shown := 0
	row := map[string]int{}
	var alike [][]string
	for _, d := range doc.Devices {
		if !all && d.OK == string(mesh.Yes) {
			continue
		}
		shown++
		key := strings.Join([]string{d.Hub, d.OK, d.Basis, d.Why}, "\x00")
		if i, had := row[key]; had && d.Hops == 0 {
			alike[i] = append(alike[i], d.Tag)
			continue
		}
		row[key] = len(t.rows)
		alike = append(alike, []string{d.Tag})
		t.add("", d.Hub, d.OK, d.Basis, hops(d.Hops), marginWords(d.Margin), chanceWords(d.Probability), twoWays(d.Disjoint), d.Why)
	}
	for i, tags := range alike {
		if t.rows[i][0] = tags[0]; len(tags) > 1 {
			t.rows[i][0] = fmt.Sprintf("%s and %d more", tags[0], len(tags)-1)
		}
	}
	if len(t.rows) > 0 {
		a.println()
	}
	a.table(&t)
	if n := len(doc.Devices) - shown; !all && n > 0 {
		a.println(a.dim(fmt.Sprintf("(%s with a path not shown; name a device, hub or floor to see theirs)", plural(n, "device"))))
	}
}

func hops(n int) string {
	if n == 0 {
		return "-"
	}
	return strconv.Itoa(n)
}

func marginWords(r *[2]int64) string {
	if r == nil {
		return "-"
	}
	return fmt.Sprintf("%d..%d", (r[0]+sign(r[0])*50)/100, (r[1]+sign(r[1])*50)/100)
}

func sign(n int64) int64 {
	if n < 0 {
		return -1
	}
	return 1
}

// chanceWords says a probability in whole per cent, never surer than it is.
func chanceWords(r *[2]int64) string {
	if r == nil {
		return "-"
	}
	lo, hi := r[0]/10_000, r[1]/10_000
	if lo == hi {
		return fmt.Sprintf("%d %%", lo)
	}
	return fmt.Sprintf("%d..%d %%", lo, hi)
}

func twoWays(yes *bool) string {
	switch {
	case yes == nil:
		return "-"
	case *yes:
		return "yes"
	}
	return "no"
}
