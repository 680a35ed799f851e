package member

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/projection"
)

// Invite makes a token that lets one new member in. Inviting a lead takes the
// recovery sheet: only the root makes leads.
func (m *Member) Invite(role events.Role, lasts time.Duration, sheet string, meet ...invite.Meeting) (invite.Token, error) {
	s := m.Now()
	offer := invite.Offer{
		SiteName: m.keys.SiteName, Practice: m.keys.Practice, Zone: m.keys.Zone,
		Role: role, Expires: m.world.wall().Add(lasts), Meet: meet,
	}
	if role == events.Lead {
		if sheet == "" {
			return invite.Token{}, errors.New("only the root makes leads: give the twelve words of the recovery sheet with --sheet")
		}
		root, err := m.root(sheet)
		if err != nil {
			return invite.Token{}, err
		}
		return root.NewToken(m.world.Rand, offer)
	}
	me, ok := s.Member(m.Key())
	if !ok || me.Role != events.Lead || me.Standing != projection.Admitted {
		return invite.Token{}, fmt.Errorf("invite: %w", invite.ErrNotLead)
	}
	return invite.NewToken(m.world.Rand, m.signer, m.keys.Root, me.Joined.Event.Payload.(events.MemberJoined), offer)
}

// root reads a recovery sheet and checks that it is this site's.
func (m *Member) root(sheet string) (invite.Root, error) {
	root, err := invite.RootFromSheet(sheet)
	if err != nil {
		return invite.Root{}, err
	}
	return root, root.For(m.keys.Site)
}

// Person finds a member by name, the start of the key, or name~key.
func (m *Member) Person(text string) (*projection.Member, error) {
	s := m.Now()
	var found []*projection.Member
	for i := range s.Members {
		x := &s.Members[i]
		if strings.EqualFold(s.MemberName(x.Key), text) || string(x.Key) == text {
			return x, nil
		}
		if strings.EqualFold(x.Name, text) || len(text) >= 4 && strings.HasPrefix(string(x.Key), text) {
			found = append(found, x)
		}
	}
	if len(found) == 1 {
		return found[0], nil
	}
	var names []string
	for _, x := range s.Members {
		names = append(names, s.MemberName(x.Key))
	}
	if len(found) > 1 {
		return nil, fmt.Errorf("%q is the name of %d members; say which: %s", text, len(found), strings.Join(names, ", "))
	}
	return nil, fmt.Errorf("no member %q: %w; there are %s", text, ErrUnknown, strings.Join(names, ", "))
}

// Admit is the lead's word that a member came rightly.
func (m *Member) Admit(ctx context.Context, who *projection.Member) (events.Event, error) {
	if who.Invite == "" {
		return events.Event{}, fmt.Errorf("admit: %s came by no invite and needs no admission", who.Name)
	}
	if err := m.mustLead("admit"); err != nil {
		return events.Event{}, err
	}
	return m.recordOne(ctx, Entry{Payload: events.MemberAdmitted{Key: who.Key, Invite: who.Invite}})
}

func (m *Member) mustLead(verb string) error {
	s := m.Now()
	if me, ok := s.Member(m.Key()); ok && me.Role == events.Lead && me.Standing == projection.Admitted {
		return nil
	}
	return fmt.Errorf("%s: %w; ask a lead", verb, ErrRole)
}

// Set changes settings of the site.
func (m *Member) Set(ctx context.Context, key events.SettingKey, value string) (events.Event, error) {
	setting, ok := events.SettingFor(key)
	if !ok {
		return events.Event{}, fmt.Errorf("no setting %q; list them with: pairwalk set", key)
	}
	if key == events.ClockReference && value != "" {
		who, err := m.Person(value)
		if err != nil {
			return events.Event{}, err
		}
		value = string(who.Key)
	}
	if err := setting.Check(value); err != nil {
		return events.Event{}, err
	}
	if err := m.mustLead("set " + string(key)); err != nil {
		return events.Event{}, err
	}
	return m.recordOne(ctx, Entry{Payload: events.SettingsChanged{Set: map[events.SettingKey]string{key: value}}})
}
