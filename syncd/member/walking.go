package member

import (
	"fmt"
	"slices"
	"strconv"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/walk"
)

// WalkAnswer is everybody's whole job, from the state of a moment to the finish.
type WalkAnswer struct {
	V      int          `json:"v"`
	Moment StatusMoment `json:"moment"`
	From   string       `json:"from"`
	Model  string       `json:"model"` // how links are predicted
	People []WalkPerson `json:"people"`
	Hubs   []WalkHub    `json:"hubs"`
	Finish string       `json:"finish"`
	Notes  []string     `json:"notes"`
}

// WalkPerson is one person's part.
type WalkPerson struct {
	Member string     `json:"member"`
	Steps  []WalkStep `json:"steps"`
	Metres int64      `json:"metres"` // walked where places are known
	Ends   string     `json:"ends"`
}

// WalkStep is one thing to do at its time.
type WalkStep struct {
	Tag      string   `json:"tag"` // of a device, else ""
	At       string   `json:"at"`
	Via      string   `json:"via"` // what a device joins through, "" where nothing tells
	Act      string   `json:"act"`
	Subject  string   `json:"subject"`
	Hub      string   `json:"hub"`
	Until    string   `json:"until"`
	Why      string   `json:"why,omitempty"`
	Cautions []string `json:"cautions,omitempty"`
}

// WalkHub is when a hub comes to each stage, "" for one it is past or won't reach.
type WalkHub struct {
	ID      string `json:"id"`
	Ready   string `json:"ready"`
	Paired  string `json:"paired"`
	Settled string `json:"settled"`
	Pushed  string `json:"pushed"`
	Proved  string `json:"proved"`
}

// mostPeople is how many a walk is shared among.
const mostPeople = 4

// Walkers finds who walks: by name, by number, or, where nothing is said, the
// team's leads and technicians.
func (m *Member) Walkers(said []string) ([]walk.Person, error) {
	team := walkers(m.Now())
	if len(said) == 1 {
		if n, err := strconv.Atoi(said[0]); err == nil {
			if n < 1 || n > mostPeople {
				return nil, fmt.Errorf("a walk is for 1 to %d people, not %d", mostPeople, n)
			}
			for len(team) < n {
				team = append(team, walk.Person{Name: fmt.Sprintf("person %d", len(team)+1)})
			}
			return team[:n], nil
		}
	}
	if len(said) == 0 {
		return team[:min(len(team), mostPeople)], nil
	}
	var out []walk.Person
	for _, name := range said {
		who, err := m.Person(name)
		if err != nil {
			return nil, err
		}
		p := walk.Person{Key: who.Key, Name: m.Now().MemberName(who.Key)}
		if slices.Contains(out, p) {
			return nil, fmt.Errorf("%s is named twice", p.Name)
		}
		out = append(out, p)
	}
	if len(out) > mostPeople {
		return nil, fmt.Errorf("a walk is for 1 to %d people, not %d", mostPeople, len(out))
	}
	return out, nil
}

// walkers are the members who may do field work, in the order they joined.
func walkers(s *projection.Site) []walk.Person {
	var out []walk.Person
	for i := range s.Members {
		x := &s.Members[i]
		works := x.Role == events.Lead || x.Role == events.Tech
		if works && (x.Standing == projection.Admitted || x.Standing == projection.Provisional) {
			out = append(out, walk.Person{Key: x.Key, Name: s.MemberName(x.Key)})
		}
	}
	if len(out) == 0 {
		out = append(out, walk.Person{Name: "person 1"})
	}
	return out
}

// Walk plans the job from the state of a moment, beginning at an instant.
func (m *Member) Walk(moment projection.Moment, people []walk.Person, from events.Instant) WalkAnswer {
	s := m.At(moment)
	g := m.ground(s)
	w := writer{s, s.Location()}
	plan := walk.Plan(s, g, people, from)
	at := func(i events.Instant) string {
		if i == 0 {
			return ""
		}
		return w.time(i)
	}
	return WalkAnswer{
		V: AnswerVersion, Moment: w.moment(), From: w.time(from), Model: g.Model(), Finish: w.time(plan.Finish), Notes: texts(plan.Notes),
		People: listOf(plan.People, func(p *walk.Part) WalkPerson {
			return WalkPerson{p.Person.Name, listOf(p.Stops, w.stop), p.Metres, w.time(p.Ends)}
		}),
		Hubs: listOf(plan.Hubs, func(h *walk.HubMoments) WalkHub {
			return WalkHub{string(h.Hub), at(h.Ready), at(h.Paired), at(h.Settled), at(h.Pushed), at(h.Proved)}
		}),
	}
}

func (w writer) stop(x *walk.Stop) WalkStep {
	tag, _ := x.Subject.Tag()
	return WalkStep{
		Tag: string(tag), At: w.time(x.At), Via: string(x.Via), Act: string(x.Act), Subject: x.Subject.String(), Hub: string(x.Hub),
		Until: w.time(x.Until), Why: x.Why, Cautions: x.Cautions,
	}
}
