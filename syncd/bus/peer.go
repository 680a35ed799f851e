package bus

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"pairwalk/events"
)

// Bounds on what peers can make us hold.
const (
	peersMost  = 512
	tipsMost   = 16 // news of one peer, waiting
	silentMost = 2  // questions in a row that a peer may leave unanswered
)

var (
	errGone = errors.New("it is on no bus with us any more")
	errAnew = errors.New("it came anew, and what was asked before is lost")
)

// peer is somebody on one bus or several with us. One goroutine converses with it.
type peer struct {
	bus    *Bus
	key    events.Key
	ctx    context.Context // until it has left
	leave  context.CancelFunc
	nudged chan struct{}
	news   chan []byte // payloads of changed
	unkept string      // why its clock could not be logged last time; the conversation's own

	mu       sync.Mutex
	lines    []*line
	spell    context.Context // until it comes anew
	endSpell context.CancelFunc
	late     []*line // came while it was leaving
	silent   int
	here     bool // it answered, and people were told
	same     bool
	from, to int
	took     int  // since people were last told
	flying   int  // pulls on their way
	viewing  bool // a question about pictures is on its way
	seen     int  // pictures since people were last told
	fault    string
	greeted  *line // in this gap
}

// meet takes note that a peer is on a line, and begins a conversation with a new
// one. It returns nil where there is no room for more, or it is just leaving.
func (b *Bus) meet(key events.Key, l *line) *peer {
	b.mu.Lock()
	defer b.mu.Unlock()
	p := b.peers[key]
	if p == nil {
		if b.closing || len(b.peers) >= peersMost {
			return nil
		}
		p = &peer{bus: b, key: key, nudged: make(chan struct{}, 1), news: make(chan []byte, tipsMost)}
		p.ctx, p.leave = context.WithCancel(b.ctx)
		p.spell, p.endSpell = context.WithCancel(p.ctx)
		b.peers[key] = p
		b.work.Go(func() { b.converse(p) })
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case <-l.ended:
		return nil
	default:
	}
	if p.ctx.Err() != nil {
		p.late = append(p.late, l)
		return nil
	}
	if !slices.Contains(p.lines, l) {
		p.lines = append(p.lines, l)
	}
	return p
}

// part takes note that a peer is not on a line any more.
func (b *Bus) part(key events.Key, l *line) {
	b.mu.Lock()
	p := b.peers[key]
	b.mu.Unlock()
	if p != nil {
		p.drop(l)
	}
}

// drop takes a line from a peer; without one it leaves.
func (p *peer) drop(l *line) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.lines = slices.DeleteFunc(p.lines, func(o *line) bool { return o == l })
	p.silent = 0
	if len(p.lines) == 0 {
		p.leave()
	}
}

// forget ends what we have with a peer that left, and begins anew if it came back
// meanwhile.
func (b *Bus) forget(p *peer) {
	p.leave()
	b.party.Left(p.key)
	b.mu.Lock()
	delete(b.peers, p.key)
	p.mu.Lock()
	late, told := p.late, p.here && !b.closing
	p.mu.Unlock()
	b.mu.Unlock()
	if told {
		b.tell(Notice{Kind: Left, Peer: p.key})
	}
	for _, l := range late {
		b.meet(p.key, l)
	}
	b.pump() // others may have what was asked of it
}

// nudge has the peer's have asked for soon.
func (p *peer) nudge() {
	select {
	case p.nudged <- struct{}{}:
	default:
	}
}

// anew takes note that a peer came onto a line, which it says once for each
// connection. Whatever it was asked there before went with the one that it had.
func (p *peer) anew(l *line) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.lines) > 0 && p.lines[0] == l {
		p.endSpell()
		p.spell, p.endSpell = context.WithCancel(p.ctx)
	}
}

// greets says whether to greet a peer back on a line: once in a gap, so that who
// floods is not echoed by everybody. It is asked for its have in any case, and
// that tells it as much.
func (p *peer) greets(l *line) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.greeted == l {
		return false
	}
	p.greeted = l
	time.AfterFunc(p.bus.pace.gap, func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		if p.greeted == l {
			p.greeted = nil
		}
	})
	return true
}

