package bus

import (
	"context"
	"errors"
	"slices"

	"pairwalk/syncd"
)

// view sends what is to be asked about pictures now.
func (b *Bus) view() {
	if b.pictures == nil {
		return
	}
	for _, ask := range b.pictures.PictureAsks() {
		b.mu.Lock()
		p := b.peers[ask.Peer]
		b.mu.Unlock()
		if p == nil {
			b.pictures.PictureUnanswered(ask)
			continue
		}
		p.mu.Lock()
		p.viewing = true
		p.mu.Unlock()
		if !b.spawn(func() { b.fetch(p, ask) }) {
			b.pictures.PictureUnanswered(ask)
		}
	}
}

// fetch sends one ask about pictures and takes in what comes of it.
func (b *Bus) fetch(p *peer, ask syncd.PictureAsk) {
	what := askHeld
	if ask.OfPiece() {
		what = askPiece
	}
	reply, err := p.ask(what, ask.Encode())
	p.mu.Lock()
	p.viewing = false
	p.mu.Unlock()
	if err != nil {
		b.pictures.PictureUnanswered(ask)
	} else {
		b.keep(p, ask, reply)
	}
	b.pump()
	b.viewed(p)
}

// keep hands in a reply. Once begun, that is not broken off.
func (b *Bus) keep(p *peer, ask syncd.PictureAsk, reply []byte) {
	n, err := b.pictures.PictureAnswered(context.WithoutCancel(b.ctx), ask, reply)
	p.mu.Lock()
	p.seen += n
	p.mu.Unlock()
	var fault *syncd.Complaint
	switch {
	case errors.As(err, &fault):
		p.complain(fault.Why)
	case err != nil:
		b.trouble(p, err)
	}
}

// viewed tells people, once nothing more is asked of a peer, how many pictures came
// from it; and everybody on our buses that there is reason to ask us again.
func (b *Bus) viewed(p *peer) {
	p.mu.Lock()
	n := p.seen
	if p.viewing || n == 0 || p.ctx.Err() != nil {
		p.mu.Unlock()
		return
	}
	p.seen = 0
	p.mu.Unlock()
	b.tell(Notice{Kind: Pictured, Peer: p.key, N: n})
	b.mu.Lock()
	lines := slices.Clone(b.lines)
	b.mu.Unlock()
	for _, l := range lines {
		l.say(sayChanged, nil)
	}
}
