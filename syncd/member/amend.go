package member

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// Void withdraws an entry. Members withdraw their own; leads anybody's.
func (m *Member) Void(ctx context.Context, ref events.Ref, why events.VoidWhy, note string) (events.Event, error) {
	e, err := m.mayVoid(ref)
	if err != nil {
		return events.Event{}, err
	}
	return m.recordOne(ctx, Entry{Payload: events.EventVoided{Event: e.Ref(), Why: why, Note: note}})
}

func (m *Member) recordOne(ctx context.Context, x Entry) (events.Event, error) {
	evs, err := m.Record(ctx, x)
	if err != nil {
		return events.Event{}, err
	}
	return evs[0], nil
}

func (m *Member) mayVoid(ref events.Ref) (*events.Event, error) {
	e, ok := m.find(ref)
	if !ok {
		return nil, fmt.Errorf("void: no such entry: %w", ErrUnknown)
	}
	if !projection.Voidable(e.Kind()) {
		return nil, fmt.Errorf("void: a %s entry stays; say the opposite in a new entry instead", e.Kind())
	}
	s := m.Now()
	me, joined := s.Member(m.Key())
	if e.Member() != m.Key() && (!joined || me.Role != events.Lead) {
		return nil, fmt.Errorf("void: this entry is %s's; they or a lead can withdraw it: %w", s.MemberName(e.Member()), ErrRole)
	}
	return e, nil
}

func (m *Member) find(ref events.Ref) (*events.Event, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.history.Find(ref)
}

// Correction is what a correction changes; what is zero stays.
type Correction struct {
	Tag    events.Tag
	Serial events.Serial
	Hub    events.HubID
	Note   string
}

// Correct withdraws an entry for a wrong detail and makes it anew with the
// detail changed, at the time the first one told of.
func (m *Member) Correct(ctx context.Context, ref events.Ref, c Correction) ([]events.Event, error) {
	e, err := m.mayVoid(ref)
	if err != nil {
		return nil, err
	}
	again, err := corrected(e.Payload, c)
	if err != nil {
		return nil, fmt.Errorf("correct: %w", err)
	}
	return m.Record(ctx, m.voidAndAgain(e, again, c.Note)...)
}

// Exchange corrects two devices that were taken for each other: the last pairing
// and the serial of each go to the other.
func (m *Member) Exchange(ctx context.Context, a, b events.Tag, note string) ([]events.Event, error) {
	s := m.Now()
	var entries []Entry
	for _, swap := range [][2]events.Tag{{a, b}, {b, a}} {
		d, ok := s.Device(swap[0])
		if !ok {
			return nil, fmt.Errorf("exchange: no device %s: %w", swap[0], ErrUnknown)
		}
		for _, e := range unitEntries(d) {
			if _, err := m.mayVoid(e.Ref()); err != nil {
				return nil, err
			}
			again, err := corrected(e.Payload, Correction{Tag: swap[1]})
			if err != nil {
				return nil, fmt.Errorf("exchange: %w", err)
			}
			entries = append(entries, m.voidAndAgain(e, again, note)...)
		}
	}
	if len(entries) == 0 {
		return nil, errors.New("exchange: neither is fitted or paired, so there is nothing to exchange")
	}
	return m.Record(ctx, entries...)
}

// unitEntries are the entries that put a unit at a device's position.
func unitEntries(d *projection.Device) []*events.Event {
	var out []*events.Event
	if d.Paired != nil {
		out = append(out, d.Paired.Event)
	}
	if d.Fitted != nil && (d.Paired == nil || d.Fitted.Event != d.Paired.Event) {
		out = append(out, d.Fitted.Event)
	}
	return out
}

func (m *Member) voidAndAgain(e *events.Event, again events.Payload, note string) []Entry {
	return []Entry{
		{Payload: events.EventVoided{Event: e.Ref(), Why: events.WrongDetail, Note: note}},
		{Payload: again, When: events.Some(m.toldOf(e)), By: e.By()},
	}
}

