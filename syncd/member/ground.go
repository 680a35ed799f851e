package member

import (
	"sync"

	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// survey is the ground of the present and that of the moment asked for last.
// Surveying is most of what a question about reach costs, and several are asked
// between two entries; and from one moment to another little of a ground changes,
// so each is mended from the one before.
type survey struct {
	mu   sync.Mutex
	of   *projection.Site // the present
	laid *mesh.Ground
	past *mesh.Ground
}

// ground is what radio can do on a site at its moment. That of the present is
// surveyed once for all who ask until more comes; where it is being surveyed,
// others wait for it.
func (m *Member) ground(s *projection.Site) *mesh.Ground {
	m.mu.Lock()
	present := s == m.now
	m.mu.Unlock()
	x := &m.survey
	x.mu.Lock()
	defer x.mu.Unlock()
	switch {
	case present && s != x.of:
		x.of, x.laid = s, mend(x.laid, s)
	case !present && x.past == nil:
		x.past = mend(x.laid, s)
	case !present:
		x.past = mend(x.past, s)
	}
	if present {
		return x.laid
	}
	return x.past
}

// mend is the ground of a site, made from an older one where there is one.
func mend(old *mesh.Ground, s *projection.Site) *mesh.Ground {
	if old == nil {
		return mesh.Survey(s)
	}
	return old.Mend(s)
}
