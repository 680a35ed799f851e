package member

import (
	"context"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd"
)

// compareAgain is after how long a comparison of two clocks is worth another.
const compareAgain = 3600_000 // ms

// Compared logs how a peer's clock stands to ours, by the sample with the
// shortest way, if that is news: the first of these two boots, one that differs
// from the last by more than both allow, a much better one, or one an hour
// later. Of a peer that is not in the log yet nothing is logged.
func (m *Member) Compared(ctx context.Context, peer events.Key, samples []syncd.Sample) (recorded bool, err error) {
	m.mu.Lock()
	who := m.memberOn(peer)
	var best syncd.Sample
	for i, s := range samples {
		if i == 0 || s.RoundTrip < best.RoundTrip {
			best = s
		}
	}
	news := who != nil && len(samples) > 0
	if news {
		last, known := m.compared[who.Key]
		news = !known || isNews(last, best)
	}
	m.mu.Unlock()
	if !news {
		return false, nil
	}
	_, err = m.Record(ctx, Entry{Payload: events.ClockCompared{
		Other: who.Key, Mine: best.Mine, Theirs: best.Theirs, Offset: best.Offset, RoundTrip: best.RoundTrip,
	}})
	return err == nil, err
}

func isNews(last events.ClockCompared, s syncd.Sample) bool {
	age := s.Mine.Mono.Ms - last.Mine.Mono.Ms
	if last.Mine.Mono.Boot != s.Mine.Mono.Boot || last.Theirs.Mono.Boot != s.Theirs.Mono.Boot || age >= compareAgain {
		return true
	}
	moved := max(s.Offset-last.Offset, last.Offset-s.Offset)
	return moved > (s.RoundTrip+last.RoundTrip)/2+projection.Drift(age) || 4*s.RoundTrip < last.RoundTrip
}
