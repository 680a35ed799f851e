package web

import (
	"net"
	"net/http"
	"time"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/member"
)

func (p *Page) assign(r *http.Request, said struct {
	Hub    events.HubID `json:"hub"`
	Member string       `json:"member"`
	Ended  bool         `json:"ended"`
}) (any, error) {
	who, err := p.m.Person(said.Member)
	if err != nil {
		return nil, err
	}
	return p.one(r.Context(), events.HubAssigned{Hub: said.Hub, Member: who.Key, Ended: said.Ended})
}

func (p *Page) admit(r *http.Request, said struct {
	Member string `json:"member"`
}) (any, error) {
	who, err := p.m.Person(said.Member)
	if err != nil {
		return nil, err
	}
	return p.recordedOne(func() (events.Event, error) { return p.m.Admit(r.Context(), who) })
}

func (p *Page) revoke(r *http.Request, said struct {
	Member string `json:"member"`
	Why    string `json:"why"`
	Last   string `json:"last"`
	Sheet  string `json:"sheet"`
}) (any, error) {
	who, err := p.m.Person(said.Member)
	if err != nil {
		return nil, err
	}
	how := member.Revoking{Why: said.Why, Sheet: said.Sheet}
	if said.Last != "" {
		if how.Last, err = p.m.Entry(said.Last); err != nil {
			return nil, err
		}
	}
	return p.recordedOne(func() (events.Event, error) { return p.m.Revoke(r.Context(), who, how) })
}

// mostInvite is how long an invite may be good for, asked by a page.
const mostInvite = 90 * 24 * time.Hour

func (p *Page) invite(r *http.Request, said struct {
	Role  events.Role `json:"role"`
	Hours float64     `json:"hours"`
	Sheet string      `json:"sheet"`
}) (any, error) {
	lasts := time.Duration(said.Hours * float64(time.Hour))
	if lasts < time.Hour || lasts > mostInvite {
		return nil, wrongf("an invite is good for an hour at the least and %d days at the most", mostInvite/(24*time.Hour))
	}
	points := []invite.Meeting{}
	if p.o.Meeting != nil {
		var err error
		if points, err = p.o.Meeting.Points(); err != nil {
			return nil, err
		}
	}
	token, err := p.m.Invite(said.Role, lasts, said.Sheet, points...)
	if err != nil {
		return nil, err
	}
	modules, err := invite.Modules(token.String())
	if err != nil {
		return nil, err
	}
	meets := []string{}
	for _, x := range points {
		meets = append(meets, x.Addr)
	}
	return map[string]any{
		"v": member.AnswerVersion, "token": token.String(), "role": said.Role, "meets": meets, "modules": modules,
		"expires": p.clock(p.m.Now(), token.Grant.Expires),
	}, nil
}

// place is where another device is called.
type place struct {
	Addr string `json:"addr"`
}

func (p *Page) call(_ *http.Request, said place) (any, error) {
	return p.at(said, func() { p.o.Meeting.Call(said.Addr) })
}

func (p *Page) hangUp(_ *http.Request, said place) (any, error) {
	return p.at(said, func() { p.o.Meeting.HangUp(said.Addr) })
}

// at does something at an address, if it is one.
func (p *Page) at(said place, do func()) (any, error) {
	if host, port, err := net.SplitHostPort(said.Addr); err != nil || host == "" || port == "" {
		return nil, wrongf("%q is no address; write it like 192.0.2.17:24517", said.Addr)
	}
	if p.o.Meeting == nil {
		return nil, wrongf("this process meets nobody")
	}
	do()
	return map[string]any{}, nil
}

func (p *Page) bundleOut(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/octet-stream")
	if _, err := p.m.BundleOut(r.Context(), w); err != nil {
		panic(http.ErrAbortHandler) // half a file must not look like a whole one
	}
}

func (p *Page) bundleIn(w http.ResponseWriter, r *http.Request) (any, error) {
	got, err := p.m.BundleIn(r.Context(), http.MaxBytesReader(w, r.Body, mostBundle))
	if err != nil {
		return nil, err
	}
	conflicts := []string{}
	for _, c := range got.New {
		conflicts = append(conflicts, c.Why)
	}
	return map[string]any{
		"v": member.AnswerVersion, "words": got.Words(), "from": got.From, "fresh": got.Fresh, "known": got.Known, "healed": got.Healed, "strange": got.Strange,
		"admitted": full(got.Admitted), "waiting": full(got.Waiting), "conflicts": conflicts, "they_lack": got.Theirs,
	}, nil
}
