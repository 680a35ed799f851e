package web

import (
	"net/http"

	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// team is the members, and how this device meets them.
func (p *Page) team(*http.Request, projection.Moment) (any, error) {
	s, doc := p.m.Now(), p.m.Members()
	type person struct {
		member.MemberDocument
		Through string `json:"through,omitempty"` // their log is held here whole up to then
	}
	through := p.m.Through()
	people := make([]person, len(doc.Members))
	for i, x := range doc.Members {
		people[i] = person{MemberDocument: x}
		if at, ok := through[x.Key]; ok {
			people[i].Through = p.clock(s, at)
		}
	}
	out := map[string]any{
		"v": member.AnswerVersion, "members": people, "unsent": doc.Unsent, "within": []Within{}, "addrs": []string{}, "calls": []Call{},
		"refusals": p.refusals(s), "meetings": p.meetings(),
	}
	if t := p.o.Meeting; t != nil {
		out["within"], out["addrs"], out["calls"] = full(t.Within()), full(t.Addrs()), full(t.Calls())
	}
	return out, nil
}

func (p *Page) meetings() []string {
	out := []string{}
	for _, x := range p.m.Meetings() {
		out = append(out, x.Addr)
	}
	return out
}

type refusal struct {
	Why   string `json:"why"`
	From  string `json:"from"`
	Count int    `json:"count"`
	Last  string `json:"last"`
}

func (p *Page) refusals(s *projection.Site) []refusal {
	out := []refusal{}
	for _, x := range p.m.Refusals() {
		out = append(out, refusal{x.Why, x.From, x.Count, p.clock(s, x.Last)})
	}
	return out
}
