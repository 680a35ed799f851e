package member

import (
	"sync"

	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// survey is the ground of the present, as last surveyed. Surveying is most of what
// a question about reach costs, and several are asked between two entries.
type survey struct {
	mu   sync.Mutex
	of   *projection.Site
	laid *mesh.Ground
}

// ground is what radio can do on a site at its moment. That of the present is
// surveyed once for all who ask until more comes; where it is being surveyed,
// others wait for it.
func (m *Member) ground(s *projection.Site) *mesh.Ground {
	m.mu.Lock()
	present := s == m.now
	m.mu.Unlock()
	if !present {
		return mesh.Survey(s)
	}
	m.survey.mu.Lock()
	defer m.survey.mu.Unlock()
	if s != m.survey.of {
		m.survey.of, m.survey.laid = s, mesh.Survey(s)
	}
	return m.survey.laid
}
