package projection

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
)

// ConflictKind is a sort of contradiction in the log.
type ConflictKind string

// The conflicts of identity: who, what and which. Breaches of the trade's rules
// (a push too early, and so on) are judged above this package.
const (
	PairedTwice    ConflictKind = "paired-twice"    // by two members, neither of whom had seen the other
	SerialTwice    ConflictKind = "serial-twice"    // one serial on two devices
	TwoSerials     ConflictKind = "two-serials"     // two serials on one device, none replaced
	ForkedFeed     ConflictKind = "forked-feed"     // two lines at one place
	PastRevocation ConflictKind = "past-revocation" // entries beyond a member's cut
	InviteTwice    ConflictKind = "invite-twice"    // two members on one invite
	ClockStepped   ConflictKind = "clock-stepped"   // a clock was set while its feed was going on
	ChannelChanged ConflictKind = "channel-changed" // after pairing, with no push since
	PushedEarly    ConflictKind = "pushed-early"    // before the settle time was over
	PairedUnready  ConflictKind = "paired-unready"  // before the hub was ready, or not in its program
	PushedUnmerged ConflictKind = "pushed-unmerged" // before the records came home
)

// Identity says whether the kind is a conflict of identity.
func (k ConflictKind) Identity() bool {
	switch k {
	case PairedTwice, SerialTwice, TwoSerials, ForkedFeed, PastRevocation, InviteTwice, ClockStepped:
		return true
	}
	return false
}

// Conflict is a contradiction that stands until somebody resolves it or an
// entry cures it.
type Conflict struct {
	Key      string // kind:subject:digest of its events; stable however they arrive
	Kind     ConflictKind
	Subjects []events.Subject
	Events   []events.Ref // in record order
	Stands   string       // what the facts go by meanwhile, in words
	Why      string       // what clashes, in words
	Offers   []Offer      // what a resolution may say stands
}

// Offer is one way to resolve a conflict.
type Offer struct {
	Stands string // for the resolution's stands
	Words  string
}

// NewConflict makes a conflict with its stable key.
func NewConflict(kind ConflictKind, about string, subjects []events.Subject, evs ...*events.Event) Conflict {
	refs := make([]string, len(evs))
	out := make([]events.Ref, len(evs))
	for i, e := range evs {
		out[i] = e.Ref()
		refs[i] = out[i].String()
	}
	slices.Sort(refs)
	sum := sha256.Sum256([]byte(strings.Join(refs, "\n")))
	return Conflict{
		Key:      fmt.Sprintf("%s:%s:%s", kind, about, hex.EncodeToString(sum[:4])),
		Kind:     kind,
		Subjects: subjects,
		Events:   out,
	}
}

// double is a device paired by people who had not seen each other's entry.
type double struct {
	device   events.Tag
	pairings []*fact
	conflict Conflict
}

// findDoubles looks for pairings of one device, each said by a member who had
// not seen the other. Clocks have no say in it.
func (t *timeline) findDoubles(facts []fact) []double {
	alias := map[events.Tag]events.Tag{}
	byDevice := map[events.Tag][]*fact{}
	for i := range facts {
		x := &facts[i]
		if x.void != nil || x.quarantined != "" {
			continue
		}
		switch p := x.Event.Payload.(type) {
		case events.DevicePaired, events.DeviceUnpaired, events.DeviceReplaced, events.DeviceStruck:
			tag := p.(events.Payload).Subjects()[0]
			name, _ := tag.Tag()
			if to, renamed := alias[name]; renamed {
				name = to
			}
			byDevice[name] = append(byDevice[name], x)
		case events.DeviceRenamed:
			byDevice[p.To] = append(byDevice[p.To], byDevice[p.From]...)
			delete(byDevice, p.From)
			alias[p.From] = p.To
		}
	}
	var out []double
	for tag, list := range byDevice {
		out = append(out, t.doublesOf(tag, list)...)
	}
	slices.SortFunc(out, func(a, b double) int { return cmp.Compare(a.conflict.Key, b.conflict.Key) })
	return out
}