// toldOf is the time an entry tells of, by this device's clock as well as it is
// known: as it was written where the entry is our own, but for what the clock was
// set by since in the same boot; and with the tolerance of a typed time where
// another clock wrote it.
func (m *Member) toldOf(e *events.Event) events.Interval {
	told := events.At(e.Wall.At)
	if e.When().Known {
		told = e.When().Value
	}
	if e.Member() == m.Key() {
		now, then := m.world.Now(), e.Stamp()
		if then.Mono.Known() && then.Mono.Boot == now.Mono.Boot {
			set := time.Duration(now.Base()-then.Base()) * time.Millisecond
			told = events.Interval{From: told.From.Add(set), To: told.To.Add(set)}
		}
		return told
	}
	tolerance := m.Now().Settings.Span(events.WhenTolerance, time.Minute)
	return events.Interval{From: told.From.Add(-tolerance), To: told.To.Add(tolerance)}
}

// corrected is a payload about one device with a detail changed.
func corrected(p events.Payload, c Correction) (events.Payload, error) {
	changed := 0
	tag := func(t *events.Tag) {
		if c.Tag != "" {
			*t = c.Tag
			changed++
		}
	}
	serial := func(s *events.Serial) {
		if c.Serial != "" {
			*s = c.Serial
			changed++
		}
	}
	hub := func(h *events.HubID) {
		if c.Hub != "" {
			*h = c.Hub
			changed++
		}
	}
	var out events.Payload
	switch q := p.(type) {
	case events.DevicePaired:
		tag(&q.Device)
		serial(&q.Serial)
		hub(&q.Hub)
		out = q
	case events.DeviceFitted:
		tag(&q.Device)
		serial(&q.Serial)
		out = q
	case events.DeviceReplaced:
		tag(&q.Device)
		serial(&q.New)
		out = q
	case events.DeviceRefused:
		tag(&q.Device)
		out = q
	case events.DeviceSkipped:
		tag(&q.Device)
		out = q
	case events.DeviceUnpaired:
		tag(&q.Device)
		out = q
	case events.DeviceHeard:
		tag(&q.Device)
		hub(&q.Hub)
		out = q
	default:
		return nil, fmt.Errorf("a %s entry can't be corrected so; withdraw it and log it again", p.Kind())
	}
	if want := c.wants(); changed != want {
		return nil, fmt.Errorf("a %s entry does not have all of the details you change", p.Kind())
	} else if want == 0 {
		return nil, errors.New("say what is to change: --tag, --serial or --to-hub")
	}
	return out, nil
}

func (c Correction) wants() int {
	n := 0
	for _, s := range []string{string(c.Tag), string(c.Serial), string(c.Hub)} {
		if strings.TrimSpace(s) != "" {
			n++
		}
	}
	return n
}

// Resolve closes a conflict: what stands, and why. What stands is one of the
// offers of the conflict, by its value or its number from 1, or "" where there
// is nothing to choose.
func (m *Member) Resolve(ctx context.Context, key, stands, why string) (events.Event, error) {
	c, err := m.conflict(key)
	if err != nil {
		return events.Event{}, err
	}
	choice, err := choose(c, stands)
	if err != nil {
		return events.Event{}, err
	}
	return m.recordOne(ctx, Entry{Payload: events.ConflictResolved{Key: c.Key, Stands: choice, Why: why}})
}

// conflict finds an open conflict by its key or the start of it.
func (m *Member) conflict(key string) (projection.Conflict, error) {
	var found []projection.Conflict
	for _, c := range m.Conflicts(m.Now()) {
		if c.Key == key {
			return c, nil
		}
		if strings.HasPrefix(c.Key, key) {
			found = append(found, c)
		}
	}
	switch len(found) {
	case 0:
		return projection.Conflict{}, fmt.Errorf("no open conflict %q; list them with: pairwalk conflicts", key)
	case 1:
		return found[0], nil
	}
	return projection.Conflict{}, fmt.Errorf("%q begins the keys of %d conflicts; give more of it", key, len(found))
}

func choose(c projection.Conflict, stands string) (string, error) {
	if len(c.Offers) == 0 && stands == "" {
		return "", nil
	}
	var lines []string
	for i, o := range c.Offers {
		if stands == o.Stands || stands == fmt.Sprint(i+1) {
			return o.Stands, nil
		}
		lines = append(lines, fmt.Sprintf("  %d  %s", i+1, o.Words))
	}
	if len(lines) == 0 {
		return "", errors.New("this conflict has nothing to choose; leave --stands out")
	}
	return "", fmt.Errorf("say with --stands which one is right:\n%s", strings.Join(lines, "\n"))
}
