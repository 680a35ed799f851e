package projection

import (
	"slices"
	"strings"

	"pairwalk/events"
)

// oddResolutions notes resolutions of conflicts that never were, and such as
// leave standing what their conflict does not offer. Those of conflicts that are
// judged above this package are not its to judge, nor is what was resolved after
// the moment asked for.
func (f *fold) oddResolutions(all []found) {
	byKey := map[string]Conflict{}
	for _, c := range all {
		byKey[c.Key] = c.Conflict
	}
	var past lore
	for _, r := range f.resolved {
		c := f.cause(r.Event)
		if c.At > f.site.Moment.When.Value {
			continue
		}
		if conflict, ok := byKey[r.Key]; ok {
			if _, fits := f.resolution(conflict); !fits {
				f.oddAtLast(&c, events.Site(), "says "+r.Stands+" stands, which conflict "+r.Key+" does not offer")
			}
			continue
		}
		if past.paired == nil {
			past = f.lore()
		}
		if !f.stoodFor(r, past) {
			f.oddAtLast(&c, events.Site(), "resolves "+r.Key+", and there is no such conflict")
		}
	}
}

// stoodFor says whether a conflict that does not stand now, or has grown since,
// can have stood for the author of its resolution.
func (f *fold) stoodFor(r Resolution, past lore) bool {
	kind, rest, _ := strings.Cut(r.Key, ":")
	i := strings.LastIndexByte(rest, ':')
	if i < 0 || len(rest[i+1:]) != 8 {
		return false
	}
	about := rest[:i]
	switch k := ConflictKind(kind); k {
	case PairedTwice:
		return slices.ContainsFunc(past.paired[events.Tag(about)], func(d *device) bool { return f.doubleFor(r, d) })
	case TwoSerials:
		return past.numbered[events.Tag(about)]
	case SerialTwice:
		return past.serials[events.Serial(about)]
	case PastRevocation:
		return past.revoked[about]
	default:
		return k.Judged()
	}
}

// doubleFor says whether a device was paired twice as far as the author of a
// resolution had seen.
func (f *fold) doubleFor(r Resolution, d *device) bool {
	stood := func(x *laid) bool {
		return f.sight.sees(r.Event, x.Event) && (x.void == 0 || !f.sight.sees(r.Event, f.withdrawn[x.void].Event))
	}
	clash := f.clash(d.past, stood, f.cured)
	return len(clash) > 0 && f.doubleConflict(d.tag(), clash).Key == r.Key
}

// lore is what anybody ever said, withdrawn or not, that conflicts may have been
// about.
type lore struct {
	paired   map[events.Tag][]*device // by the tags their pairings were said with
	numbered map[events.Tag]bool      // tags that a serial was written down for
	serials  map[events.Serial]bool
	revoked  map[string]bool // short keys
}

func (f *fold) lore() lore {
	x := lore{map[events.Tag][]*device{}, map[events.Tag]bool{}, map[events.Serial]bool{}, map[string]bool{}}
	for i := range f.table.n {
		d := f.table.at(i)
		for _, a := range d.past.acts.list() {
			if p, ok := a.Event.Payload.(events.DevicePaired); ok && !slices.Contains(x.paired[p.Device], d) {
				x.paired[p.Device] = append(x.paired[p.Device], d)
			}
		}
	}
	write := func(t events.Tag, s events.Serial) { x.numbered[t], x.serials[s] = true, true }
	for i := range f.facts {
		switch p := f.ranks.Event(f.facts[i]).Payload.(type) {
		case events.DeviceFitted:
			write(p.Device, p.Serial)
		case events.DevicePaired:
			write(p.Device, p.Serial)
		case events.DeviceReplaced:
			write(p.Device, p.New)
		}
	}
	for k, m := range f.trust.members {
		x.revoked[k.Short()] = m.Standing == Revoked
	}
	return x
}
