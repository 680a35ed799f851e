package syncd

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Batch is what a reply holds, checked: lines of one feed that are authentic.
type Batch struct {
	Ask  Ask
	Runs []Run

	is    outcome
	fault error // what the peer did wrong in it, if anything
}

// Run is lines that follow each other. Where it does not begin where the one
// before ended, or where the asker stood, the peer lacks what is between.
type Run struct {
	Hole  events.Head // the line right before Lines, where it is missing; else zero
	Lines []seal.Verified
}

// OpenReply checks a reply to an ask: that it keeps to what was asked for, and
// every line of it by its seal. Authentic lines are in the batch even where
// others were not.
func OpenReply(site events.SiteID, ask Ask, reply []byte) Batch {
	b := Batch{Ask: ask}
	if len(reply) > max(ask.Pull.Max, seal.MaxLine+1)+256 {
		b.fault = fmt.Errorf("sent %d bytes where it was asked for %d", len(reply), ask.Pull.Max)
		return b
	}
	head, body, _ := bytes.Cut(reply, []byte{'\n'})
	var w replyHead
	if err := json.Unmarshal(head, &w); err != nil || w.V != Version || w.Is == lines && w.Feed != ask.Pull.Tip.Feed {
		b.fault = errors.New("sent what is no reply")
		return b
	}
	b.is = w.Is
	if w.Is == lines && len(body) > 0 {
		b.open(site, bytes.Split(body, []byte{'\n'}))
	}
	return b
}

// open takes the authentic lines, in runs that follow each other.
func (b *Batch) open(site events.SiteID, sent [][]byte) {
	next := b.Ask.Pull.From
	runs, err := seal.OpenRuns(sent)
	for _, run := range runs {
		if b.fault = b.fits(site, run, next); b.fault != nil {
			return
		}
		r := Run{Lines: run}
		if run[0].Seq() > next {
			r.Hole = events.Head{Seq: run[0].Seq() - 1, Hash: run[0].Prev()}
		}
		b.Runs = append(b.Runs, r)
		next = run[len(run)-1].Seq() + 1
	}
	switch {
	case errors.Is(err, seal.ErrSignature), errors.Is(err, seal.ErrChain):
		b.fault = errors.New("sent lines that nobody signed")
	case err != nil:
		b.fault = errors.New("sent lines that are none")
	}
}

// fits says what is wrong with a run that is authentic in itself.
func (b *Batch) fits(site events.SiteID, run []seal.Verified, next events.Seq) error {
	p, first, last := b.Ask.Pull, run[0], run[len(run)-1]
	switch {
	case first.Header().Site != site || first.Feed() != p.Tip.Feed:
		return errors.New("sent another feed than it was asked for")
	case first.Seq() < next || p.To > 0 && last.Seq() > p.To:
		return errors.New("sent other entries than it was asked for")
	case first.Seq() == p.From && p.From > 1 && p.Prev != (events.Hash8{}) && first.Prev().Short() != p.Prev:
		return errors.New("sent entries that do not follow what it was asked to follow")
	}
	return nil
}

// Plain says whether the batch holds nothing but lines that go on where the asker
// stood, or nothing at all.
func (b *Batch) Plain() bool {
	return !b.Ask.heal && (len(b.Runs) == 0 || len(b.Runs) == 1 && b.Runs[0].Hole.Seq == 0)
}

// Lines is how many lines the batch holds.
func (b *Batch) Lines() int {
	n := 0
	for _, r := range b.Runs {
		n += len(r.Lines)
	}
	return n
}

// last is the newest line, zero where there is none.
func (b *Batch) last() events.Ref {
	if len(b.Runs) == 0 {
		return events.Ref{}
	}
	run := b.Runs[len(b.Runs)-1].Lines
	return run[len(run)-1].Ref()
}

// joins says whether a line of the batch is a join proven back to the site's root.
func (b *Batch) joins(site events.SiteID) bool {
	for _, r := range b.Runs {
		for _, v := range r.Lines {
			e := v.Event()
			if p, ok := e.Payload.(events.MemberJoined); ok && p.Proven(site, e.Feed) == nil {
				return true
			}
		}
	}
	return false
}
