package syncd

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// Unanswered ends an ask that nothing came of. A peer that does not say what it
// holds may be one that carries no pictures: it is asked more and more rarely.
// Pieces that do not come through are asked for smaller.
func (g *Gallery) Unanswered(id uint64) {
	ask := g.asked[id]
	p := g.done(id)
	switch {
	case p == nil:
	case ask.OfPiece():
		p.most = max(p.most/2, minPiece)
		p.aside = max(p.aside, 1)
	default:
		p.mute = true
		p.quiet = min(p.quiet+1, 3)
		p.aside = max(p.aside, 1<<p.quiet) // Heard takes one off at once
	}
}

// Failed ends an ask whose reply could not be kept, through no fault of the peer.
func (g *Gallery) Failed(id uint64) { g.done(id) }

// Took ends an ask whose reply was dealt with: what it brought is kept, or, where
// the whole turned out to be something else, thrown away. The error is a
// *Complaint where the peer is at fault.
func (g *Gallery) Took(r PictureReply, wrong bool) error {
	p := g.done(r.Ask.ID)
	if p == nil {
		return nil
	}
	why := g.judge(p, r, wrong)
	if why == "" {
		return nil
	}
	p.why = why
	p.fault = min(p.fault+1, 6)
	p.aside = max(p.aside, 1<<p.fault)
	return &Complaint{r.Ask.Peer, why}
}

// judge says what the peer did wrong, or nothing, and moves on from its reply.
func (g *Gallery) judge(p *viewer, r PictureReply, wrong bool) string {
	name := r.Ask.Piece.SHA256
	switch {
	case r.fault != nil:
		return r.fault.Error()
	case !r.Ask.OfPiece():
		p.mute, p.quiet = false, 0
		for i, held := range r.held {
			p.has[r.Ask.Named[i]] = held
		}
		return ""
	case r.is != piece || r.short:
		if r.short {
			g.from[name] = &origin{alone: true}
		} else {
			p.has[name] = false // until the next round
		}
		if p.empty++; p.empty >= emptyMost {
			p.aside = max(p.aside, 1)
		}
		return ""
	}
	p.most = min(2*p.most, MaxPiece)
	p.taken += int64(len(r.Bytes))
	g.brought(r)
	if !r.Last() {
		return ""
	}
	o := g.from[name]
	delete(g.from, name)
	switch {
	case !wrong:
		p.fault = 0
		return ""
	case o.one(r.Ask.Peer):
		p.wrong[name] = true
		g.from[name] = &origin{alone: true}
		return "sent a picture that is not what its name says"
	}
	g.from[name] = &origin{alone: true}
	return ""
}

// brought notes whom a piece is from.
func (g *Gallery) brought(r PictureReply) {
	name := r.Ask.Piece.SHA256
	o := g.from[name]
	if o == nil {
		o = &origin{}
		g.from[name] = o
	}
	if r.Ask.Piece.From == 0 {
		o.whole, o.peers = true, nil
	}
	if o.peers == nil {
		o.peers = map[events.Key]bool{}
	}
	o.peers[r.Ask.Peer] = true
}

// Gave notes that a peer was handed so many bytes. Whether it could keep them it
// says itself, in the next round.
func (g *Gallery) Gave(to events.Key, bytes int) {
	if p := g.peers[to]; p != nil {
		p.given += int64(bytes)
	}
}

// Showing is how a member and a peer stand to each other in pictures.
type Showing struct {
	Said bool   // it said of every picture that entries speak of whether it holds it
	Mute bool   // it was asked and does not answer: it may not carry pictures
	Want int    // pictures that it holds and that can be fetched of it
	Lack int    // pictures that are here and that it does not hold
	Why  string // the last fault

	From, To int64 // bytes of pictures that came from it and went to it, since it was met
}

// Towards is how things stand with a peer.
func (g *Gallery) Towards(key events.Key) Showing {
	p := g.peers[key]
	if p == nil {
		return Showing{}
	}
	s := Showing{Said: true, Mute: p.mute, Why: p.why, From: p.taken, To: p.given}
	for _, name := range g.named {
		held, said := p.has[name]
		switch {
		case !said:
			s.Said = false
		case g.fetchable(p, name):
			s.Want++
		case !held && g.shelf.Holds(name):
			s.Lack++
		}
	}
	return s
}

// HeldBy lists the peers that say they hold a picture.
func (g *Gallery) HeldBy(sha256 string) []events.Key {
	var out []events.Key
	for _, key := range slices.Sorted(maps.Keys(g.peers)) {
		if p := g.peers[key]; p.has[sha256] && !p.wrong[sha256] {
			out = append(out, key)
		}
	}
	return out
}

// Coming lists the pictures that peers are being asked for, sorted.
func (g *Gallery) Coming() []string { return slices.Sorted(maps.Keys(g.busy)) }
