package member

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd"
)

// compareAgain is after how long a comparison of two clocks is worth another.
const compareAgain = 3600_000 // ms

// Compared logs how a peer's clock stands to ours, by the sample with the
// shortest way, if that is news: the first of these two boots, one that differs
// from the last by more than both allow, a much better one, or one an hour
// later. Of a peer that is not in the log yet it is logged as soon as it is.
func (m *Member) Compared(ctx context.Context, peer events.Key, samples []syncd.Sample) (recorded bool, err error) {
	if len(samples) == 0 {
		return false, nil
	}
	best := slices.MinFunc(samples, func(a, b syncd.Sample) int { return cmp.Compare(a.RoundTrip, b.RoundTrip) })
	m.mu.Lock()
	who := m.memberOn(peer)
	if who == nil {
		m.unnamed[peer] = best
		m.mu.Unlock()
		return false, nil
	}
	last, known := m.compared[who.Key]
	m.mu.Unlock()
	if known && !isNews(last, best) {
		return false, nil
	}
	_, err = m.Record(ctx, Entry{Payload: events.ClockCompared{
		Other: who.Key, Mine: best.Mine, Theirs: best.Theirs, Offset: best.Offset, RoundTrip: best.RoundTrip,
	}})
	return err == nil, err
}

// comparedBefore logs the comparisons with peers that have become known since.
func (m *Member) comparedBefore(ctx context.Context) error {
	known := map[events.Key]syncd.Sample{}
	m.mu.Lock()
	for peer, s := range m.unnamed {
		if m.memberOn(peer) != nil {
			known[peer] = s
			delete(m.unnamed, peer)
		}
	}
	m.mu.Unlock()
	for _, peer := range slices.Sorted(maps.Keys(known)) {
		if _, err := m.Compared(ctx, peer, []syncd.Sample{known[peer]}); err != nil {
			return err
		}
	}
	return nil
}

func isNews(last events.ClockCompared, s syncd.Sample) bool {
	age := s.Mine.Mono.Ms - last.Mine.Mono.Ms
	if last.Mine.Mono.Boot != s.Mine.Mono.Boot || last.Theirs.Mono.Boot != s.Theirs.Mono.Boot || age >= compareAgain {
		return true
	}
	moved := max(s.Offset-last.Offset, last.Offset-s.Offset)
	return moved > (s.RoundTrip+last.RoundTrip)/2+projection.Drift(age) || 4*s.RoundTrip < last.RoundTrip
}

// clockSlack is how far apart two clocks may be before people are told.
const clockSlack = time.Minute

// Apart is a colleague's clock that differs from this device's: theirs − ours.
type Apart struct {
	Name string
	By   time.Duration
}

// ClocksApart lists whose clock our last comparison found a minute or more from
// ours.
func (m *Member) ClocksApart() []Apart {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []Apart
	for _, x := range m.members() {
		if by := time.Duration(m.compared[x.Key].Offset) * time.Millisecond; by.Abs() >= clockSlack {
			out = append(out, Apart{m.team.MemberName(x.Key), by})
		}
	}
	return out
}
