package journal

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"pairwalk/events"
)

// recover reads everything, decides whether the own feed may go on, mends what
// needs no peer, and notes that the journal is open.
func (j *Journal) recover(now events.Stamp) error {
	was, err := j.readMarks(now)
	if err != nil {
		return err
	}
	book, problems, err := readBook(j.site)
	if err != nil {
		return err
	}
	j.problems = append(j.problems, problems...)
	found, problems, err := manner{hear: j.env.Hear != nil, skim: j.env.Want}.readStrands(j.site, j.id, book)
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(found)) {
		j.problems = append(j.problems, found[name].problems...)
		j.strands.put(&found[name].strand)
	}
	j.problems = append(j.problems, problems...)
	fate := j.judge(was, found)
	if j.own.Replace != j.mark.Why {
		// Before its tail goes: that the feed is at its end must not be forgotten.
		if err := j.writeMark(j.marked(now, false)); err != nil {
			return err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(found)) {
		if err := j.repair(found[name], was, fate); err != nil {
			return err
		}
	}
	if err := j.settleReceipts(book, found, was, now); err != nil {
		return err
	}
	for _, r := range found {
		s := r.strand // and nothing else of the reading: the bytes of the file are let go of
		s.count()
		j.strands.put(&s)
	}
	j.tell(found)
	j.queue.tail = j.headOf(j.own.Feed)
	return j.writeMark(j.marked(now, false))
}

// tell tells what all lines held say, to who asked for that.
func (j *Journal) tell(found map[string]*reading) {
	if j.env.Hear == nil && j.env.Skim == nil {
		return
	}
	for _, s := range j.snapshot() {
		r := found[s.name]
		for _, said := range r.said {
			if j.env.Skim != nil {
				j.env.Skim(said.evs, said.bodies)
			} else {
				j.env.Hear(said.evs)
			}
		}
	}
}

// readStrands reads every file in the folder of feeds.
func (how manner) readStrands(site FS, id events.SiteID, book *book) (map[string]*reading, []Problem, error) {
	names, err := readFeeds(site)
	if err != nil {
		return nil, nil, err
	}
	how.crew = newCrew(book.lines()) // feeds name each other, and the same devices
	found := map[string]*reading{}
	var problems []Problem
	var feeds []string
	for _, name := range names {
		text, _, _ := strings.Cut(name, "~")
		if _, err := events.ParseFeedID(text); err != nil {
			problems = append(problems, Problem{Fault: Stray, File: fileOf(name), Words: "the file is not named after a feed"})
			continue
		}
		feeds = append(feeds, name)
	}
	if err := how.readEach(site, id, book, feeds, found); err != nil {
		return nil, nil, err
	}
	for _, name := range slices.Sorted(maps.Keys(book.records)) {
		if found[name] == nil {
			problems = append(problems, Problem{Fault: Missing, File: fileOf(name), Words: "the file was here and is gone"})
		}
	}
	return found, problems, nil
}

// readEach reads the files of strands. Two goroutines share them, so that one is read
// while another is looked at.
func (how manner) readEach(site FS, id events.SiteID, book *book, names []string, found map[string]*reading) (err error) {
	var table sync.Mutex // over all that the two share
	next := func() (name string, ok bool) {
		table.Lock()
		defer table.Unlock()
		if len(names) == 0 || err != nil {
			return "", false
		}
		name, names = names[0], names[1:]
		return name, true
	}
	together(min(2, len(names)), func() {
		var w window
		for name, ok := next(); ok; name, ok = next() {
			feed, _, _ := strings.Cut(name, "~")
			r, failed := how.readStrand(&w, site, id, name, events.FeedID(feed), book.records[name])
			table.Lock()
			if found[name] = r; failed != nil {
				err = failed
			}
			table.Unlock()
		}
	})
	return err
}

// repair mends one file as far as that needs no peer.
func (j *Journal) repair(r *reading, was past, fate tailFate) error {
	s := &r.strand
	mine := s.name == string(j.own.Feed)
	tail := r.tailAt < r.size
	switch {
	case mine && tail && fate == keepAside:
		return r.again(func(raw []byte) error {
			if err := j.aside(s.name+".torn", raw[r.tailAt:]); err != nil {
				return err
			}
			if r.tornWithin(was) {
				return j.rewrite(s, raw)
			}
			return j.trimTail(r, raw)
		})
	case mine && tail && fate == cutOff, !mine && r.halfTail && r.lostTo < r.next():
		return r.again(func(raw []byte) error { return j.trimTail(r, raw) })
	case mine && !tail && r.tornWithin(was),
		s.spoilt && !tail && !slices.ContainsFunc(s.places, func(p place) bool { return p.state == damaged }):
		return r.again(func(raw []byte) error { return j.rewrite(s, raw) })
	case !was.mark.Clean && slices.ContainsFunc(s.places, func(p place) bool { return p.rec == 0 }):
		// These bytes may have been through a sync that failed, after which the
		// system may call them written though they are not. Write them afresh.
		return r.again(func(raw []byte) error {
			return wrap("write feed afresh", Replace(j.site, s.file(), raw))
		})
	}
	return nil
}

// tornWithin says whether what can't be read in the own feed is what a power cut
// took out of the middle of lines that were never vouched for, and so most likely
// never acknowledged: nobody else has them. Holes then stand in their places, and
// the bytes are kept aside; a peer that has one after all can still give it.
func (r *reading) tornWithin(was past) bool {
	unreadable := func(p place) bool { return p.state == damaged }
	from := slices.IndexFunc(r.places, unreadable)
	if from < 0 || was.mark.Clean || was.sameBoot || was.copied {
		return false
	}
	return !slices.ContainsFunc(r.places[from:], func(p place) bool { return p.rec != 0 })
}

