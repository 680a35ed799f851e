package web

import (
	"reflect"
	"sync"

	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// marks count how often answers became others that few entries bear on, or none: so
// that a page asks for those only then, and not at each entry. A count holds as long as
// the process, since a page that finds it again asks for all anew.
type marks struct {
	mu     sync.Mutex
	site   *projection.Site
	layout int
	around around
	team   int
}

// around is what the team's answer hangs on besides each entry.
type around struct {
	dealings int
	within   []Within
	addrs    []string
	calls    []Call
}

// now brings the counts up to how things stand.
func (m *marks) now(s *projection.Site, a around) (layout, team int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.site == nil || m.site != s && !member.SameLayout(m.site, s) {
		m.layout++
	}
	if m.team == 0 || !reflect.DeepEqual(m.around, a) {
		m.team++
	}
	m.site, m.around = s, a
	return m.layout, m.team
}

func (p *Page) around() around {
	a := around{dealings: p.m.Dealings()}
	if t := p.o.Meeting; t != nil {
		a.within, a.addrs, a.calls = t.Within(), t.Addrs(), t.Calls()
	}
	return a
}