// grew passes on what a peer says it has besides. Where too much of that waits,
// or it is nothing, the whole have is asked for.
func (p *peer) grew(tips []byte) {
	if len(tips) > 0 {
		select {
		case p.news <- tips:
			return
		default:
		}
	}
	p.nudge()
}

// ask asks a peer on one of its lines. A line on which nobody has its key, or on
// which it was silent too often, is dropped. A pull unanswered does not count as
// silence: whether the peer still lives is for its have to show. Nor do questions
// about pictures, for which older members have no ear.
func (p *peer) ask(what string, payload []byte) ([]byte, error) {
	p.mu.Lock()
	var l *line
	if len(p.lines) > 0 {
		l = p.lines[0]
	}
	spell := p.spell
	p.mu.Unlock()
	if l == nil {
		return nil, errGone
	}
	ctx, cancel := context.WithTimeout(spell, p.bus.pace.answer)
	defer cancel()
	reply, err := l.ask(ctx, p.key, what, payload)
	switch {
	case err == nil:
		p.mu.Lock()
		p.silent = 0
		p.mu.Unlock()
	case spell.Err() != nil && p.ctx.Err() == nil:
		return nil, errAnew
	case errors.Is(err, errEnded), errors.Is(err, errNobody) && !slices.Contains(shown[:], what):
		p.drop(l)
	case slices.Contains(asked[:], what) && what != askPull:
		p.mu.Lock()
		p.silent++
		enough := p.silent >= silentMost
		p.mu.Unlock()
		if enough {
			p.drop(l)
		}
	}
	return reply, err
}

// complain tells people what a peer did wrong, unless that was the last thing
// they heard of it.
func (p *peer) complain(why string) {
	p.mu.Lock()
	known := p.fault == why
	p.fault = why
	p.mu.Unlock()
	if !known {
		p.bus.tell(Notice{Kind: Complaint, Peer: p.key, Why: why})
	}
}

// gave counts entries that a peer took from us.
func (b *Bus) gave(to events.Key, n int) {
	b.mu.Lock()
	p := b.peers[to]
	b.mu.Unlock()
	if p != nil {
		p.mu.Lock()
		p.to += n
		p.mu.Unlock()
	}
}

// progress tells people what came of an exchange, once it rests. What came is
// kept, and told, although the peer may have left meanwhile.
func (p *peer) progress() {
	p.mu.Lock()
	flying := p.flying
	p.mu.Unlock()
	if flying > 0 {
		return
	}
	standing := p.bus.party.Towards(p.key)
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.flying > 0 {
		return
	}
	if p.took > 0 {
		p.bus.tell(Notice{Kind: Took, Peer: p.key, N: p.took})
		p.took = 0
	}
	if p.ctx.Err() != nil {
		return
	}
	if standing.Same && !p.same {
		p.bus.tell(Notice{Kind: Same, Peer: p.key})
	}
	p.same = standing.Same
}

// differs looks whether we still hold the same, now that our log has grown.
func (p *peer) differs() {
	p.mu.Lock()
	same := p.same
	p.mu.Unlock()
	if same && !p.bus.party.Towards(p.key).Same {
		p.mu.Lock()
		p.same = false
		p.mu.Unlock()
	}
}

// Peers is everybody who is on a bus with us and answers, by key.
func (b *Bus) Peers() []Peer {
	b.mu.Lock()
	peers := b.everybody()
	b.mu.Unlock()
	var out []Peer
	for _, p := range peers {
		p.mu.Lock()
		if p.here && len(p.lines) > 0 {
			out = append(out, Peer{Key: p.key, At: p.lines[0].at(), From: p.from, To: p.to})
		}
		p.mu.Unlock()
	}
	slices.SortFunc(out, func(a, b Peer) int { return compareKeys(a.Key, b.Key) })
	for i := range out {
		out[i].Name, out[i].Standing = b.party.NameOf(out[i].Key), b.party.Towards(out[i].Key)
	}
	return out
}