// trimTail drops what can't be read at the end of a file, and nothing else.
func (j *Journal) trimTail(r *reading, raw []byte) error {
	if err := Replace(j.site, r.file(), raw[:r.tailAt]); err != nil {
		return fmt.Errorf("cut torn end: %w", err)
	}
	r.size = r.tailAt
	r.spoilt = slices.ContainsFunc(r.problems, func(p Problem) bool {
		return p.Line > 0 && p.Offset < r.tailAt && p.Fault != BadSeal
	})
	return nil
}

// rewrite puts a file that holds exactly the strand's places in place of the
// damaged one, which is kept aside.
func (j *Journal) rewrite(s *strand, old []byte) error {
	if err := j.aside(s.name+".damaged-", old); err != nil {
		return err
	}
	for i := range s.places {
		if s.places[i].state == damaged {
			s.places[i].state = hole
		}
	}
	b, err := s.lay(nil, 0, 0, old)
	if err != nil {
		return err
	}
	if err := Replace(j.site, s.file(), b); err != nil {
		return fmt.Errorf("write healed feed: %w", err)
	}
	s.size, s.spoilt, s.fresh = int64(len(b)), false, nil
	s.lacking, s.counted = nil, 0
	return nil
}

// aside keeps bytes under a name beside the feeds that is not taken yet.
func (j *Journal) aside(base string, b []byte) error {
	names, err := j.site.List(feedsDir)
	if err != nil {
		return fmt.Errorf("keep damaged bytes aside: %w", err)
	}
	name := base
	for n := 1; strings.HasSuffix(name, "-") || slices.Contains(names, name); n++ {
		name = fmt.Sprintf("%s-%d", strings.TrimSuffix(base, "-"), n)
	}
	return wrap("keep damaged bytes aside", Replace(j.site, feedsDir+"/"+name, b))
}

// settleReceipts writes check values for whatever has none, and the first
// opening in this boot.
func (j *Journal) settleReceipts(book *book, found map[string]*reading, was past, now events.Stamp) error {
	var add []byte
	for _, name := range slices.Sorted(maps.Keys(found)) {
		r := found[name]
		b, err := issue(&r.strand, 0, name == string(j.own.Feed), now, r.stale)
		if err != nil {
			return err
		}
		add = append(add, b...)
	}
	first, noted := book.firstOpened(now)
	j.opened = first
	if !noted {
		b, err := encodeChecked(entry{Opened: true}.stamped(now))
		if err != nil {
			return fmt.Errorf("write receipts: %w", err)
		}
		add = append(add, b...)
	}
	if book.damaged() {
		if err := j.aside(receiptsFile+".damaged-", book.raw); err != nil {
			return err
		}
	}
	if book.damaged() || !was.mark.Clean {
		return wrap("write receipts", Replace(j.site, receiptsFile, append(book.whole, add...)))
	}
	return j.appendReceipts(add, nil)
}

// appendReceipts makes receipts durable. It takes what issue returns.
func (j *Journal) appendReceipts(b []byte, err error) error {
	if err != nil || len(b) == 0 {
		return err
	}
	if j.receipts == nil {
		if j.receipts, err = j.site.Append(receiptsFile); err != nil {
			return fmt.Errorf("open receipts: %w", err)
		}
	}
	if _, err = j.receipts.Write(b); err == nil {
		err = j.receipts.Sync()
	}
	if err != nil {
		j.cutHalfReceipt()
	}
	return wrap("write receipts", err)
}

// cutHalfReceipt takes back what a failed write left of a line, so that a full disk
// does not look like a damaged one. Whole lines are true and may stay.
func (j *Journal) cutHalfReceipt() {
	b, err := j.site.Read(receiptsFile)
	if end := bytes.LastIndexByte(b, '\n') + 1; err == nil && end < len(b) {
		err = j.site.Truncate(receiptsFile, int64(end))
	}
	if err != nil {
		j.env.Log.Warn("can't take back half a receipt", "error", err)
	}
}

// issue gives places of s, from index from on, a record: those without one, or
// all. They must not be shared with readers yet. It returns the lines to write.
// Places without a record are said here if own, and first had now if not; the
// others keep their receipt.
func issue(s *strand, from int, own bool, now events.Stamp, all bool) ([]byte, error) {
	var out []byte
	for i := from; i < len(s.places); {
		rec, ok := s.wanted(i, own, now, all)
		n := i + 1
		for ok && n < len(s.places) {
			if next, more := s.wanted(n, own, now, all); !more || next != rec {
				break
			}
			n++
		}
		if ok {
			rec.from, rec.to = s.first+events.Seq(i), s.first+events.Seq(n-1)
			rec.crc = s.sum(rec.from, rec.to)
			s.records = append(s.records, rec)
			b, err := encodeChecked(entryOf(s.name, rec))
			if err != nil {
				return nil, fmt.Errorf("write receipts: %w", err)
			}
			out = append(out, b...)
			for k := i; k < n; k++ {
				s.places[k].rec = int32(len(s.records))
			}
		}
		i = n
	}
	return out, nil
}

// wanted is the receipt that a place should have, without its range, and whether
// a record is to be written for it. Nothing damaged is ever vouched for.
func (s *strand) wanted(i int, own bool, now events.Stamp, all bool) (record, bool) {
	p := s.places[i]
	switch {
	case p.state == damaged || p.state == badSeal || p.rec != 0 && !all:
		return record{}, false
	case p.rec != 0:
		r := s.records[p.rec-1]
		return record{own: r.own, stamp: r.stamp}, true
	case own:
		return record{own: true}, true
	}
	return record{stamp: now}, true
}

func wrap(what string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", what, err)
}
