package member

import (
	"context"
	"slices"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// taking hands runs of lines to the journal: everything that connects at once,
// and what follows a hole after it.
type taking struct {
	m     *Member
	ctx   context.Context
	sum   journal.Taken
	plain []seal.Verified
}

// run takes lines that follow each other. Hole is the line right before them
// where its giver lacks that, else zero.
func (t *taking) run(hole events.Head, lines []seal.Verified) error {
	if hole.Seq > 0 {
		if err := t.flush(); err != nil {
			return err
		}
		feed := lines[0].Feed()
		if t.m.journal.Heads()[feed].Seq < hole.Seq {
			taken, err := t.m.journal.TakeHole(t.ctx, feed, hole, lines[0])
			if err != nil {
				return err
			}
			t.add(taken)
			lines = lines[1:]
		}
	}
	t.plain = behind(t.plain, lines)
	return nil
}

func (t *taking) flush() error {
	if len(t.plain) == 0 {
		return nil
	}
	taken, err := t.m.journal.Take(t.ctx, t.plain)
	t.plain = nil
	t.add(taken)
	return err
}

func (t *taking) add(taken journal.Taken) {
	t.sum.Fresh = behind(t.sum.Fresh, taken.Fresh)
	t.sum.Known += taken.Known
	t.sum.Healed += taken.Healed
}

// behind puts lines behind others. Where there are none they are not copied: what it
// returns may be added to, and not changed.
func behind(before, lines []seal.Verified) []seal.Verified {
	if len(before) == 0 {
		return slices.Clip(lines)
	}
	return append(before, lines...)
}
