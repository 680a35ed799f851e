package web

import (
	"fmt"
	"net/http"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/settle"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
)

// mostSteps is how many suggestions a page is sent; nobody reads more.
const mostSteps = 40

// nowAnswer is what one person at work needs to see.
type nowAnswer struct {
	V       int                            `json:"v"`
	Steps   []member.StepAnswer            `json:"steps"`
	More    int                            `json:"more"`
	Settle  []member.SettleAnswer          `json:"settle"`
	Mine    []string                       `json:"mine"` // hubs I am assigned to or was last at work on
	Devices map[string]member.StatusDevice `json:"devices"`
	Hubs    []member.StatusHub             `json:"hubs"`
	Needs   []need                         `json:"needs"`
}

// need is something that waits for a person's decision.
type need struct {
	Words   string `json:"words"`
	Screen  string `json:"screen"`
	Subject string `json:"subject"`
}

func (p *Page) now(*http.Request, projection.Moment) (any, error) {
	today := p.m.Today()
	s, judged := today.Site, today.Judged
	shown := today.Steps[:min(len(today.Steps), mostSteps)]
	out := nowAnswer{
		V: member.AnswerVersion, Steps: member.StepsOf(shown), More: len(today.Steps) - len(shown),
		Settle: member.SettleOf(s, judged), Mine: p.mine(s), Devices: map[string]member.StatusDevice{}, Hubs: member.HubsOf(s), Needs: p.needs(today),
	}
	for _, x := range shown {
		tag, _ := x.Subject.Tag()
		if d, ok := s.Device(tag); ok {
			out.Devices[string(tag)] = member.DeviceOf(s, d)
		}
	}
	return out, nil
}

// hubs is how each hub stands, and when it may be pushed; of both lists those that are
// named, where any is.
func (p *Page) hubs(r *http.Request, _ projection.Moment) (any, error) {
	out, wanted := map[string]any{"v": member.AnswerVersion}, list(r.URL.Query().Get("lists"))
	if len(wanted) == 0 || slices.Contains(wanted, "hubs") {
		out["hubs"] = member.HubsOf(p.m.Now())
	}
	if len(wanted) == 0 || slices.Contains(wanted, "settle") {
		judged, err := p.m.Settle()
		if err != nil {
			return nil, err
		}
		out["settle"] = member.SettleOf(p.m.Now(), judged)
	}
	return out, nil
}

// mine lists the hubs that this member is assigned to or has worked on.
func (p *Page) mine(s *projection.Site) []string {
	out := []string{}
	for i := range s.Hubs {
		h := &s.Hubs[i]
		_, assigned := h.Assigned[p.m.Key()]
		_, active := h.Active[p.m.Key()]
		if assigned || active {
			out = append(out, string(h.Hub))
		}
	}
	return out
}

// testable counts the tests that are owed and can be done at once. Whether a device
// answers is among the steps, each by itself.
func testable(book checks.Book) int {
	n := 0
	for _, r := range book.Rooms {
		for i := range r.Tests {
			if x := &r.Tests[i]; x.Owed() && x.Waits == "" && x.Test != events.TestAnswer {
				n++
			}
		}
	}
	return n
}

// needs lists what no log can settle by itself.
func (p *Page) needs(t member.Today) []need {
	s := t.Site
	out, mine := []need{}, p.mine(s)
	for _, c := range p.m.Conflicts(s) {
		about := ""
		if len(c.Subjects) > 0 {
			about = c.Subjects[0].String()
		}
		out = append(out, need{c.Why, "trouble", about})
	}
	for i := range s.Members {
		x := &s.Members[i]
		if x.Standing == projection.Provisional || x.Standing == projection.Quarantined {
			out = append(out, need{s.MemberName(x.Key) + " waits for a lead's word", "team", events.Member(x.Key).String()})
		}
	}
	for _, j := range t.Judged {
		if j.Verdict == settle.Ready && slices.Contains(mine, string(j.Hub)) {
			out = append(out, need{string(j.Hub) + ": push may go, as far as this device has heard. " + walk.CautionPush, "now", events.Hub(j.Hub).String()})
		}
	}
	switch n := testable(t.Book); {
	case n == 1:
		out = append(out, need{"1 functional test of a room is owed, and waits for nothing", "site?part=checks", ""})
	case n > 1:
		out = append(out, need{fmt.Sprintf("%d functional tests of rooms are owed, and wait for nothing", n), "site?part=checks", ""})
	}
	return out
}