// doublesOf finds the pairings of one device that are concurrent and that no
// later act, by somebody who had seen them all, has cured.
func (t *timeline) doublesOf(tag events.Tag, list []*fact) []double {
	var clash []*fact
	for i, a := range list {
		if _, ok := a.Event.Payload.(events.DevicePaired); !ok {
			continue
		}
		for j, b := range list {
			_, paired := b.Event.Payload.(events.DevicePaired)
			if i != j && paired && a.Member() != b.Member() && !t.sight.sees(a.Event, b.Event) && !t.sight.sees(b.Event, a.Event) {
				clash = append(clash, a)
				break
			}
		}
	}
	if len(clash) == 0 || t.cured(clash, list) {
		return nil
	}
	return []double{{tag, clash, t.doubleConflict(tag, clash)}}
}

func (t *timeline) cured(clash, list []*fact) bool {
	for _, later := range list {
		all := true
		for _, x := range clash {
			all = all && t.sight.sees(later.Event, x.Event)
		}
		if all {
			return true
		}
	}
	return false
}

func (t *timeline) doubleConflict(tag events.Tag, clash []*fact) Conflict {
	inOrder := slices.SortedFunc(slices.Values(clash), func(a, b *fact) int { return cmp.Compare(a.rank, b.rank) })
	subjects := []events.Subject{events.Device(tag)}
	evs := make([]*events.Event, len(inOrder))
	var names []string
	var offers []Offer
	for i, x := range inOrder {
		p := x.Event.Payload.(events.DevicePaired)
		evs[i] = x.Event
		if s := events.Hub(p.Hub); !slices.Contains(subjects, s) {
			subjects = append(subjects, s)
		}
		name := t.nameOf(x.Event)
		names = append(names, name)
		offers = append(offers, Offer{x.Ref().String(), fmt.Sprintf("the pairing by %s to %s%s", name, p.Hub, serialWords(p.Serial))})
	}
	c := NewConflict(PairedTwice, string(tag), subjects, evs...)
	c.Why = fmt.Sprintf("%s was paired by %s; none of them had heard of the other", tag, strings.Join(names, " and "))
	last := slices.MaxFunc(clash, func(a, b *fact) int { return byPoint(*a, *b) })
	c.Stands = "the later of the two by the clocks, by " + t.nameOf(last.Event)
	c.Offers = offers
	return c
}

func serialWords(s events.Serial) string {
	if s == "" {
		return ""
	}
	return ", serial " + string(s)
}

// nameOf names who did what an event tells.
func (t *timeline) nameOf(e *events.Event) string {
	if e.By != "" {
		return e.By
	}
	if m := t.trust.members[e.Member()]; m != nil {
		return m.Name
	}
	return e.Member().Short()
}

// lostPairings lists the pairings that a resolution set aside.
func (t *timeline) lostPairings(doubles []double) map[events.Ref]bool {
	lost := map[events.Ref]bool{}
	for _, d := range doubles {
		r, ok := t.resolved[d.conflict.Key]
		if !ok || r.Stands == "" {
			continue
		}
		for _, x := range d.pairings {
			if x.Ref().String() != r.Stands {
				lost[x.Ref()] = true
			}
		}
	}
	return lost
}

// conflicts gathers every conflict of identity that nothing has resolved.
func (f *fold) conflicts() []Conflict {
	var all []Conflict
	for _, d := range f.doubles {
		all = append(all, d.conflict)
	}
	all = append(all, f.serialConflicts()...)
	all = append(all, f.forkConflicts()...)
	all = append(all, f.memberConflicts()...)
	all = append(all, f.clockConflicts()...)
	open := slices.DeleteFunc(all, func(c Conflict) bool { _, done := f.resolved[c.Key]; return done })
	slices.SortFunc(open, func(a, b Conflict) int { return cmp.Compare(a.Key, b.Key) })
	return open
}

// serialConflicts finds one serial on two devices, and two serials on one. A
// resolution names the device or the serial that stands.
func (f *fold) serialConflicts() []Conflict {
	var out []Conflict
	holders := map[events.Serial][]*Device{}
	for _, d := range f.sortedDevices() {
		if c, ok := f.twoSerials(d); ok && !f.inDouble(c) {
			out = append(out, c)
		}
		if d.Serial != "" && d.Struck == nil {
			holders[d.Serial] = append(holders[d.Serial], d)
		}
	}
	for serial, devices := range holders {
		if len(devices) > 1 {
			out = append(out, f.oneSerial(serial, devices))
		}
	}
	return out
}

