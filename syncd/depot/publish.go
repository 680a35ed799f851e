package depot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/nats-io/nuid"

	"pairwalk/events"
)

// errMoved means that somebody else wrote to the feed's subject first.
var errMoved = errors.New("another relay was first")

// letter is one message on its way. It may be sent again as it is, for as long as
// its outcome is not known: the cluster stores it once at most, right after the
// message it was written for.
type letter struct {
	feed  events.FeedID
	after uint64 // the newest message on the subject when it was written
	id    string
	chunk chunk
	ended events.StartWhy // in place of lines: the relay's own feed must not be gone on with
	head  events.Head     // with ended: the last line that can be vouched for
}

func (l letter) message(site events.SiteID) *nats.Msg {
	m := nats.NewMsg(feedSubject(site, l.feed))
	if l.ended != "" {
		m.Header.Set(endedHeader, string(l.ended))
		m.Header.Set(lastHeader, headText(l.head))
		return m
	}
	m.Header.Set(firstHeader, headText(l.chunk.first()))
	m.Header.Set(lastHeader, headText(l.chunk.head()))
	m.Data = l.chunk.bytes()
	return m
}

// letter writes a message that fits behind what is known of the subject.
func (s *Store) letter(feed events.FeedID) letter {
	return letter{feed: feed, after: s.newest[feed], id: nuid.Next()}
}

// send gives a message to the cluster until it is known what became of it, or
// patience ends. It returns nil once a quorum keeps it, errMoved where it is not
// and will not be there, and ErrNoQuorum where that is not known. The caller holds
// write.
func (s *Store) send(ctx context.Context, l letter) error {
	ctx, cancel := context.WithTimeout(ctx, s.c.opts.Patience)
	defer cancel()
	msg := l.message(s.site)
	for said := (saying{}); ; {
		ack, err := s.attempt(ctx, msg, l)
		if err == nil {
			s.newest[l.feed] = ack.Sequence
			return nil
		}
		if refused, why := verdict(err); refused {
			return why
		}
		if said.anew(err) {
			s.c.log.Warn("cluster does not confirm", "site", string(s.site), "feed", l.feed.Short(), "error", err)
		}
		if pause(ctx, pauseBetween) != nil {
			return fmt.Errorf("%w (%w)", ErrNoQuorum, err)
		}
	}
}

func (s *Store) attempt(ctx context.Context, msg *nats.Msg, l letter) (*jetstream.PubAck, error) {
	ctx, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	return s.c.js.PublishMsg(ctx, msg, jetstream.WithMsgID(l.id),
		jetstream.WithExpectLastSequencePerSubject(l.after), jetstream.WithExpectStream(streamName), jetstream.WithRetryAttempts(0))
}

// verdict says whether an error means that a message was refused for good. Where
// another was written at the same time, the cluster may say so before it is sure;
// the reader finds out by catching up.
func verdict(err error) (refused bool, why error) {
	var api *jetstream.APIError
	if !errors.As(err, &api) {
		if errors.Is(err, nats.ErrMaxPayload) || errors.Is(err, nats.ErrConnectionClosed) {
			return true, fmt.Errorf("write to cluster: %w", err)
		}
		return false, nil
	}
	switch api.ErrorCode {
	case jetstream.JSErrCodeStreamWrongLastSequence, jetstream.JSErrCodeStreamWrongLastSequenceConstant:
		return true, errMoved
	}
	return false, nil
}

// catchUp waits until everything is here that the cluster held when it was asked.
// The caller does not hold write.
func (s *Store) catchUp(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, s.c.opts.Patience)
	defer cancel()
	for {
		to, err := s.c.last(ctx, siteSubjects(s.site))
		if err == nil && s.reached(ctx, to) {
			return nil
		}
		if pause(ctx, pauseBetween) != nil {
			return fmt.Errorf("%w (%w)", ErrNoQuorum, errors.Join(err, context.Cause(ctx)))
		}
	}
}

// reached waits for the follower to come to a message, for some time.
func (s *Store) reached(ctx context.Context, to uint64) bool {
	t := time.NewTimer(attemptWithin)
	defer t.Stop()
	for {
		s.mu.Lock()
		at, moved := s.at, s.moved
		s.mu.Unlock()
		if at >= to {
			return true
		}
		select {
		case <-moved:
		case <-t.C:
			return false
		case <-ctx.Done():
			return false
		}
	}
}
