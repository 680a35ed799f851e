package simtest

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// This file judges from outside who may say what: by who was invited, what the
// lead said of whom, and what was on the lead's disk as it said so. The facts of
// every member must be as they would be if nobody had said the rest.

// lawful sees that nothing folds here that nobody might say.
func (h *host) lawful() {
	if h.w.broken != nil {
		return
	}
	said := h.lines()
	court := h.w.court(said)
	history := projection.History{Site: h.site}
	for _, e := range said {
		e := *e
		switch {
		case court.bars(&e): // it says nothing, long ago
			e.Payload, e.Told = events.Opaque{Of: "nothing"}, events.NewTold(events.Some(events.Interval{From: 1, To: 1}), e.By())
			e.Wall, e.Mono = events.Wall{At: 1}, events.Mono{}
		case !h.speaks(e.Kind()):
			e.Payload = events.Opaque{Of: e.Kind()}
		}
		history.Add(e)
	}
	if want, got := factsOf(history.At(projection.Moment{})), factsOf(h.m.Now()); want != got {
		h.w.breaks(Rightful, "%s's facts are not what those who may speak have said: …%s, not …%s", h.name, got[from(got, want):][:min(200, len(got)-from(got, want))], want[from(got, want):][:min(200, len(want)-from(got, want))])
	}
}

// from is where two texts begin to differ, and a little before.
func from(a, b string) int {
	n := 0
	for n < min(len(a), len(b)) && a[n] == b[n] {
		n++
	}
	return max(0, n-60)
}

// court is what is known of who may say what.
type court struct {
	roles    map[events.Key]events.Role
	lead     events.Key
	cuts     map[events.Key]map[events.Ref]bool // of the revoked: the lines that were accepted
	unproved map[events.Key]bool                // came by an invite that another used too, and no lead has admitted
}

func (w *world) court(said []*events.Event) *court {
	c := &court{
		roles: map[events.Key]events.Role{}, lead: w.hosts[0].key,
		cuts: map[events.Key]map[events.Ref]bool{}, unproved: map[events.Key]bool{},
	}
	joined := map[events.Key]bool{}
	for _, e := range said {
		if p, ok := e.Payload.(events.MemberJoined); ok && p.Key == e.Member() {
			joined[p.Key] = true
		}
	}
	for _, h := range w.hosts {
		if joined[h.key] {
			c.roles[h.key] = h.role
		}
		c.unproved[h.key] = h.token.Known && slices.ContainsFunc(w.hosts, func(o *host) bool {
			return o.key != h.key && o.token.Known && o.token.Value.Grant.Key == h.token.Value.Grant.Key && joined[o.key]
		})
	}
	for _, e := range said {
		if e.Member() != c.lead {
			continue
		}
		switch p := e.Payload.(type) {
		case events.MemberAdmitted:
			c.unproved[p.Key] = false
		case events.MemberRevoked:
			c.accept(said, p)
		}
	}
	return c
}

// accept takes in a revocation: of each feed it accepts the lines that lead to the
// head it names, and where one of them is missing whatever is before that.
func (c *court) accept(said []*events.Event, p events.MemberRevoked) {
	if c.cuts[p.Key] == nil {
		c.cuts[p.Key] = map[events.Ref]bool{}
	}
	at := map[place][]*events.Event{}
	for _, e := range said {
		at[place{e.Feed, e.Seq}] = append(at[place{e.Feed, e.Seq}], e)
	}
	for _, feed := range slices.Sorted(maps.Keys(p.Heads)) {
		hash := p.Heads[feed].Hash
		for q := p.Heads[feed].Seq; q > 0; q-- {
			before := events.Hash{}
			for _, e := range at[place{feed, q}] {
				if hash == (events.Hash{}) || e.Hash == hash {
					c.cuts[p.Key][e.Ref()] = true
					before = e.Prev
				}
			}
			hash = before
		}
	}
}

// bars says whether an entry counts for nothing.
func (c *court) bars(e *events.Event) bool {
	role, member := c.roles[e.Member()]
	accepted, revoked := c.cuts[e.Member()]
	void, voids := e.Payload.(events.EventVoided)
	switch {
	case e.Kind() == "member.joined":
		return !member
	case !member, revoked && !accepted[e.Ref()], !revoked && c.unproved[e.Member()]:
		return true
	case e.Kind() == "feed.started", e.Kind() == "clock.compared", !e.Understood():
		return false
	case role == events.Viewer:
		return true
	case role == events.Lead:
		return false
	case voids:
		return void.Event.Feed.Key() != e.Member()
	}
	return slices.Contains([]events.Kind{"site.opened", "settings.changed", "member.admitted", "member.revoked"}, e.Kind())
}

// factsOf writes down what a site's facts are, without what is only said of
// entries: oddities, and conflicts between entries that do not count.
func factsOf(s *projection.Site) string {
	a := member.StatusOf(s)
	a.Anomalies, a.Quarantined, a.NotUnderstood = nil, 0, 0
	a.Conflicts = slices.DeleteFunc(a.Conflicts, func(c member.StatusConflict) bool {
		return !slices.Contains([]string{string(projection.PairedTwice), string(projection.SerialTwice), string(projection.TwoSerials)}, c.Kind)
	})
	set := map[events.SettingKey]string{}
	for _, x := range events.Settings {
		set[x.Key] = s.Settings.Value(x.Key)
	}
	var refs []string
	for i := range s.Notes {
		refs = append(refs, s.Notes[i].Noted.Ref().String())
	}
	for i := range s.Photos {
		refs = append(refs, s.Photos[i].Added.Ref().String())
	}
	for i := range s.Exports {
		refs = append(refs, s.Exports[i].Exported.Ref().String())
	}
	for i := range s.Hubs {
		for _, p := range s.Hubs[i].Pairings {
			if p.Stands() {
				refs = append(refs, p.Ref().String())
			}
		}
	}
	b, err := json.Marshal(map[string]any{"status": a, "settings": set, "counts": refs})
	if err != nil {
		return err.Error()
	}
	return string(b)
}

// forksShow sees that wherever two lines stand at one place everybody is told.
func (h *host) forksShow() {
	s := h.m.Now()
	at := map[place]events.Ref{}
	for _, e := range h.lines() {
		was, taken := at[place{e.Feed, e.Seq}]
		at[place{e.Feed, e.Seq}] = e.Ref()
		if !taken || was == e.Ref() || h.w.byKey(e.Member()) == nil {
			continue
		}
		key := string(projection.ForkedFeed) + ":" + e.Feed.Short() + ":"
		open := slices.ContainsFunc(s.Conflicts, func(c projection.Conflict) bool { return strings.HasPrefix(c.Key, key) })
		closed := slices.ContainsFunc(s.Resolved, func(r projection.Resolution) bool { return strings.HasPrefix(r.Key, key) })
		if !open && !closed {
			h.w.breaks(InSight, "%s does not say that %s's feed forks at %d", h.name, h.w.nameOf(e.Member()), e.Seq)
			return
		}
	}
}
