package mesh

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// What says under which suppositions to ask; the zero value is as things stand.
type What struct {
	Planned bool             // as if all scheduled were paired and powered
	Without []events.Subject // devices, circuits and hubs taken away
	Relays  []Relay          // added
	Now     events.Instant   // when it is asked: a time of another day carries its day; 0: at the moment of the facts
}

// Relay is a supposed mesh router. In paths it is called relay+1 and so on, in
// the order given.
type Relay struct {
	Place events.Point
	Hub   events.HubID // "": the one it helps most
}

// without is what a supposition takes away, and in which words.
type without struct {
	devices map[events.Tag]string
	hubs    map[events.HubID]string
}

// takeAway resolves the subjects of a supposition, and notes those it knows
// nothing of.
func (n *Net) takeAway(subjects []events.Subject) {
	n.without = without{map[events.Tag]string{}, map[events.HubID]string{}}
	for _, of := range subjects {
		if !n.takeDevice(of) && !n.takeHub(of) && !n.takeCircuit(of) {
			n.notes = append(n.notes, fmt.Sprintf("%s is not known here; nothing is taken away for it", of.Words()))
		}
	}
}

func (n *Net) takeDevice(of events.Subject) bool {
	tag, ok := of.Tag()
	if !ok {
		return false
	}
	if _, ok = n.s.Device(tag); ok {
		n.without.devices[tag] = "without " + string(tag)
	}
	return ok
}

// takeHub takes a hub away, also one that was named as a tag.
func (n *Net) takeHub(of events.Subject) bool {
	if of.Class != events.OfHub && of.Class != events.OfDevice {
		return false
	}
	h, ok := n.s.Hub(events.HubID(of.ID))
	if ok {
		n.without.hubs[h.Hub] = "without " + string(h.Hub)
	}
	return ok
}

func (n *Net) takeCircuit(of events.Subject) bool {
	if of.Class != events.OfCircuit {
		return false
	}
	for i := range n.s.Circuits {
		if c := &n.s.Circuits[i]; string(c.ID) == of.ID {
			why := "no power without " + of.ID
			for _, t := range c.Feeds {
				n.without.devices[t] = why
			}
			for j := range n.s.Hubs {
				if h := &n.s.Hubs[j]; h.Circuit == c.ID {
					n.without.hubs[h.Hub] = string(h.Hub) + " has " + why
				}
			}
			return true
		}
	}
	return false
}

// circuit finds a circuit.
func circuit(s *projection.Site, id events.CircuitID) *projection.Circuit {
	for i := range s.Circuits {
		if s.Circuits[i].ID == id {
			return &s.Circuits[i]
		}
	}
	return nil
}

// addRelays puts supposed relays up: first those for a hub, then one by one those
// that are to go where they help most, as things stand with the ones before.
func (n *Net) addRelays(relays []Relay) {
	for i, r := range relays {
		if f := n.field(r.Hub); f != nil {
			f.extend(n.g, n.g.relayNode(relayName(i), r.Place))
		} else if r.Hub != "" {
			n.notes = append(n.notes, fmt.Sprintf("hub %s is not known here; %s is left out", r.Hub, relayName(i)))
		}
	}
	for i, r := range relays {
		if r.Hub != "" {
			continue
		}
		n.solve(heir{})
		if f := n.field(n.mostHelped(r.Place)); f != nil {
			f.extend(n.g, n.g.relayNode(relayName(i), r.Place))
		} else {
			n.notes = append(n.notes, relayName(i)+" helps no hub, and is left out")
		}
	}
}

func relayName(i int) string { return fmt.Sprintf("relay+%d", i+1) }

// relayNode is a supposed router at a place.
func (g *Ground) relayNode(name string, at events.Point) node {
	r := node{tag: events.Tag(name), router: true, placed: true, at: at}
	r.floor = g.storeys.Floor("", "", events.Some(at))
	r.level = g.storeyOf(r.floor, at)
	return r
}

// extend puts a supposed relay into the field's network. Its links can only be
// predicted.
func (f *field) extend(g *Ground, relay node) {
	w := &network{id: f.w.id, nodes: f.w.nodes, dumb: f.w.dumb}
	w.extra = append(append(w.extra, f.w.extra...), relay)
	w.edges, w.facts = slices.Clone(f.w.edges), slices.Clone(f.w.facts)
	r := int32(w.len() - 1)
	for v := range r {
		if x, ok := g.rateRelay(w, v, r); ok && x.possible() {
			w.put(v, r, x)
		}
	}
	w.sort()
	w.connect()
	f.w, f.islands = w, nil
	f.devices, f.up, f.relays = append(f.devices, nil), append(f.up, true), append(f.relays, true)
}

// rateRelay is the strength of a link to a supposed relay.
func (g *Ground) rateRelay(w *network, v, r int32) (strength, bool) {
	a, b := w.node(g, v), w.node(g, r)
	if !a.placed || !w.talks(g, v, r) {
		return strength{}, false
	}
	return g.predict(a, b, meshBand), true
}
