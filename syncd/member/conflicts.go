package member

import (
	"slices"
	"strings"
	"sync"
	"weak"

	"pairwalk/projection"
	"pairwalk/projection/settle"
)

// AllConflicts is every conflict that stands at a moment: those of identity and
// the breaches judged from the facts, by key.
func AllConflicts(s *projection.Site) []projection.Conflict {
	all := slices.Concat(s.Conflicts, settle.Breaches(s))
	slices.SortFunc(all, func(a, b projection.Conflict) int { return strings.Compare(a.Key, b.Key) })
	return all
}

// Conflicts is [AllConflicts], found once for all who ask about the same facts: after
// each entry several do, and then once more of the facts before the next one. The list
// must not be changed.
func (m *Member) Conflicts(s *projection.Site) []projection.Conflict {
	m.clashes.mu.Lock()
	defer m.clashes.mu.Unlock()
	of := weak.Make(s)
	for _, x := range m.clashes.last {
		if x.of == of {
			return x.all
		}
	}
	x := clash{of, AllConflicts(s)}
	m.clashes.last = [2]clash{x, m.clashes.last[0]}
	return x.all
}

// clashes are the conflicts of the two sites asked about last. It holds no site: that is
// as large as all its devices.
type clashes struct {
	mu   sync.Mutex
	last [2]clash
}

type clash struct {
	of  weak.Pointer[projection.Site]
	all []projection.Conflict
}
