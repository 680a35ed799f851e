package nearby

import (
	"context"
	"fmt"
	"log/slog"
	"net/netip"
	"time"

	"pairwalk/events"
)

// Look asks the local networks at once and then every 30 s for laptops of this
// site, until ctx ends, which is no error. It calls found with the host:port of
// each that answers, one call at a time and once a round, so that a second call
// with one address says: still there. An address may have a zone,
// "[fe80::1%eth0]:4222", as net.Dial takes it (in a URL the % is written %25).
// Our own are among them; the caller knows them.
//
// The error is ErrNoMulticast (wrapped) where the first round could not be asked
// anywhere; Look can be called again later. Rounds after that go on regardless.
func Look(ctx context.Context, site events.SiteID, log *slog.Logger, found func(addr string)) error {
	s := seeker{site: site, log: log, found: found, ask: askAll, known: map[netip.AddrPort]bool{}}
	if err := s.run(ctx); err != nil {
		return fmt.Errorf("look for laptops nearby: %w", err)
	}
	return nil
}

// seeker is one run of Look.
type seeker struct {
	site  events.SiteID
	log   *slog.Logger
	found func(addr string)
	ask   func(context.Context) (<-chan answer, error) // one round; the channel is closed at its end
	known map[netip.AddrPort]bool                      // all it has found, mostAltogether at most
}

func (s *seeker) run(ctx context.Context) error {
	tick := time.NewTicker(every)
	defer tick.Stop()
	for first := true; ctx.Err() == nil; first = false {
		answers, err := s.ask(ctx)
		switch {
		case err == nil:
			s.hear(ctx, answers)
		case first && ctx.Err() == nil:
			return err
		default:
			s.log.Debug("look for laptops nearby", "err", err)
		}
		select {
		case <-ctx.Done():
		case <-tick.C:
		}
	}
	return nil
}

// hear takes the answers of one round, to the end, so that nobody is left
// waiting to hand one over.
func (s *seeker) hear(ctx context.Context, answers <-chan answer) {
	round, strangers, over := map[netip.AddrPort]bool{}, 0, 0
	for a := range answers {
		addr, ok := a.meets(s.site)
		switch {
		case ctx.Err() != nil || round[addr]:
		case !ok:
			strangers++
		case len(round) == mostARound || !s.known[addr] && len(s.known) == mostAltogether:
			over++
		default:
			round[addr], s.known[addr] = true, true
			s.found(addr.String())
		}
	}
	if strangers+over > 0 {
		s.log.Debug("look for laptops nearby", "found", len(round), "not ours", strangers, "too many", over)
	}
}
