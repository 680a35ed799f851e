package web

import (
	"net/http"

	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// trouble is everything that does not go as it should.
func (p *Page) trouble(_ *http.Request, moment projection.Moment) (any, error) {
	s := p.m.At(moment)
	doubted, odd := p.m.Uncounted(moment)
	return map[string]any{
		"v": member.AnswerVersion, "conflicts": member.ConflictsOf(s), "faults": member.FoundOf(s), "holds": member.HoldsOf(s), "anomalies": member.AnomaliesOf(s),
		"quarantined": member.HistoryOf(s, doubted), "not_understood": member.HistoryOf(s, odd),
	}, nil
}
