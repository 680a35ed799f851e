package web

import (
	"net/http"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// trouble is everything that does not go as it should.
func (p *Page) trouble(_ *http.Request, moment projection.Moment) (any, error) {
	s := p.m.At(moment)
	status := member.StatusOf(s)
	doubted, odd := []member.Said{}, []member.Said{}
	for _, x := range p.m.History(moment, events.Subject{}) {
		switch {
		case x.Quarantined != "":
			doubted = append(doubted, x)
		case !x.Event.Understood():
			odd = append(odd, x)
		}
	}
	return map[string]any{
		"v": member.AnswerVersion, "conflicts": status.Conflicts, "faults": status.Faults, "holds": status.Holds, "anomalies": status.Anomalies,
		"quarantined": member.HistoryOf(s, doubted), "not_understood": member.HistoryOf(s, odd),
	}, nil
}
