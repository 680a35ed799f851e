package member

import (
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/walk"
)

// ReachAnswer says which devices have a path to their hub, and what it hangs on.
type ReachAnswer struct {
	V            int           `json:"v"`
	Moment       StatusMoment  `json:"moment"`
	Model        string        `json:"model"` // how links are predicted, and from what
	Supposed     []string      `json:"supposed,omitempty"`
	Devices      []ReachDevice `json:"devices"`
	Islands      []ReachIsland `json:"islands"`
	SinglePoints []ReachPoint  `json:"single_points"`
	Change       *ReachChange  `json:"change,omitempty"` // by what is supposed
	Relay        *ReachRelay   `json:"relay,omitempty"`  // where one more helps most, if asked
	Notes        []string      `json:"notes"`
	Cautions     []string      `json:"cautions,omitempty"`
}

// ReachDevice is one device's way home. Margin and probability are null where no
// path is known, and so is disjoint.
type ReachDevice struct {
	Tag         string    `json:"tag"`
	Hub         string    `json:"hub"`
	OK          string    `json:"ok"`    // yes, no, unknown
	Basis       string    `json:"basis"` // observed, measured, predicted, none
	Hops        int       `json:"hops"`  // 0 where no path is known
	Path        []string  `json:"path"`  // device … hub, both ends
	Margin      *[2]int64 `json:"margin_cdb"`
	Probability *[2]int64 `json:"probability_ppm"`
	Disjoint    *bool     `json:"disjoint"`
	Since       string    `json:"since,omitempty"` // when it was last observed
	Why         string    `json:"why"`
}

// ReachLeg is one link of a path.
type ReachLeg struct {
	From        string   `json:"from"`
	To          string   `json:"to"`
	Basis       string   `json:"basis"` // measured, predicted
	Margin      [2]int64 `json:"margin_cdb"`
	Probability [2]int64 `json:"probability_ppm"`
}

// ReachIsland is a group of paired devices with no path home.
type ReachIsland struct {
	Hub     string   `json:"hub"`
	Devices []string `json:"devices"`
	Sure    bool     `json:"sure"` // false: there may be a path after all
	Why     string   `json:"why"`
}

// ReachPoint is what others lose every path with.
type ReachPoint struct {
	ID      string   `json:"id"`
	Kind    string   `json:"kind"` // device, circuit
	Hub     string   `json:"hub"`
	Strands []string `json:"strands"` // they keep power and lose their path
	Dark    []string `json:"dark,omitempty"`
	Learned []string `json:"learned,omitempty"`
}

// ReachChange is what a supposition changes.
type ReachChange struct {
	Lost     []string `json:"lost"`
	Gained   []string `json:"gained"`
	Weaker   []string `json:"weaker"`
	Shaken   []string `json:"shaken"`   // keep their path, but no second one beside it
	Doubtful []string `json:"doubtful"` // were observed to have a path, which may be gone
	Dark     []string `json:"dark"`     // lose power, or are taken away
}

// ReachRelay is advice on one more relay.
type ReachRelay struct {
	Hub   string   `json:"hub"`
	Floor string   `json:"floor,omitempty"`
	Place [3]int64 `json:"place_mm"`
	Gains []string `json:"gains"`
	Frees []string `json:"frees"`
	Why   string   `json:"why"`
}

// Supposed is under which suppositions reach is asked.
type Supposed struct {
	mesh.What
	Advise bool             // say where one more relay helps most
	Of     []events.Subject // whose devices are listed; none for all
}

// Reach answers who has a path home at a moment.
func (m *Member) Reach(moment projection.Moment, w Supposed) (ReachAnswer, error) {
	s := m.At(moment)
	if err := w.known(s); err != nil {
		return ReachAnswer{}, err
	}
	ground, net := m.netOf(s, &w.What)
	a := reachOf(s, net, w.Of)
	a.Model, a.Notes, a.Supposed = ground.Model(), append(append([]string{}, ground.Notes()...), net.Notes()...), w.words()
	if len(w.Without)+len(w.Relays) > 0 {
		c := mesh.Compare(ground.Net(s, mesh.What{Planned: w.Planned, Now: w.Now}), net)
		a.Change = &ReachChange{texts(c.Lost), texts(c.Gained), texts(c.Weaker), texts(c.Shaken), texts(c.Doubtful), texts(c.Dark)}
	}
	if len(w.Without) > 0 {
		a.Cautions = []string{walk.CautionPower}
	}
	if w.Advise {
		if x, ok := net.BestRelay(); ok {
			a.Relay = &ReachRelay{string(x.Hub), string(x.Floor), [3]int64{x.Place.X, x.Place.Y, x.Place.Z}, texts(x.Gains), texts(x.Frees), x.Why}
		}
	}
	return a, nil
}

