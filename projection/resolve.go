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
	for _, r := range f.resolved {
		c := f.cause(r.Event)
		if c.At > f.site.Moment.When.Value {
			continue
		}
		if conflict, ok := byKey[r.Key]; ok {
			if _, fits := f.resolution(conflict); !fits {
				f.oddity(c, events.Site(), "says "+r.Stands+" stands, which conflict "+r.Key+" does not offer")
			}
		} else if !f.stoodFor(r) {
			f.oddity(c, events.Site(), "resolves "+r.Key+", and there is no such conflict")
		}
	}
}

// stoodFor says whether a conflict that does not stand now, or has grown since,
// can have stood for the author of its resolution.
func (f *fold) stoodFor(r Resolution) bool {
	kind, rest, _ := strings.Cut(r.Key, ":")
	about, digest, ok := cutLast(rest)
	if !ok || len(digest) != 8 {
		return false
	}
	switch k := ConflictKind(kind); k {
	case PairedTwice:
		return f.doubleFor(r)
	case TwoSerials:
		return slices.ContainsFunc(f.sortedDevices(), func(d *Device) bool { return d.wasCalled(events.Tag(about)) })
	case SerialTwice:
		return f.written(events.Serial(about))
	case PastRevocation:
		return slices.ContainsFunc(f.site.Members, func(m Member) bool { return m.Key.Short() == about && m.Standing == Revoked })
	default:
		return k.Judged()
	}
}

func cutLast(s string) (before, after string, ok bool) {
	i := strings.LastIndexByte(s, ':')
	if i < 0 {
		return s, "", false
	}
	return s[:i], s[i+1:], true
}

// doubleFor says whether a device was paired twice as far as the author of a
// resolution had seen.
func (f *fold) doubleFor(r Resolution) bool {
	seen := func(e *events.Event) bool { return f.sight.sees(r.Event, e) }
	for d, acts := range f.acts {
		if clash := f.clash(acts, seen); len(clash) > 0 && f.doubleConflict(d.Device, clash).Key == r.Key {
			return true
		}
	}
	return false
}

// written says whether anybody ever wrote a serial down.
func (f *fold) written(s events.Serial) bool {
	return slices.ContainsFunc(f.facts, func(x fact) bool {
		switch p := x.Event.Payload.(type) {
		case events.DeviceFitted:
			return p.Serial == s
		case events.DevicePaired:
			return p.Serial == s
		case events.DeviceReplaced:
			return p.New == s
		}
		return false
	})
}
