package between

import (
	"cmp"
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// key is one fact's place: about whom, what, and which of several.
type key struct {
	of     events.Subject
	what   What
	detail string
}

func (k key) compare(o key) int {
	return cmp.Or(cmp.Compare(k.of.Class, o.of.Class), events.ByName(k.of.ID, o.of.ID), cmp.Compare(k.what, o.what), cmp.Compare(k.detail, o.detail))
}

// fact is what stands under a key at a moment. A fact that is as it would be
// anyway, such as power that is on, is left out.
type fact struct {
	words  string
	same   string           // beside the words: what else must be the same
	cause  projection.Cause // the entry behind it, if it has one of its own
	loose  bool             // the words may differ, if what else must be the same is
	within bool             // told only of what is there at both moments
	ripe   events.Instant   // time alone made it so then, 0 if it did not
	also   []events.Subject // whom it is about too
	by     []events.Ref     // the entries that make it together
}

// is says whether two facts are the same.
func (f fact) is(o fact) bool { return f.same == o.same && (f.loose || f.words == o.words) }

func (t *table) put(of events.Subject, what What, detail string, f fact) {
	t.into[key{of, what, detail}] = f
}

// say puts a plain fact, unless it has nothing to say.
func (t *table) say(of events.Subject, what What, words string, c *projection.Cause) {
	if words != "" {
		t.put(of, what, "", fact{words: words, cause: causeOf(c)})
	}
}

// row puts one column of a schedule's row.
func (t *table) row(of events.Subject, column, value string, c *projection.Cause) {
	t.put(of, Listed, column, fact{words: columnWords(column, value), cause: causeOf(c), within: true})
}

func causeOf(c *projection.Cause) projection.Cause {
	if c == nil {
		return projection.Cause{}
	}
	return *c
}

func (t *table) device(d *projection.Device) {
	of := t.name(events.Device(d.Device))
	t.listed(of, d)
	t.put(of, Renamed, "", fact{words: string(d.Device), within: true})
	t.put(of, OnHub, "", fact{words: dash(string(hubOf(d))), cause: hubCause(d), within: true})
	t.state(of, d)
	t.say(of, Serial, string(d.Serial), d.Fitted)
	if ch := d.HubChannel(); ch.Known {
		t.put(of, Channel, "", fact{words: fmt.Sprint(ch.Value), within: true})
	}
	if d.Pushed != nil {
		t.say(of, Program, string(d.Pushed.Program), &d.Pushed.Cause)
	}
	if d.Missed != nil {
		t.say(of, Missed, "missed the push "+day(t.Site, d.Missed.At), d.Missed)
	}
	if d.Heard != nil {
		t.say(of, Heard, day(t.Site, d.Heard.At), d.Heard)
	}
	if d.Dark != nil {
		t.say(of, Power, "dark", d.Dark)
	}
	t.marks(of, d)
}

// listed puts whether a device is on the schedule, and what its row says.
func (t *table) listed(of events.Subject, d *projection.Device) {
	switch {
	case d.Struck != nil:
		t.say(of, Listed, "struck", d.Struck)
	case d.Row != nil:
		t.say(of, Listed, "listed", d.Row)
	default:
		t.say(of, Listed, "found in the field", nil)
	}
	for _, x := range deviceColumns(*d.DeviceListed) {
		t.row(of, x[0], x[1], d.Row)
	}
	place := fact{words: "no place", within: true, cause: causeOf(d.Row)}
	if d.Place.Known {
		place.words = metres(d.Place.Value)
	}
	if d.Placed != nil {
		place.cause = *d.Placed
	}
	t.put(of, Placed, "", place)
}

// deviceColumns is what a device's row says, by column.
func deviceColumns(p events.DeviceListed) [][2]string {
	return [][2]string{
		{"kind", string(p.Is)}, {"radio", string(p.Radio)}, {"power", string(p.Power)},
		{"floor", string(p.Floor)}, {"room", string(p.Room)}, {"circuit", string(p.Circuit)},
		{"maker", p.Maker}, {"model", p.Model}, {"type", p.Type}, {"geometry", p.Geometry},
		{"emergency", yes(p.Emergency)}, {"note", p.Note}, {"warranty", warranty(p)},
	}
}

func columnWords(column, value string) string {
	if value == "" {
		return "no " + column
	}
	return column + " " + value
}

// state puts how far a device has come. Paired anew is not the same as before.
func (t *table) state(of events.Subject, d *projection.Device) {
	f := fact{words: string(d.State), cause: causeOf(d.Since)}
	if d.Paired != nil {
		f.same = d.Paired.Ref().String()
	}
	switch d.State {
	case projection.Settled:
		f.ripe = d.Settles
	case projection.Listed:
		f.cause = projection.Cause{}
		f.within = true // a device that was just listed has no state worth telling
	}
	t.put(of, State, "", f)
}

// latest is the last of several entries.
func latest(c projection.Cause, others ...*projection.Cause) projection.Cause {
	for _, o := range others {
		if o != nil && (c.IsZero() || o.After(c)) {
			c = *o
		}
	}
	return c
}

// marks puts what a device is marked with and no other fact tells.
func (t *table) marks(of events.Subject, d *projection.Device) {
	words := map[projection.Flag]string{
		projection.FlagNotReady:    "paired while its hub was not ready",
		projection.FlagNotListed:   "not in the program of its hub",
		projection.FlagNotMerged:   "pushed before its records came home",
		projection.FlagChannel:     "its hub's channel changed since it was pushed",
		projection.FlagProvisional: "rests on a provisional member's word",
	}
	for _, f := range d.Flags {
		if w := words[f]; w != "" {
			t.put(of, Mark, string(f), fact{words: w})
		}
	}
	if d.Refused != nil {
		t.put(of, Mark, string(projection.FlagRefused), fact{words: "refused", cause: *d.Refused})
	}
	if d.Skipped != nil {
		t.put(of, Mark, string(projection.FlagSkipped), fact{words: "skipped", cause: *d.Skipped})
	}
}

// way puts a device's way home.
func (t *table) way(r *mesh.Reach) {
	f := fact{words: t.pathWords(r), same: string(r.Answer)}
	if d, _ := t.Site.Device(r.Device); d.Paired != nil {
		f.cause = d.Paired.Cause
	}
	t.put(t.name(events.Device(r.Device)), Path, "", f)
}

func (t *table) pathWords(r *mesh.Reach) string {
	words := string(r.Answer)
	if r.Basis != mesh.NoBasis {
		words += " (" + string(r.Basis) + ")"
	}
	if len(r.Path) > 0 {
		route := make([]string, len(r.Path))
		for i, x := range r.Path {
			route[i] = string(t.tag(x))
		}
		words += fmt.Sprintf(", %s: %s", count(r.Hops, "hop"), strings.Join(route, " → "))
	}
	if r.Disjoint.Known && !r.Disjoint.Value {
		words += ", with no second path beside it"
	}
	return words
}

// hubOf is the hub a device is paired to, else the one it is scheduled on.
func hubOf(d *projection.Device) events.HubID {
	if d.Paired != nil {
		return d.Paired.Hub
	}
	return d.Hub
}

func hubCause(d *projection.Device) projection.Cause {
	if d.Paired != nil {
		return d.Paired.Cause
	}
	return latest(causeOf(d.Row), d.Unpaired)
}
