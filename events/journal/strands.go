package journal

import (
	"slices"
	"strings"

	"pairwalk/events"
)

// strands are sorted by name: of each feed its main branch, if any, then its forks.
// So those of a feed stand together, however many feeds there are.
type strands []*strand

func (all strands) find(name string) (int, bool) {
	return slices.BinarySearchFunc(all, name, func(s *strand, name string) int { return strings.Compare(s.name, name) })
}

// named is the strand of a name, or nil.
func (all strands) named(name string) *strand {
	if i, ok := all.find(name); ok {
		return all[i]
	}
	return nil
}

// of is those of a feed.
func (all strands) of(feed events.FeedID) strands {
	i, _ := all.find(string(feed))
	n := i
	for n < len(all) && all[n].feed == feed {
		n++
	}
	return all[i:n]
}

// put adds a strand, or puts it in the place of the one of its name.
func (all *strands) put(s *strand) {
	i, ok := all.find(s.name)
	if ok {
		(*all)[i] = s
		return
	}
	*all = slices.Insert(*all, i, s)
}
