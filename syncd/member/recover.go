package member

import (
	"context"
	"errors"
	"fmt"
	"io"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/invite"
	"pairwalk/projection"
)

// Recover makes this installation a lead of a site by its recovery sheet, for
// when every lead's device is lost.
func (h *Home) Recover(ctx context.Context, root invite.Root, o Opening) (*Member, error) {
	if h.world.MadeUp && !o.Practice {
		return nil, ErrNotPractice
	}
	if _, err := h.Find(string(root.Site())); err == nil {
		return nil, errors.New("recover: this home is on that site already; use another --home")
	}
	keys, err := newKeys(h.world.Rand, root.Site(), root.Key(), o)
	if err != nil {
		return nil, err
	}
	return h.settle(ctx, keys, root.Lead(o.Person, o.Contact, keys.key(), keys.bus()))
}

// RecoverFrom is Recover with the log in a bundle: it says what the site is called,
// and is taken in at once. The bundle proves nothing of the root; what is in it does.
func (h *Home) RecoverFrom(ctx context.Context, root invite.Root, person, contact string, r io.Reader) (*Member, Received, error) {
	b, err := bundle.Read(r)
	if err != nil {
		return nil, Received{}, err
	}
	if err := root.For(b.Site); err != nil {
		return nil, Received{}, err
	}
	history := projection.History{Site: b.Site}
	for _, run := range b.Runs() {
		history.Adopt(h.world.decode(run.Lines))
	}
	site := history.At(projection.Moment{})
	o := Opening{Name: b.Name, Person: person, Contact: contact, Practice: b.Practice, Zone: site.Zone}
	if !site.Opened.IsZero() {
		o.Name, o.Practice = site.Name, site.Practice
	}
	m, err := h.Recover(ctx, root, o)
	if err != nil {
		return nil, Received{}, err
	}
	got, err := m.bundleIn(ctx, b)
	if err != nil {
		return nil, got, errors.Join(fmt.Errorf("%w; you are a lead of the site already, so go on with: pairwalk bundle in", err), m.Close())
	}
	return m, got, nil
}

// OtherLeads are those whose word counts as a lead's, besides this member.
func (m *Member) OtherLeads() []*projection.Member {
	s := m.Now()
	var out []*projection.Member
	for i := range s.Members {
		x := &s.Members[i]
		if x.Role == events.Lead && x.Standing == projection.Admitted && x.Key != m.self {
			out = append(out, x)
		}
	}
	return out
}