func (f *fold) twoSerials(d *Device) (Conflict, bool) {
	var said []serialSaid
	for _, s := range d.serials {
		if !slices.ContainsFunc(said, func(o serialSaid) bool { return o.serial == s.serial }) {
			said = append(said, s)
		}
	}
	if len(said) < 2 {
		return Conflict{}, false
	}
	evs := make([]*events.Event, len(said))
	var names []string
	var offers []Offer
	for i, s := range said {
		evs[i] = s.cause.Event
		names = append(names, string(s.serial))
		offers = append(offers, Offer{string(s.serial), "serial " + string(s.serial) + ", as " + f.nameOf(s.cause.Event) + " wrote it down"})
	}
	c := NewConflict(TwoSerials, string(d.Device), f.deviceAndHub(d), evs...)
	c.Why = fmt.Sprintf("%s has serials %s and no replacement between", d.Device, strings.Join(names, " and "))
	c.Stands = "the last one written down, " + string(d.Serial)
	c.Offers = offers
	if r, ok := f.resolved[c.Key]; ok && slices.Contains(names, r.Stands) {
		d.Serial = events.Serial(r.Stands)
	}
	return c, true
}

// inDouble says whether a conflict is but another side of a device paired twice:
// who really paired it settles which serial it has.
func (f *fold) inDouble(c Conflict) bool {
	for _, d := range f.doubles {
		if !slices.ContainsFunc(c.Events, func(r events.Ref) bool { return !slices.Contains(d.conflict.Events, r) }) {
			return true
		}
	}
	return false
}

func (f *fold) oneSerial(serial events.Serial, devices []*Device) Conflict {
	var subjects []events.Subject
	var evs []*events.Event
	var names []string
	var offers []Offer
	for _, d := range devices {
		for _, s := range f.deviceAndHub(d) {
			if !slices.Contains(subjects, s) {
				subjects = append(subjects, s)
			}
		}
		for i := len(d.serials) - 1; i >= 0; i-- {
			if d.serials[i].serial == serial {
				evs = append(evs, d.serials[i].cause.Event)
				break
			}
		}
		names = append(names, string(d.Device))
		offers = append(offers, Offer{string(d.Device), "it sits at " + string(d.Device)})
	}
	c := NewConflict(SerialTwice, string(serial), subjects, evs...)
	c.Why = fmt.Sprintf("serial %s is written down at %s; one unit sits in one place", serial, strings.Join(names, " and "))
	c.Stands = "both entries, until somebody reads the labels again"
	c.Offers = offers
	if r, ok := f.resolved[c.Key]; ok {
		for _, d := range devices {
			if string(d.Device) != r.Stands && slices.Contains(names, r.Stands) {
				d.Serial = ""
			}
		}
	}
	return c
}

func (f *fold) deviceAndHub(d *Device) []events.Subject {
	out := []events.Subject{events.Device(d.Device)}
	if id := d.hub(); id != "" {
		out = append(out, events.Hub(id))
	}
	return out
}

// clockConflicts finds clocks that were set while their feed was going on, and
// not compared with another since.
func (f *fold) clockConflicts() []Conflict {
	limit := f.settings.Span(events.ClockStep, time.Second).Milliseconds()
	last := map[events.FeedID]*events.Event{}
	var out []Conflict
	for _, e := range f.view {
		before := last[e.Feed]
		last[e.Feed] = e
		if before == nil || !e.Mono.Known() || e.Mono.Boot != before.Mono.Boot || f.trust.quarantine(e) != "" {
			continue
		}
		step := e.Stamp().Base() - before.Stamp().Base()
		if step <= limit && step >= -limit {
			continue
		}
		if _, _, compared := f.clocks.offset(e.Member(), e.Stamp()); compared && e.Member() != f.clocks.reference {
			continue
		}
		c := NewConflict(ClockStepped, f.nameOf(e), []events.Subject{events.Member(e.Member())}, before, e)
		c.Why = fmt.Sprintf("the clock of %s moved by %s between two entries", f.nameOf(e), time.Duration(step)*time.Millisecond)
		c.Stands = "each entry by the clock as it was then"
		out = append(out, c)
	}
	return out
}
