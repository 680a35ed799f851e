package callback

import (
	"cmp"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// CauseKind is a sort of cause.
type CauseKind string

// The kinds of cause; the package says what each means.
const (
	ByPower       CauseKind = "power"
	ByHubPower    CauseKind = "hub-power"
	ByHubLost     CauseKind = "hub-lost"
	ByPathCircuit CauseKind = "path-circuit"
	ByPathRouter  CauseKind = "path-router"
	ByLastPath    CauseKind = "last-path"
	ByWeakLink    CauseKind = "link"
	ByNewChannel  CauseKind = "channel"
	ByEarlyPush   CauseKind = "early-push"
	ByNotMerged   CauseKind = "not-merged"
	ByMissed      CauseKind = "missed"
	ByNotListed   CauseKind = "not-listed"
	ByOldProgram  CauseKind = "program"
	ByPushFailed  CauseKind = "push-failed"
	ByReplaced    CauseKind = "replaced"
	ByUnpaired    CauseKind = "unpaired"
	ByStruck      CauseKind = "struck"
	BySerial      CauseKind = "serial"
	ByOtherHub    CauseKind = "other-hub"
	ByNotPushed   CauseKind = "not-pushed"
	ByNotPaired   CauseKind = "not-paired"
	ByNeverHeard  CauseKind = "never-heard"
	ByFailedCheck CauseKind = "check"
	ByOpenFault   CauseKind = "fault"
	ByHeld        CauseKind = "hold"
	ByMoved       CauseKind = "moved"
	ByCuts        CauseKind = "cuts"
	BySingle      CauseKind = "single"
)

// Cause is one explanation, and what speaks for and against it.
type Cause struct {
	Kind           CauseKind
	Subject        events.Subject // what it is about: a device, circuit, hub, room or floor
	Devices        []events.Tag   // those asked about that it concerns
	Words          string         // what happened, and why it ranks where it does
	Events         []events.Ref   // the entries it rests on, the one that matters first
	For, Against   []Evidence
	Check          []string // on site, in order
	Cautions       []string
	Record         []string // command lines that take down what was found
	Counterfactual string   // what would be so without these entries, as computed; "" where that is not told
	Acted          []string // who acted on what they knew
	Weight         int      // as the package explains it

	what   string // what happened, in words without a full stop
	main   projection.Cause
	fit    int  // how well it explains the symptom
	named  bool // somebody wrote down what is wrong, and not only what is seen
	better bool // with its entries left out things are better
	tipped bool // the way home got worse when it happened
}

// Evidence is one entry that speaks for or against a cause, or what follows from it
// as computed, which is nobody's word.
type Evidence struct {
	Words string
	Event events.Ref
	At    events.Instant // its point in site time
	By    string         // "" for what is computed
}

// finding is what a judge found about one device. Those of one kind, subject and
// main entry become one Cause.
type finding struct {
	kind    CauseKind
	subject events.Subject
	device  *projection.Device
	main    projection.Cause   // what happened
	more    []projection.Cause // other entries it rests on
	what    string             // in words; {them} stands for the devices concerned
	against []Evidence
	better  bool
	ifNot   string // the counterfactual where the judge computed it
	tipped  bool   // the way home got worse when it happened
	named   bool   // what is wrong is written down
	pool    bool   // findings of this kind and subject are one cause, whatever their entries
}

// Judge looks for one sort of cause at one device, among the facts as they stand.
type Judge func(x *inquiry, d *projection.Device) []finding

// judges is all there are, in the order in which a technician would think of them.
var judges = []Judge{
	power, hubPower, hubLost, paths, links, channel, pushedWrongly, missed, program,
	changedUnit, serial, otherHub, unproved, failedChecks, faults, holds, moved, cuts, singles,
}

// gather lets every judge look at every device, and joins what is one cause.
func (x *inquiry) gather() []*Cause {
	type key struct {
		kind    CauseKind
		subject events.Subject
		main    events.Ref
	}
	found := map[key]*Cause{}
	var out []*Cause
	for _, j := range judges {
		for _, d := range x.devices {
			for _, f := range j(x, d) {
				k := key{kind: f.kind, subject: f.subject}
				if !f.pool {
					k.main = f.main.Ref()
				}
				c := found[k]
				if c == nil {
					c = &Cause{Kind: f.kind, Subject: f.subject, main: f.main, what: f.what}
					found[k], out = c, append(out, c)
				}
				x.join(c, &f)
			}
		}
	}
	return out
}

// join takes a finding up in a cause.
func (x *inquiry) join(c *Cause, f *finding) {
	if !slices.Contains(c.Devices, f.device.Device) {
		c.Devices = append(c.Devices, f.device.Device)
	}
	if f.main.After(c.main) {
		c.main = f.main
	}
	for _, y := range append([]projection.Cause{f.main}, f.more...) {
		c.add(&c.For, x.evidence(y, ""))
	}
	for _, y := range f.against {
		c.add(&c.Against, y)
	}
	c.better, c.tipped, c.named = c.better || f.better, c.tipped || f.tipped, c.named || f.named
	if c.Counterfactual == "" {
		c.Counterfactual = f.ifNot
	}
}

// add takes up evidence once for each entry.
func (c *Cause) add(to *[]Evidence, e Evidence) {
	if !slices.ContainsFunc(*to, func(y Evidence) bool { return y.Event == e.Event }) {
		*to = append(*to, e)
	}
}

// finish words a cause once all its devices are known.
func (x *inquiry) finish(c *Cause) {
	c.what = numbered(len(c.Devices), "{them}", someOf(c.Devices)).Replace(c.what)
	c.Events = []events.Ref{c.main.Ref()}
	for _, e := range c.For {
		if e.Event != c.main.Ref() {
			c.Events = append(c.Events, e.Event)
		}
	}
	x.remarks(c)
	x.inOrder(c)
	if c.Counterfactual == "" {
		x.suppose(c)
	}
	x.weigh(c)
	c.Acted = x.acted(c)
	x.advise(c)
}

// numbered fills in verbs for one or for several, and whatever else is given.
func numbered(n int, more ...string) *strings.Replacer {
	if n == 1 {
		return strings.NewReplacer(append(more, "{was}", "was", "{has}", "has", "{is}", "is", "{hangs}", "hangs", "{knows}", "knows", "{lights}", "lights", "{its}", "its")...)
	}
	return strings.NewReplacer(append(more, "{was}", "were", "{has}", "have", "{is}", "are", "{hangs}", "hang", "{knows}", "know", "{lights}", "light", "{its}", "their")...)
}

// inOrder puts the entry that matters first, and the others as they happened.
func (x *inquiry) inOrder(c *Cause) {
	slices.SortStableFunc(c.For, func(a, b Evidence) int {
		if main := c.main.Ref(); a.Event == main || b.Event == main {
			return boolInt(b.Event == main) - boolInt(a.Event == main)
		}
		return cmp.Compare(a.At, b.At)
	})
}

// remarks adds what was noted about the subject of a cause since it happened.
func (x *inquiry) remarks(c *Cause) {
	for i := range x.site.Notes {
		n := &x.site.Notes[i]
		if n.Of == c.Subject && c.Kind != BySingle && !c.main.After(n.Noted) {
			c.add(&c.For, x.evidence(n.Noted, ""))
		}
	}
}

// evidence is an entry in the words of the log, unless there are better ones.
func (x *inquiry) evidence(c projection.Cause, words string) Evidence {
	if words == "" {
		words = c.Event.Payload.String()
	}
	return Evidence{words, c.Ref(), c.At, x.site.DoneBy(c.Event)}
}
