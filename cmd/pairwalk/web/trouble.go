package web

import (
	"net/http"
	"slices"

	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// trouble is everything that does not go as it should; of its lists those that are
// named, where any is.
func (p *Page) trouble(r *http.Request, moment projection.Moment) (any, error) {
	s := p.m.At(moment)
	doubted, odd := p.m.Uncounted(moment)
	out, wanted := map[string]any{"v": member.AnswerVersion}, list(r.URL.Query().Get("lists"))
	for name, told := range map[string]func() any{
		"conflicts": func() any { return member.ConflictsAnswer(p.m.Conflicts(s)) }, "faults": func() any { return member.FoundOf(s) },
		"holds": func() any { return member.HoldsOf(s) }, "anomalies": func() any { return member.AnomaliesOf(s) },
		"quarantined": func() any { return member.HistoryOf(s, doubted) }, "not_understood": func() any { return member.HistoryOf(s, odd) },
	} {
		if len(wanted) == 0 || slices.Contains(wanted, name) {
			out[name] = told()
		}
	}
	return out, nil
}
