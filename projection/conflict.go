package projection

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

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

// Judged says whether the kind is a breach of the trade's rules, which is judged
// above this package.
func (k ConflictKind) Judged() bool {
	switch k {
	case ChannelChanged, PushedEarly, PairedUnready, PushedUnmerged:
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

// offers says whether a conflict can be resolved so. What it has no offers for,
// or a resolution leaves open, is closed in any words.
func (c Conflict) offers(stands string) bool {
	return stands == "" || len(c.Offers) == 0 || slices.ContainsFunc(c.Offers, func(o Offer) bool { return o.Stands == stands })
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

// found is a conflict that stands, or stood until an entry cured it.
type found struct {
	Conflict
	cured bool
}

// conflicts gathers every conflict of identity that nothing has resolved or
// cured.
func (f *fold) conflicts() []Conflict {
	all := slices.Concat(f.doubleConflicts(), f.serialConflicts(), f.always().conflicts, f.always().steps.found)
	f.oddResolutions(all)
	var open []Conflict
	for _, c := range all {
		if _, done := f.resolution(c.Conflict); !done && !c.cured {
			open = append(open, c.Conflict)
		}
	}
	slices.SortFunc(open, func(a, b Conflict) int { return cmp.Compare(a.Key, b.Key) })
	return open
}

// resolution is what closes a conflict, if anything does. One that says
// something stands which the conflict does not offer closes nothing.
func (f *fold) resolution(c Conflict) (Resolution, bool) {
	r, ok := f.resolved[c.Key]
	if ok && c.Kind == SerialTwice {
		r.Stands = string(f.tag(events.Tag(r.Stands)))
	}
	return r, ok && c.offers(r.Stands)
}

// byOldName is what a conflict about a device is called: by the tag in the first
// of its entries, whatever the device is called by now, so that the key stays.
func byOldName(evs []*events.Event) string {
	first := slices.MinFunc(evs, func(a, b *events.Event) int { return a.Ref().Compare(b.Ref()) })
	return first.Payload.Subjects()[0].ID
}

// nameOf names who did what an event tells.
func (t *timeline) nameOf(e *events.Event) string {
	if e.By() != "" {
		return e.By()
	}
	if m := t.trust.members[e.Member()]; m != nil {
		return m.Name
	}
	return e.Member().Short()
}

func (f *fold) deviceAndHub(d *device) []events.Subject {
	out := []events.Subject{events.Device(d.tag())}
	if id := d.hub(); id != "" {
		out = append(out, events.Hub(id))
	}
	return out
}
