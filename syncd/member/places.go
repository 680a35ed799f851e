package member

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
)

const placesFile = "meet.json"

// maxPlaces is how many meeting points are remembered.
const maxPlaces = 16

// places is where others were met, newest first, and whom our invite named.
// It is local knowledge, never replicated.
type places struct {
	V      int          `json:"v"`
	Pinned []events.Key `json:"pinned,omitempty"`
	Meet   []placeWire  `json:"meet"`
}

type placeWire struct {
	Addr string     `json:"addr"`
	Key  events.Key `json:"key"`
}

// read takes up what was noted before; where that is lost, addresses have to be
// given again.
func (p *places) read(at journal.FS) {
	if readJSON(at, placesFile, p) != nil {
		*p = places{}
	}
	p.V = 1
}

// placesOf is what an invite says.
func placesOf(t invite.Token) places {
	p := places{V: 1}
	if t.Lead.Known {
		p.Pinned = append(p.Pinned, t.Lead.Value.Bus)
	}
	for _, x := range t.Meet {
		p.Pinned = append(p.Pinned, x.Key)
		p.Meet = append(p.Meet, placeWire{x.Addr, x.Key})
	}
	slices.Sort(p.Pinned)
	p.Pinned = slices.Compact(p.Pinned)
	return p
}

func (p *places) pinned(key events.Key) bool { return slices.Contains(p.Pinned, key) }

// Meetings is where others can be met, as far as is known here, newest first.
func (m *Member) Meetings() []invite.Meeting {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := make([]invite.Meeting, len(m.places.Meet))
	for i, x := range m.places.Meet {
		out[i] = invite.Meeting{Addr: x.Addr, Key: x.Key}
	}
	return out
}

// Met remembers that a member was met at an address.
func (m *Member) Met(addr string, key events.Key) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	at := placeWire{addr, key}
	if len(m.places.Meet) > 0 && m.places.Meet[0] == at {
		return nil
	}
	rest := slices.DeleteFunc(slices.Clone(m.places.Meet), func(x placeWire) bool { return x.Addr == addr })
	m.places.Meet = append([]placeWire{at}, rest[:min(len(rest), maxPlaces-1)]...)
	m.dealings++
	if err := writeJSON(m.at, placesFile, m.places); err != nil {
		return fmt.Errorf("write %s: %w", placesFile, err)
	}
	return nil
}