// netOf is who reaches whom under a supposition, or as things stand; it notes when that
// was asked.
func (m *Member) netOf(s *projection.Site, w *mesh.What) (*mesh.Ground, *mesh.Net) {
	if !w.Planned && len(w.Without)+len(w.Relays) == 0 {
		return m.net(s)
	}
	w.Now = m.world.wall()
	g := m.ground(s)
	return g, g.Net(s, *w)
}

// known refuses a supposition about what is not there.
func (w Supposed) known(s *projection.Site) error {
	for _, x := range w.Without {
		if x.Class != events.OfDevice && x.Class != events.OfCircuit && x.Class != events.OfHub {
			return fmt.Errorf("%s is no device, circuit or hub, so it can't be taken away", x.Words())
		}
		if !slices.Contains(named(s, x.ID), x) {
			return fmt.Errorf("nothing here is called %q at that moment: %w", x.ID, ErrUnknown)
		}
	}
	for _, r := range w.Relays {
		if _, ok := s.Hub(r.Hub); !ok && r.Hub != "" {
			return fmt.Errorf("no hub %s: %w; there are %s", r.Hub, ErrUnknown, hubNames(s))
		}
	}
	return nil
}

func (w Supposed) words() []string {
	var out []string
	if w.Planned {
		out = append(out, "every device on the schedule is paired and has power")
	}
	for _, x := range w.Without {
		out = append(out, "without "+x.Words())
	}
	for _, r := range w.Relays {
		words := fmt.Sprintf("with one more relay at %s", metresOf(r.Place))
		if r.Hub != "" {
			words += " on " + string(r.Hub)
		}
		out = append(out, words)
	}
	return out
}

// metresOf writes a place in metres.
func metresOf(p events.Point) string {
	return fmt.Sprintf("%.1f, %.1f, %.1f m", float64(p.X)/1000, float64(p.Y)/1000, float64(p.Z)/1000)
}

// ReachOf writes who reaches whom as a document.
func ReachOf(s *projection.Site, n *mesh.Net) ReachAnswer { return reachOf(s, n, nil) }

// reachOf lists of all devices those within some subjects, where any is given.
func reachOf(s *projection.Site, n *mesh.Net, of []events.Subject) ReachAnswer {
	w := writer{s, s.Location()}
	reaches, islands, points := n.Reaches(), n.Islands(), n.SinglePoints()
	if len(of) > 0 {
		reaches = slices.DeleteFunc(slices.Clone(reaches), func(r mesh.Reach) bool {
			d, _ := s.Device(r.Device)
			return !slices.ContainsFunc(of, func(x events.Subject) bool { return s.Within(d, x) })
		})
	}
	return ReachAnswer{
		V: AnswerVersion, Moment: w.moment(),
		Devices: listOf(reaches, w.reach),
		Islands: listOf(islands, func(x *mesh.Island) ReachIsland {
			return ReachIsland{string(x.Hub), texts(x.Devices), x.Sure, x.Why}
		}),
		SinglePoints: listOf(points, w.point),
	}
}

func (w writer) point(x *mesh.SinglePoint) ReachPoint {
	return ReachPoint{x.Of.ID, string(x.Of.Class), string(x.Hub), texts(x.Strands), texts(x.Dark), texts(x.Learned)}
}

func (w writer) reach(r *mesh.Reach) ReachDevice {
	d := ReachDevice{
		Tag: string(r.Device), Hub: string(r.Hub), OK: string(r.Answer), Basis: string(r.Basis),
		Hops: r.Hops, Path: texts(r.Path), Why: r.Why,
	}
	if r.Margin.Known {
		d.Margin = &[2]int64{r.Margin.Value.Lo, r.Margin.Value.Hi}
	}
	if r.Chance.Known {
		d.Probability = &[2]int64{r.Chance.Value.Lo, r.Chance.Value.Hi}
	}
	if r.Disjoint.Known {
		d.Disjoint = &r.Disjoint.Value
	}
	if r.Since.Known {
		d.Since = w.time(r.Since.Value)
	}
	return d
}
