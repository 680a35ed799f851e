package web

import (
	"net/http"
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/spectrum"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
)

// question is answered with a document, as of a moment where that makes sense.
type question func(r *http.Request, moment projection.Moment) (any, error)

// questions are what may be asked, below /api/.
func (p *Page) questions() map[string]question {
	return map[string]question{
		"hello": p.hello, "now": p.now, "status": p.status, "trouble": p.trouble, "story": p.story, "show": p.show,
		"reach": p.reach, "layout": p.layout, "course": p.course, "team": p.team, "settings": p.settings, "pictures": p.pictures,
		"hubs": p.hubs, "channels": p.channels, "walk": p.walk, "leave": p.leave,
		"explain": p.explain, "differs": p.differs, "checks": p.checks, "faults": p.faults,
		"doctor": p.doctor,
	}
}

// ask answers a question.
func (p *Page) ask(q question) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		moment, err := p.moment(r)
		if err != nil {
			p.fail(w, err)
			return
		}
		doc, err := q(r, moment)
		p.tellAgain(w, r, doc, err)
	}
}

// hello is what a page needs before it can show anything.
func (p *Page) hello(r *http.Request, moment projection.Moment) (any, error) {
	s, info := p.m.Now(), p.m.Info()
	role := ""
	if x, ok := s.Member(p.m.Key()); ok {
		role = string(x.Role)
	}
	return map[string]any{
		"v": member.AnswerVersion, "page": p.digest, "beyond": beyond(r), "now": p.reading(s),
		"site":    map[string]any{"id": info.ID, "name": info.Name, "zone": s.Zone, "practice": info.Practice},
		"me":      map[string]any{"name": info.Member, "key": info.Key, "role": role},
		"refused": events.RefusedWhys, "skipped": events.SkippedWhys, "severities": events.Severities,
		"kinds": events.DeviceKinds, "tests": events.TestKinds, "permit": walk.CautionPermit,
		"cautions": map[string]string{
			"push": walk.CautionPush, "power": walk.CautionPower, "hold": walk.CautionHold, "mains": walk.CautionMains, "emergency": walk.CautionEmergency,
		},
	}, nil
}

func (p *Page) status(r *http.Request, moment projection.Moment) (any, error) {
	return member.StatusOf(p.m.At(moment)), nil
}

func (p *Page) pictures(r *http.Request, moment projection.Moment) (any, error) {
	return p.m.Pictures(moment), nil
}

func (p *Page) show(r *http.Request, moment projection.Moment) (any, error) {
	about, err := p.m.Subject(r.URL.Query().Get("subject"))
	if err != nil {
		return nil, err
	}
	return p.m.Show(moment, about), nil
}

func (p *Page) reach(r *http.Request, moment projection.Moment) (any, error) {
	q := r.URL.Query()
	what := member.Supposed{What: mesh.What{Planned: q.Get("planned") != ""}, Advise: q.Get("advise") != ""}
	if q.Has("floor") {
		what.Of = []events.Subject{events.Floor(events.FloorID(q.Get("floor"))), events.Device(events.Tag(q.Get("device")))}
	}
	for _, text := range list(q.Get("without")) {
		x, err := p.m.Subject(text)
		if err != nil {
			return nil, err
		}
		what.Without = append(what.Without, x)
	}
	doc, err := p.m.Reach(moment, what)
	return doc, err
}

// list parts a list at its commas.
func list(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' })
}

func (p *Page) layout(r *http.Request, moment projection.Moment) (any, error) {
	return member.LayoutOf(p.m.Now()), nil
}

func (p *Page) course(r *http.Request, moment projection.Moment) (any, error) {
	return p.m.CourseAfter(moment.Known, r.URL.Query().Get("after")), nil
}

func (p *Page) settings(r *http.Request, moment projection.Moment) (any, error) {
	s := p.m.Now()
	type setting struct {
		Key     events.SettingKey `json:"key"`
		Value   string            `json:"value"`
		Default string            `json:"default"` // what holds where nobody set it
		Unit    string            `json:"unit"`
		Doc     string            `json:"doc"`
		Set     bool              `json:"set"`
	}
	out := []setting{}
	for _, x := range events.Settings {
		out = append(out, setting{x.Key, s.Settings.Value(x.Key), x.Default, x.Unit, x.Doc, s.Settings.Event(x.Key) != nil})
	}
	return map[string]any{"v": member.AnswerVersion, "settings": out}, nil
}

func (p *Page) channels(r *http.Request, moment projection.Moment) (any, error) {
	q := r.URL.Query()
	doc, err := p.m.Channels(moment, spectrum.Options{Move: q.Get("move") != "", Apart: q.Get("apart") != ""})
	return doc, err
}

func (p *Page) walk(r *http.Request, moment projection.Moment) (any, error) {
	q, from := r.URL.Query(), p.o.Now().Wall.At
	var err error
	if text := q.Get("from"); text != "" {
		if from, err = p.instant(text); err != nil {
			return nil, err
		}
	}
	var said []string
	if text := q.Get("people"); text != "" {
		said = strings.Split(text, ",")
	}
	people, err := p.m.Walkers(said)
	if err != nil {
		return nil, err
	}
	return p.m.Walk(moment, people, from), nil
}

func (p *Page) leave(r *http.Request, moment projection.Moment) (any, error) {
	steps, err := p.m.Leave(events.FloorID(r.URL.Query().Get("floor")))
	return map[string]any{"v": member.AnswerVersion, "steps": member.StepsOf(steps)}, err
}

// story lists entries, the latest first.
func (p *Page) story(r *http.Request, moment projection.Moment) (any, error) {
	q := r.URL.Query()
	var about events.Subject
	var err error
	if text := q.Get("subject"); text != "" {
		if about, err = p.m.Subject(text); err != nil {
			return nil, err
		}
	}
	most := 60
	if n, err := strconv.Atoi(q.Get("limit")); err == nil && n > 0 {
		most = min(n, 500)
	}
	choice := member.Choice{Member: q.Get("member"), Kinds: list(q.Get("kind")), Refs: list(q.Get("refs")), Text: q.Get("text")}
	leaf, err := p.m.Leaf(moment, about, choice, q.Get("before"), most)
	if err != nil {
		return nil, wrong{err}
	}
	s := p.m.At(projection.Moment{Known: moment.Known})
	return map[string]any{"v": member.AnswerVersion, "entries": member.HistoryOf(s, leaf.Said), "more": leaf.More, "total": leaf.Total}, nil
}

// doctor looks whether this installation is well, for one at a time: it reads
// everything there is.
func (p *Page) doctor(*http.Request, projection.Moment) (any, error) {
	p.looking.Lock()
	defer p.looking.Unlock()
	return p.o.Doctor()
}
