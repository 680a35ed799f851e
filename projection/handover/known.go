package handover

import (
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// knownOf says how far a log reaches for each who spoke in it, by name.
func knownOf(s Source) []PackMember {
	of := map[events.Key]*PackMember{}
	last := map[events.Key]events.Instant{}
	out := []PackMember{}
	for _, x := range s.History.Told(projection.Moment{}) {
		key := x.Member()
		if of[key] == nil {
			of[key] = &PackMember{Member: s.Site.MemberName(key), Key: key}
			last[key] = x.Said
		}
		of[key].Entries++
		last[key] = max(last[key], x.Said)
	}
	for key, m := range of {
		m.Last = last[key].String()
		out = append(out, *m)
	}
	slices.SortFunc(out, func(a, b PackMember) int {
		if a.Member != b.Member {
			return strings.Compare(a.Member, b.Member)
		}
		return strings.Compare(string(a.Key), string(b.Key))
	})
	return out
}
