package member

import (
	"context"
	"iter"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

// Log is what a member asks of whatever keeps its site's entries, which is a
// [journal.Journal] unless the entries are kept elsewhere than on its own disk.
// The journal's documentation says what each method promises.
type Log interface {
	syncd.Log
	// Heads are the newest lines of the main branches.
	Heads() map[events.FeedID]events.Head
	// All yields every line held.
	All() iter.Seq2[seal.Verified, error]

	// Own is the feed that this member may go on with.
	Own() journal.Own
	// Begin makes a new feed the own one, durably.
	Begin(ctx context.Context, first seal.Verified) error
	// Queue takes lines of the own feed, which are durable once wait returns nil.
	Queue(lines ...seal.Verified) (wait func() error, err error)
	// Take stores lines of others, durably.
	Take(ctx context.Context, lines []seal.Verified) (journal.Taken, error)
	// TakeHole stores a line and, before it, the mark of one that nobody has.
	TakeHole(ctx context.Context, feed events.FeedID, missing events.Head, next seal.Verified) (journal.Taken, error)

	// Receipt says when an entry of others first came here.
	Receipt(ref events.Ref) (events.Stamp, bool)
	// FirstOpened is since when elapsed time is proven.
	FirstOpened() events.Stamp
	// Problems is what was found wrong when the log was opened.
	Problems() []journal.Problem
	Close() error
}

var _ Log = (*journal.Journal)(nil)
