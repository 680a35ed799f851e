package member

import (
	"sync"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// survey is the ground and the net of the present, and the ground of the moment asked
// for last. Surveying is most of what a question about reach costs, and several are
// asked between two entries; and from one moment to another little of a ground or net
// changes, so each is mended from the one before.
type survey struct {
	mu   sync.Mutex
	of   *projection.Site // the present
	laid *mesh.Ground
	past *mesh.Ground

	cast  *mesh.Net // on laid, when it was asked for last
	on    *projection.Site
	asked events.Instant
}

// ground is what radio can do on a site at its moment. That of the present is
// surveyed once for all who ask until more comes; where it is being surveyed,
// others wait for it.
func (m *Member) ground(s *projection.Site) *mesh.Ground {
	present := m.present(s)
	m.survey.mu.Lock()
	defer m.survey.mu.Unlock()
	return m.survey.ground(s, present)
}

// net is who reaches whom on a site at its moment, as things stand; kept as the ground
// is, for as long as nothing comes and no minute goes by.
func (m *Member) net(s *projection.Site) (*mesh.Ground, *mesh.Net) {
	present, now := m.present(s), m.world.wall()
	x := &m.survey
	x.mu.Lock()
	defer x.mu.Unlock()
	g := x.ground(s, present)
	switch {
	case !present:
		return g, g.Net(s, mesh.What{Now: now})
	case x.cast == nil:
		x.cast = g.Net(s, mesh.What{Now: now})
	case x.on != s || x.asked/minute != now/minute:
		x.cast = x.cast.Mend(g, s, now)
	}
	x.on, x.asked = s, now
	return g, x.cast
}

// minute is what times of other days are told by, in ms: within one, what is told of
// them is the same.
const minute = 60_000

func (m *Member) present(s *projection.Site) bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return s == m.now
}

func (x *survey) ground(s *projection.Site, present bool) *mesh.Ground {
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
