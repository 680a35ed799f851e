package member

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Entry is something to record: what happened, when if not now, and who did it
// if not this member.
type Entry struct {
	Payload events.Payload
	When    events.Maybe[events.Interval] // by this device's clock
	By      string
	Once    Once // zero: draw one
}

// Once is the random half of an entry's id, drawn by whoever asks for the entry.
// Asking again with the same one records nothing more, for as long as the log
// lasts: the log itself remembers.
type Once [10]byte

// Record writes entries, all or none, and returns them when they are on disk.
// An entry without shape is refused, naming the field; so is one whose time has
// not come. Where entries say who drew them ([Once]) and were recorded before,
// those are returned.
func (m *Member) Record(ctx context.Context, entries ...Entry) ([]events.Event, error) {
	if len(entries) > 0 && entries[0].Once != (Once{}) {
		m.repeat.Lock()
		defer m.repeat.Unlock()
		return m.recordRest(ctx, entries)
	}
	return m.record(ctx, entries)
}

// recordRest records those entries that are not in the log yet: none where they
// were asked for before, and some where a power cut left half of them on disk.
func (m *Member) recordRest(ctx context.Context, entries []Entry) ([]events.Event, error) {
	out := make([]events.Event, len(entries))
	var rest []Entry
	var places []int
	for i, x := range entries {
		if evs, ok := m.Repeated(x); ok {
			out[i] = evs[0]
			continue
		}
		rest, places = append(rest, x), append(places, i)
	}
	evs, err := m.record(ctx, rest)
	if err != nil {
		return nil, err
	}
	for i, e := range evs {
		out[places[i]] = e
	}
	return out, nil
}

// WithDoer says who does what is recorded under a context, where that is not this
// member: a page that several people share.
func WithDoer(ctx context.Context, name string) context.Context {
	return context.WithValue(ctx, doerKey{}, name)
}

type doerKey struct{}

func doerOf(ctx context.Context) string {
	name, _ := ctx.Value(doerKey{}).(string)
	return name
}

// Repeated returns entries that were recorded here before, by who drew them.
func (m *Member) Repeated(entries ...Entry) ([]events.Event, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []events.Event
	for _, x := range entries {
		e, ok := m.history.Find(m.once[x.Once])
		if !ok {
			return nil, false
		}
		out = append(out, *e)
	}
	return out, len(out) > 0
}

func (m *Member) record(ctx context.Context, entries []Entry) ([]events.Event, error) {
	if len(entries) == 0 {
		return nil, nil
	}
	for _, x := range entries {
		if _, err := events.EncodeBody(x.Payload); err != nil {
			return nil, fmt.Errorf("write %s: %w", x.Payload.Kind(), err)
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("stopped before anything was recorded: %w", err)
	}
	if doer := doerOf(ctx); doer != "" {
		entries = slices.Clone(entries)
		for i := range entries {
			entries[i].By = cmp.Or(entries[i].By, doer)
		}
	}
	wait, lines, err := m.queue(ctx, entries)
	if err != nil {
		return nil, err
	}
	if err := wait(); err != nil {
		m.refused()
		return nil, fmt.Errorf("write journal: %w", err)
	}
	evs := m.world.decode(lines)
	m.mu.Lock()
	defer m.mu.Unlock()
	m.takeIn(slices.Clone(evs), m.world.wall()) // whoever asked may do as they like with theirs
	return evs[len(evs)-len(entries):], nil
}

// queue seals entries in order and hands them to the journal. They may not be
// shown to anybody until wait has returned nil.
func (m *Member) queue(ctx context.Context, entries []Entry) (wait func() error, lines []seal.Verified, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.feed == "" {
		m.goOn() // a feed may have come into being whose beginning failed here
	}
	if m.feed == "" {
		first, err := m.begin(ctx)
		if err != nil {
			return nil, nil, err
		}
		lines = append(lines, first)
	}
	before, said := m.state(), len(lines)
	for _, x := range entries {
		v, err := m.seal(x)
		if err != nil {
			m.restore(before)
			return nil, nil, err
		}
		lines = append(lines, v)
	}
	wait, err = m.journal.Queue(lines[said:]...)
	if err != nil {
		m.restore(before)
		m.goOn()
		return nil, nil, fmt.Errorf("write journal: %w", err)
	}
	return wait, lines, nil
}

// begin starts a feed: the first one, or a new one where the old can't safely be
// gone on with.
func (m *Member) begin(ctx context.Context) (seal.Verified, error) {
	if m.reading {
		return seal.Verified{}, ErrReading
	}
	own := m.journal.Own()
	start := events.FeedStarted{Why: events.NewFeed}
	if own.Replace != "" {
		start.Previous, start.Why = own.Feed, own.Replace
		if own.Last.Seq > 0 {
			start.Last = events.Some(own.Last)
		}
	}
	var random [8]byte
	if _, err := m.world.Rand.Read(random[:]); err != nil {
		return seal.Verified{}, fmt.Errorf("draw feed: %w", err)
	}
	m.feed, m.last = events.NewFeedID(m.self, random), events.Head{}
	v, err := m.seal(Entry{Payload: start})
	if err == nil {
		err = m.journal.Begin(ctx, v)
	}
	if err != nil {
		m.feed, m.last = "", events.Head{}
		return seal.Verified{}, fmt.Errorf("begin feed: %w", err)
	}
	return v, nil
}

// seal makes the next line of the own feed.
func (m *Member) seal(x Entry) (seal.Verified, error) {
	now := m.world.Now()
	clock := m.clock.Tick(now.Wall.At)
	e := events.Event{
		Header:  events.NextHeader(m.keys.Site, m.feed, m.last),
		HLC:     clock,
		Wall:    now.Wall,
		Mono:    now.Mono,
		Told:    events.NewTold(x.When, x.By),
		Seen:    m.seen(m.last.Seq + 1),
		Payload: x.Payload,
	}
	if now.Wall.At < 0 {
		return seal.Verified{}, fmt.Errorf("this device's clock shows %s; set it, then log again", now.Wall.At.Time().Format("2006-01-02"))
	}
	half := m.world.Rand
	if x.Once != (Once{}) {
		half = bytes.NewReader(x.Once[:])
	}
	id, err := ulid.New(uint64(now.Wall.At), half)
	if err != nil {
		return seal.Verified{}, fmt.Errorf("draw entry id: %w", err)
	}
	e.ID = id
	v, err := seal.Seal(m.signer, &e)
	if err != nil {
		return seal.Verified{}, err
	}
	m.clock, m.last = clock, v.Head()
	m.tell(&e)
	return v, nil
}

// state is what sealing moves on, kept so that a refused entry moves nothing.
type state struct {
	clock  events.HLC
	last   events.Head
	spoken map[events.FeedID]events.Ref
}

func (m *Member) state() state {
	spoken := make(map[events.FeedID]events.Ref, len(m.spoken))
	for f, r := range m.spoken {
		spoken[f] = r
	}
	return state{m.clock, m.last, spoken}
}

func (m *Member) restore(s state) { m.clock, m.last, m.spoken = s.clock, s.last, s.spoken }
