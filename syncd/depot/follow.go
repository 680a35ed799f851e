package depot

import (
	"context"
	"fmt"

	"github.com/nats-io/nats.go/jetstream"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

const (
	// readAhead is how many messages the follower has on their way at most.
	readAhead = 16
	// resets is how often the library asks for one consumer in place of another. It
	// asks by one name: where the cluster gave that to a server that died before it
	// answered, nobody answers until that server is back. We begin anew by another name.
	resets = 1
)

// follow applies every message of the site's, in the stream's order, until ctx
// ends. Whatever goes wrong, it begins anew where it was.
func (s *Store) follow(ctx context.Context) {
	for said := (saying{}); ctx.Err() == nil; {
		if err := s.followOn(ctx); ctx.Err() == nil && said.anew(err) {
			s.c.log.Info("following the cluster begins anew", "site", string(s.site), "error", err)
		}
		_ = pause(ctx, pauseBetween)
	}
}

// followOn follows until something goes wrong, which it returns.
func (s *Store) followOn(ctx context.Context) error {
	s.mu.Lock()
	from := s.at + 1
	s.mu.Unlock()
	making, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	cons, err := s.c.js.OrderedConsumer(making, streamName, jetstream.OrderedConsumerConfig{
		FilterSubjects: []string{siteSubjects(s.site)}, DeliverPolicy: jetstream.DeliverByStartSequencePolicy, OptStartSeq: from,
		InactiveThreshold: 30 * heartbeat, MaxResetAttempts: resets,
	})
	if err != nil {
		return fmt.Errorf("follow: %w", err)
	}
	messages, err := cons.Messages(jetstream.PullMaxMessages(readAhead), jetstream.PullHeartbeat(heartbeat), jetstream.PullExpiry(5*heartbeat))
	if err != nil {
		return fmt.Errorf("follow: %w", err)
	}
	defer messages.Stop()
	for {
		msg, err := messages.Next(jetstream.NextContext(ctx))
		if err != nil {
			return fmt.Errorf("follow: %w", err)
		}
		meta, err := msg.Metadata()
		if err != nil {
			return fmt.Errorf("follow: %w", err)
		}
		s.take(msg, meta)
	}
}

// take applies one message.
func (s *Store) take(msg jetstream.Msg, meta *jetstream.MsgMetadata) {
	s.write.Lock()
	s.mu.Lock()
	known := meta.Sequence.Stream <= s.at
	s.mu.Unlock()
	var fresh []seal.Verified
	if !known {
		s.stamp = events.Stamp{Wall: events.Wall{At: events.Instant(meta.Timestamp.UnixMilli())}}
		fresh = s.read(msg, meta.Sequence.Stream)
		s.stamp = events.Stamp{}
		s.ownGrew(fresh)
	}
	s.write.Unlock()
	s.tell(fresh)
	s.mu.Lock()
	defer s.mu.Unlock()
	if !known {
		s.at = meta.Sequence.Stream
		close(s.moved)
		s.moved = make(chan struct{})
	}
}

// read opens one message and takes in what is authentic of it. The caller holds
// write.
func (s *Store) read(msg jetstream.Msg, number uint64) []seal.Verified {
	feed, err := feedOf(s.site, msg.Subject())
	if err != nil {
		s.wrong(journal.Stray, msg, number, "", err.Error())
		return nil
	}
	s.newest[feed] = max(s.newest[feed], number)
	if why := msg.Headers().Get(endedHeader); why != "" && len(msg.Data()) == 0 {
		head, err := parseHead(msg.Headers().Get(lastHeader))
		if err != nil {
			head = s.held.Heads()[feed]
		}
		s.ended(feed, endedFor(why), head)
		return nil
	}
	c, err := openChunk(s.site, feed, msg.Data())
	if err != nil {
		s.wrong(journal.Damaged, msg, number, feed, err.Error())
		s.ended(feed, events.TornTail, s.held.Heads()[feed])
	}
	if len(c.lines) == 0 {
		return nil
	}
	fresh, ok := s.apply(c)
	if !ok {
		s.wrong(journal.Missing, msg, number, feed, fmt.Sprintf("what comes before event %d is missing", c.lines[0].Seq()))
		s.ended(feed, events.TornTail, s.held.Heads()[feed])
		s.waiting[feed] = append(s.waiting[feed], c)
	}
	return append(fresh, s.connect()...)
}

// endedFor reads the reason in a mark that the own feed ends. Whatever it says, the
// feed ends.
func endedFor(why string) events.StartWhy {
	if w := events.StartWhy(why); w == events.Diverged || w == events.TornTail {
		return w
	}
	return events.Restored
}

func (s *Store) wrong(f journal.Fault, msg jetstream.Msg, number uint64, feed events.FeedID, words string) {
	s.problem(journal.Problem{
		Fault: f, File: msg.Subject(), Line: int(number), Feed: feed,
		Words: fmt.Sprintf("message %d of the cluster's stream: %s; what is missing comes again from whoever holds it", number, words),
	})
}

// ownGrew lets the own feed go on after lines of it that came by the cluster: those
// of this relay's life before, or whatever else has its secret. The caller holds
// write.
func (s *Store) ownGrew(fresh []seal.Verified) {
	mine := false
	for _, v := range fresh {
		if v.Feed().Key() != s.self {
			continue
		}
		mine = true
		if v.Seq() == 1 {
			s.begun(v)
		}
	}
	if !mine {
		return
	}
	own := s.Own()
	head := s.held.Heads()[own.Feed]
	for _, f := range s.held.Forks() {
		if f.Feed == own.Feed {
			s.ended(own.Feed, events.Diverged, head)
		}
	}
	s.queue.mu.Lock()
	defer s.queue.mu.Unlock()
	if head.Seq > s.queue.tail.Seq {
		s.queue.tail = head
	}
}
