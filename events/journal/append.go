package journal

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// queue holds own lines that wait to be written. Whoever gets the write lock
// first writes them all with one sync.
type queue struct {
	mu      sync.Mutex
	waiting []*ticket
	tail    events.Head // the own feed's head once the queue is written
}

// ticket is one caller's lines. It is guarded by Journal.write.
type ticket struct {
	lines []seal.Verified
	done  bool
	err   error
}

// Own is the feed this installation may append to.
func (j *Journal) Own() Own {
	j.mu.RLock()
	defer j.mu.RUnlock()
	own := j.own
	if s := j.strands.named(string(own.Feed)); s != nil {
		own.Head = s.head()
	}
	return own
}

// Append writes lines at the end of the own feed. They are durable when it
// returns nil; many callers that wait at once share one sync. ctx is looked at
// only before the lines are queued: after that they are written, or the journal
// is broken.
//
// The lines must follow the own feed's head, and those of callers before: who
// seals under a lock of his own calls Queue under it, and waits outside.
func (j *Journal) Append(ctx context.Context, lines ...seal.Verified) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	wait, err := j.Queue(lines...)
	if err != nil {
		return err
	}
	return wait()
}

// Queue takes lines in and returns at once. They are durable when wait returns
// nil, and must not be shown to anybody before.
func (j *Journal) Queue(lines ...seal.Verified) (wait func() error, err error) {
	if err := j.refusal(); err != nil {
		return nil, fmt.Errorf("append to own feed: %w", err)
	}
	j.queue.mu.Lock()
	defer j.queue.mu.Unlock()
	tail := j.queue.tail
	for _, v := range lines {
		if err := j.fits(j.Own(), tail, v); err != nil {
			return nil, fmt.Errorf("append event %d: %w", v.Seq(), err)
		}
		tail = v.Head()
	}
	t := &ticket{lines: lines}
	j.queue.waiting = append(j.queue.waiting, t)
	j.queue.tail = tail
	return func() error {
		j.write.Lock()
		defer j.write.Unlock()
		if !t.done {
			j.commitQueue()
		}
		return t.err
	}, nil
}

// fits says whether v may follow tail in the own feed.
func (j *Journal) fits(own Own, tail events.Head, v seal.Verified) error {
	switch {
	case v.Header().Site != j.id:
		return ErrWrongSite
	case own.Replace != "":
		return fmt.Errorf("%w (%s)", ErrReplaced, own.Replace)
	case own.Feed == "":
		return ErrNoFeed
	case v.Feed() != own.Feed || v.Seq() != tail.Seq+1 || v.Prev() != tail.Hash:
		return ErrNotNext
	}
	return nil
}

// commitQueue writes everything that waits. The caller holds write.
func (j *Journal) commitQueue() {
	j.queue.mu.Lock()
	batch := j.queue.waiting
	j.queue.waiting = nil
	j.queue.mu.Unlock()
	if len(batch) == 0 {
		return
	}
	err := j.commit(batch)
	for _, t := range batch {
		t.done, t.err = true, err
	}
}

func (j *Journal) commit(batch []*ticket) error {
	if err := j.refusal(); err != nil {
		return fmt.Errorf("append to own feed: %w", err)
	}
	own := j.Own()
	if own.Replace != "" { // since it was queued
		return fmt.Errorf("append to own feed: %w (%s)", ErrReplaced, own.Replace)
	}
	s := *j.strand(string(own.Feed))
	from := len(s.places)
	for _, t := range batch {
		s.add(t.lines...)
	}
	if err := j.extend(&s, from); err != nil {
		return j.broke(err)
	}
	j.publish(&s)
	return nil
}

// rooms are where lines are for a while, to be written or passed on.
var rooms = sync.Pool{New: func() any { return new([]byte) }}

// extend makes the places from index from on durable at the end of the strand's
// file.
func (j *Journal) extend(s *strand, from int) error {
	room := rooms.Get().(*[]byte)
	defer rooms.Put(room)
	b, err := s.lay(*room, from, s.size, nil)
	if err != nil {
		return err
	}
	*room = b
	f, keep, err := j.appendTo(s)
	if err != nil {
		return fmt.Errorf("open feed: %w", err)
	}
	if _, err = f.Write(b); err == nil {
		err = f.Sync()
	}
	if !keep {
		err = errors.Join(err, f.Close())
	}
	if err == nil && s.size == 0 {
		err = j.site.SyncDir(feedsDir)
	}
	if err != nil {
		// Nobody was told that these lines are safe, so better they are gone.
		if cut := j.site.Truncate(s.file(), s.size); cut != nil {
			j.env.Log.Warn("can't take back unacknowledged lines", "file", s.file(), "error", cut)
		}
		return fmt.Errorf("write feed: %w", err)
	}
	s.size, s.fresh = s.size+int64(len(b)), nil
	return nil
}

// appendTo opens a strand's file. That of the own feed stays open.
func (j *Journal) appendTo(s *strand) (f File, keep bool, err error) {
	if s.name != string(j.own.Feed) {
		f, err = j.site.Append(s.file())
		return f, false, err
	}
	if j.ownFile == nil {
		j.ownFile, err = j.site.Append(s.file())
	}
	return j.ownFile, true, err
}

// Begin writes the first line of a new feed, which becomes the own feed. It is
// for an installation that has none, or whose own feed must be replaced.
func (j *Journal) Begin(ctx context.Context, first seal.Verified) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	j.write.Lock()
	defer j.write.Unlock()
	if err := j.mayBegin(first); err != nil {
		return fmt.Errorf("begin feed: %w", err)
	}
	j.commitQueue() // refuses what still waits: it was sealed for the feed before
	now := j.env.Now()
	if err := j.coverOwn(now); err != nil {
		return j.broke(err)
	}
	j.closeFiles()
	s := &strand{name: string(first.Feed()), feed: first.Feed(), first: 1}
	s.add(first)
	if err := j.extend(s, 0); err != nil {
		return j.broke(err)
	}
	j.publish(s)
	j.mu.Lock()
	old := j.own
	j.own = Own{Feed: first.Feed()}
	j.mu.Unlock()
	if err := j.writeMark(j.marked(now, false)); err != nil {
		j.mu.Lock()
		j.own = old
		j.mu.Unlock()
		return j.broke(err)
	}
	j.queue.mu.Lock()
	j.queue.tail = first.Head()
	j.queue.mu.Unlock()
	return nil
}

func (j *Journal) mayBegin(first seal.Verified) error {
	if err := j.refusal(); err != nil {
		return err
	}
	own := j.Own()
	switch {
	case first.Header().Site != j.id:
		return ErrWrongSite
	case own.Feed != "" && own.Replace == "":
		return ErrHaveFeed
	case first.Seq() != 1 || j.strand(string(first.Feed())) != nil:
		return ErrNotNext
	}
	return nil
}
