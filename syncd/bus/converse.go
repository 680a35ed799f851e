package bus

import (
	"context"
	"errors"
	"math/rand/v2"
	"time"

	"pairwalk/syncd"
)

// samples is how many clock readings are asked of a peer in each round; the best
// is kept.
const samples = 5

// converse keeps up with one peer until it leaves. A round begins with its clock,
// then follows what it has; that again whenever it says that it changed.
func (b *Bus) converse(p *peer) {
	defer b.forget(p)
	for p.ctx.Err() == nil {
		b.compare(p)
		round := time.NewTimer(b.pace.again/2 + rand.N(b.pace.again))
		for over := false; !over && p.ctx.Err() == nil; {
			if b.askHave(p) {
				over = b.listen(p, round.C)
			} else {
				b.listen(p, time.After(b.pace.gap))
			}
		}
		round.Stop()
	}
}

// listen takes a peer's news until it is time to ask for its whole have again,
// and says whether the round is over. However often it nudges, it is asked no
// sooner than a gap from now, and the round ends when it would have anyway.
func (b *Bus) listen(p *peer, round <-chan time.Time) bool {
	gap := time.NewTimer(b.pace.gap)
	defer gap.Stop()
	nudged := p.nudged
	var soon <-chan time.Time
	for {
		select {
		case <-p.ctx.Done():
			return false
		case <-round:
			return true
		case <-soon:
			return false
		case <-nudged:
			nudged, soon = nil, gap.C
		case tips := <-p.news:
			have, err := syncd.DecodeHave(tips)
			if err != nil {
				p.complain("said what it has in a way that makes no sense")
				continue
			}
			b.party.Hear(p.key, have, noStamp)
			b.pump()
			p.progress()
		}
	}
}

// compare asks a peer for its clock a few times.
func (b *Bus) compare(p *peer) {
	var got []syncd.Sample
	var wrong error
	for range samples {
		t1 := b.party.Stamp()
		reply, err := p.ask(askClock, nil)
		t4 := b.party.Stamp()
		if p.ctx.Err() != nil {
			return
		}
		if err != nil {
			continue
		}
		sample, err := syncd.CompareClocks(t1, reply, t4)
		if err != nil {
			wrong = err
			continue
		}
		got = append(got, sample)
	}
	if len(got) == 0 {
		b.log.Debug("bus peer", "key", p.key, "no clock", wrong)
		return
	}
	why := ""
	if _, err := b.party.Compared(p.ctx, p.key, got); err != nil {
		why = "can't keep how the clocks compare: " + err.Error()
	}
	if known := p.unkept == why; !known && why != "" && p.ctx.Err() == nil {
		b.tell(Notice{Kind: Trouble, Peer: p.key, Why: why})
	}
	p.unkept = why
}

// askHave asks for everything a peer has, and says whether it answered.
func (b *Bus) askHave(p *peer) bool {
	asked := b.party.Stamp()
	reply, err := p.ask(askHave, nil)
	if err != nil || p.ctx.Err() != nil {
		return false
	}
	p.mu.Lock()
	first := !p.here
	p.here = true
	at := ""
	if len(p.lines) > 0 {
		at = p.lines[0].at()
	}
	p.mu.Unlock()
	if first {
		b.tell(Notice{Kind: Here, Peer: p.key, Addr: at})
	}
	have, err := syncd.DecodeHave(reply)
	if err != nil {
		p.complain("said what it has in a way that makes no sense")
		return true
	}
	b.party.Hear(p.key, have, asked)
	b.pump()
	p.progress()
	return true
}

// pump sends whatever is to be asked now: of pictures once nothing is of entries.
func (b *Bus) pump() {
	if b.ctx.Err() != nil || b.troubled.Load() {
		return
	}
	defer b.view()
	for _, ask := range b.party.Asks() {
		b.mu.Lock()
		p := b.peers[ask.Peer]
		b.mu.Unlock()
		if p == nil {
			b.party.Unanswered(ask)
			continue
		}
		p.mu.Lock()
		p.flying++
		p.mu.Unlock()
		if !b.spawn(func() { b.pull(p, ask) }) {
			b.party.Unanswered(ask)
		}
	}
}

// pull sends one ask and takes in what comes of it.
func (b *Bus) pull(p *peer, ask syncd.Ask) {
	reply, err := p.ask(askPull, ask.Pull.Encode())
	if err != nil {
		b.party.Unanswered(ask)
		if errors.Is(err, context.DeadlineExceeded) {
			p.complain("does not answer what it is asked for")
		}
		p.nudge()
	} else {
		b.party.Came(ask, reply)
		b.pump()
		b.take(p, ask, reply)
	}
	p.mu.Lock()
	p.flying--
	p.mu.Unlock()
	b.pump()
	p.progress()
}

// take hands in a reply. Once begun, that is not broken off.
func (b *Bus) take(p *peer, ask syncd.Ask, reply []byte) {
	got, err := b.party.Answered(context.WithoutCancel(b.ctx), ask, reply)
	p.mu.Lock()
	p.from += got.Fresh
	p.took += got.Fresh
	p.mu.Unlock()
	var fault *syncd.Complaint
	switch {
	case errors.As(err, &fault):
		p.complain(fault.Why)
	case err != nil:
		b.trouble(p, err)
	}
}

// trouble is our own: the disk may be full. Nothing more is asked of anybody for
// a while, or we would fetch the same again and again.
func (b *Bus) trouble(p *peer, err error) {
	if b.troubled.Swap(true) {
		return
	}
	b.tell(Notice{Kind: Trouble, Peer: p.key, Why: "can't keep what others send: " + err.Error()})
	resume := func() {
		t := time.NewTimer(b.pace.trouble)
		defer t.Stop()
		select {
		case <-t.C:
			b.troubled.Store(false)
			b.pump()
		case <-b.ctx.Done():
		}
	}
	if !b.spawn(resume) {
		b.log.Debug("bus", "closing in trouble", err)
	}
}
