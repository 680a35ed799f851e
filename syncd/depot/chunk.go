package depot

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// chunkMost is how many bytes of lines a message holds at most.
const chunkMost = 256 << 10

// chunk is what one message brings: lines of one feed that follow each other, and
// before them the mark of a line that nobody has, if its hole is not zero.
type chunk struct {
	feed  events.FeedID
	hole  events.Head
	lines []seal.Verified
}

// errChunk means that a message is no chunk, or that not all of it is authentic.
var errChunk = errors.New("it was altered, or is none of ours")

// chunksOf cuts lines of any feeds into chunks, keeping the order of each feed's.
func chunksOf(lines []seal.Verified) []chunk {
	var out []chunk
	at := map[events.FeedID]int{} // the chunk each feed is at
	size := map[events.FeedID]int{}
	for _, v := range lines {
		i, open := at[v.Feed()]
		n := len(v.Line()) + 1
		if !open || !v.Follows(last(out[i].lines)) || size[v.Feed()]+n > chunkMost {
			i = len(out)
			out = append(out, chunk{feed: v.Feed()})
			at[v.Feed()], size[v.Feed()] = i, 0
		}
		out[i].lines = append(out[i].lines, v)
		size[v.Feed()] += n
	}
	return out
}

func last(lines []seal.Verified) seal.Verified { return lines[len(lines)-1] }

func (c chunk) first() events.Head { return c.lines[0].Head() }
func (c chunk) head() events.Head  { return last(c.lines).Head() }

// bytes is the chunk as a message's payload: lines, each ended by a line feed.
func (c chunk) bytes() []byte {
	var b []byte
	if c.hole.Seq > 0 {
		b = append(append(b, journal.HoleLine(c.hole)...), '\n')
	}
	for _, v := range c.lines {
		b = append(append(b, v.Line()...), '\n')
	}
	return b
}

// openChunk reads what the cluster holds. Nothing in it is believed: every line
// comes in by the door of package seal. Where err is not nil, the chunk is the
// authentic part before what is wrong, which may be nothing.
func openChunk(site events.SiteID, feed events.FeedID, payload []byte) (chunk, error) {
	c := chunk{feed: feed}
	raw, whole := bytes.CutSuffix(payload, []byte{'\n'})
	if len(raw) == 0 {
		return c, errChunk
	}
	lines := bytes.Split(slices.Clip(raw), []byte{'\n'})
	hole, holed := journal.ParseHole(lines[0])
	if holed {
		lines = lines[1:]
	}
	run, err := seal.OpenRun(lines)
	if len(run) > 0 && (run[0].Header().Site != site || run[0].Feed() != feed) {
		return c, fmt.Errorf("%w: a line of another site or feed", errChunk)
	}
	if holed {
		if len(run) == 0 || run[0].Seq() != hole.Seq+1 || run[0].Prev() != hole.Hash {
			return c, fmt.Errorf("%w: a hole that no line proves", errChunk)
		}
		c.hole = hole
	}
	c.lines = run
	switch {
	case err != nil:
		return c, fmt.Errorf("%w: %w", errChunk, err)
	case !whole || len(run) == 0:
		return c, errChunk
	}
	return c, nil
}
