package web

import (
	"net/http"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/callback"
)

// explain says what in the log would explain a complaint.
func (p *Page) explain(r *http.Request, moment projection.Moment) (any, error) {
	v := r.URL.Query()
	from, to, err := p.span(r, moment)
	if err != nil {
		return nil, err
	}
	q := callback.Question{Symptom: callback.Symptom(v.Get("symptom")), From: from, To: to, Known: moment.Known, Now: p.o.Now().Wall.At}
	if from.Known && to.Known && from.Value > to.Value {
		return nil, wrongf("the time asked about ends before it begins; exchange from and to")
	}
	if q.About, err = p.m.Complained(v.Get("subject")); err != nil {
		return nil, err
	}
	doc, err := p.m.Explain(q)
	if err != nil {
		return nil, wrong{err}
	}
	return doc, nil
}

// differs says what is not the same at two moments, and who knew. What somebody
// knew is asked of the first one.
func (p *Page) differs(r *http.Request, moment projection.Moment) (any, error) {
	from, to, err := p.span(r, moment)
	if err != nil {
		return nil, err
	}
	if !from.Known {
		return nil, wrongf("say since when: from=14:05, yesterday 17:00, or 2026-03-02T14:05:00Z")
	}
	var about events.Subject
	if text := r.URL.Query().Get("subject"); text != "" {
		if about, err = p.m.Complained(text); err != nil {
			return nil, err
		}
	}
	doc, err := p.m.Changes(projection.Moment{When: from, Known: moment.Known}, projection.Moment{When: to}, about)
	return doc, err
}

// span reads from and to; at says until when as well.
func (p *Page) span(r *http.Request, moment projection.Moment) (from, to events.Maybe[events.Instant], err error) {
	v := r.URL.Query()
	to = moment.When
	if v.Get("to") != "" && to.Known {
		return from, to, wrongf("to and at both say until when; give one of them")
	}
	for name, into := range map[string]*events.Maybe[events.Instant]{"from": &from, "to": &to} {
		if text := v.Get(name); text != "" {
			t, err := p.instant(text)
			if err != nil {
				return from, to, err
			}
			*into = events.Some(t)
		}
	}
	return from, to, nil
}
