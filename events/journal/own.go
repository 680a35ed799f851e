package journal

import (
	"fmt"
	"strings"

	"pairwalk/events"
)

// past is what the marks say of the time before this opening.
type past struct {
	mark     mark
	known    bool // there was a mark
	sameBoot bool
	copied   bool // the folder came here from elsewhere
}

// tailFate says what becomes of bytes at the end of the own feed that can't be
// read.
type tailFate int

const (
	keepAside tailFate = iota
	cutOff             // they were never acknowledged
)

// readMarks reads both copies of the mark and chooses the newer.
func (j *Journal) readMarks(now events.Stamp) (past, error) {
	inside, bad, err := readMark(j.site, markFile, j.id, markFile)
	if err != nil {
		return past{}, err
	}
	outside, badCopy, err := readMark(j.marks, string(j.id), j.id, "copy of the mark")
	if err != nil {
		return past{}, err
	}
	for _, p := range []*Problem{bad, badCopy} {
		if p != nil {
			j.problems = append(j.problems, *p)
		}
	}
	var was past
	switch {
	case inside == nil && outside == nil:
		return was, nil
	case inside == nil:
		was.mark = *outside
		if bad == nil && outside.Feed != "" {
			j.problems = append(j.problems, Problem{Fault: BadMark, File: markFile, Words: "the mark is missing; its copy outside the folder stands in"})
		}
	case outside == nil:
		was.mark, was.copied = *inside, badCopy == nil
	case inside.Turn > outside.Turn:
		was.mark, was.copied = *inside, true
	case inside.Turn+1 < outside.Turn: // the folder was put back; one turn is a cut between two writings
		was.mark, was.copied = *outside, true
	default:
		was.mark = *outside
	}
	if inside != nil && outside != nil && inside.Feed == outside.Feed && inside.Seq > was.mark.Seq {
		was.mark.Seq, was.mark.Hash = inside.Seq, inside.Hash
	}
	was.known = true
	was.sameBoot = now.Mono.Known() && was.mark.Boot == now.Mono.Boot
	j.mark = was.mark
	return was, nil
}

// judge decides whether the own feed may be continued, and what becomes of its
// end if that can't be read.
//
// The danger is a number used twice: a line that was acknowledged, went to a
// peer, was then lost here, and whose number is given to another event. So a
// feed ends here whenever a line that was once acknowledged may be lost.
func (j *Journal) judge(was past, found map[string]*reading) tailFate {
	if !was.known {
		if len(found) > 0 {
			j.own.Replace = events.Restored
			j.behind("neither copy of the mark can be read, so it is not known which feed is this installation's own")
		}
		return keepAside
	}
	j.own = Own{Feed: was.mark.Feed, Replace: was.mark.Why}
	if j.own.Feed == "" {
		return keepAside
	}
	lastHash, _ := events.ParseHash(was.mark.LastH)
	j.own.Last = events.Head{Seq: was.mark.Last, Hash: lastHash}
	r := found[string(j.own.Feed)]
	if r == nil {
		r = &reading{strand: strand{name: string(j.own.Feed), feed: j.own.Feed, first: 1}}
	}
	why, words, fate := j.verdict(was, r, found)
	if why != "" {
		j.behind(words)
		if j.own.Replace == "" {
			j.own.Replace, j.own.Last = why, r.head()
		}
	}
	return fate
}

func (j *Journal) verdict(was past, r *reading, found map[string]*reading) (events.StartWhy, string, tailFate) {
	head, high := r.head().Seq, max(was.mark.Seq, r.lostTo)
	markHash, _ := events.ParseHash(was.mark.Hash)
	there := r.hashAt(was.mark.Seq)
	tail := r.tailAt < r.size
	switch {
	case tail && r.halfTail && was.sameBoot && !was.mark.Clean && !was.copied && head >= high:
		return "", "", cutOff // a write that was interrupted before anybody was told it was done
	case tail:
		return events.TornTail, fmt.Sprintf("the own feed can't be read after event %d; the bytes are kept aside", head), keepAside
	case was.copied:
		return events.Restored, "the folder was copied or restored: there is no copy of this mark outside it", keepAside
	case head < high:
		return events.Restored, fmt.Sprintf("the own feed ends with event %d, though event %d was written", head, high), keepAside
	case was.mark.Seq > 0 && there != (events.Hash{}) && there != markHash:
		return events.Diverged, fmt.Sprintf("event %d of the own feed is not the one that was written", was.mark.Seq), keepAside
	}
	for name := range found {
		if strings.HasPrefix(name, string(j.own.Feed)+"~") {
			return events.Diverged, "the own feed is forked", keepAside
		}
	}
	return "", "", keepAside
}

func (j *Journal) behind(words string) {
	p := Problem{Fault: BehindMark, File: markFile, Feed: j.own.Feed, Words: words}
	if j.own.Feed != "" {
		p.File = fileOf(string(j.own.Feed))
	}
	j.problems = append(j.problems, p)
}

// replaceOwn notes, durably and before anything else, that the own feed must
// not be continued.
func (j *Journal) replaceOwn(why events.StartWhy, now events.Stamp) error {
	j.mu.Lock()
	if j.own.Replace != "" {
		j.mu.Unlock()
		return nil
	}
	s := j.strands.named(string(j.own.Feed))
	j.own.Replace = why
	if s != nil {
		j.own.Last = s.head()
	}
	j.mu.Unlock()
	return j.writeMark(j.marked(now, false))
}
