package bus

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"pairwalk/events"
)

// noStamp marks what a peer said unasked.
var noStamp events.Stamp

// newsMost is the longest news that is sent along; a longer one is asked for.
const newsMost = 64 << 10

// pace is how fast things go.
type pace struct {
	first, most time.Duration // pauses between calls
	lasts       time.Duration // a line that was up as long is a good one
	answer      time.Duration // for a question
	again       time.Duration // between questions for a peer's have, on average
	gap         time.Duration // between them at the least
	trouble     time.Duration // until more is asked for after a failure of our own
	ping        time.Duration // between pings of a line, both ways
	roll        time.Duration // between looks at who is still on our server
}

var usual = pace{
	first: time.Second, most: 30 * time.Second, lasts: 10 * time.Second,
	answer: 10 * time.Second, again: 20 * time.Second, gap: 250 * time.Millisecond, trouble: 15 * time.Second,
	ping: 2500 * time.Millisecond, roll: time.Second,
}

// Bus is a member on all the buses it can reach: its own server's and others'.
type Bus struct {
	party    Party
	pictures Pictures // nil if the party carries none
	site     events.SiteID
	key      ed25519.PrivateKey
	self     events.Key
	nkey     string
	log      *slog.Logger
	pace     pace
	hub      *hub // nil if we run no server
	crier    *crier

	ctx      context.Context // until Close
	cancel   context.CancelFunc
	work     sync.WaitGroup
	troubled atomic.Bool

	mu      sync.Mutex
	closing bool
	calls   map[string]*calling
	lines   []*line
	peers   map[events.Key]*peer
}

// Open starts our server, if one is asked for, and gets ready to call at others.
// Once ctx is done everything ends, less gracefully than by Close, which must
// follow in any case.
func Open(ctx context.Context, p Party, o Options) (*Bus, error) { return openAlone(ctx, p, o, usual) }

// openAlone opens a bus with a server of its own, if any.
func openAlone(ctx context.Context, p Party, o Options, pace pace) (*Bus, error) {
	return open(ctx, p, o, pace, func(b *Bus) (*hub, error) {
		if o.Listen == "" {
			return nil, nil
		}
		return startHub(newGate(p, b.self, b.tell), b.site, o.Listen, pace.ping, b.log)
	})
}

// open opens a bus whose server, if any, is what serve gives.
func open(ctx context.Context, p Party, o Options, pace pace, serve func(*Bus) (*hub, error)) (*Bus, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	key := p.BusKey()
	nkey, err := nkeyOf(publicOf(key))
	if err != nil {
		return nil, err
	}
	site, err := siteOf(p.Joined())
	if err != nil {
		return nil, err
	}
	b := &Bus{
		party: p, site: site, key: key, self: events.KeyOf(publicOf(key)), nkey: nkey, log: o.Log, pace: pace,
		crier: newCrier(o.Notice), calls: map[string]*calling{}, peers: map[events.Key]*peer{},
	}
	b.pictures, _ = p.(Pictures)
	if b.hub, err = serve(b); err != nil {
		b.crier.stop()
		return nil, err
	}
	b.ctx, b.cancel = context.WithCancel(ctx)
	if b.hub != nil {
		b.work.Go(func() { b.attend(b.ctx) })
		b.work.Go(b.callRoll)
	}
	grew, stop := p.Watch()
	b.work.Go(func() { b.watch(grew, stop) })
	return b, nil
}

// siteOf reads the site from our own join line.
func siteOf(joined []byte) (events.SiteID, error) {
	h, _, err := events.ParseHeader(joined)
	if err != nil {
		return "", fmt.Errorf("open bus: our own join: %w", err)
	}
	return h.Site, nil
}

// Addrs is where others may reach our server, as host:port; none if we run none.
func (b *Bus) Addrs() []string {
	if b.hub == nil {
		return nil
	}
	return b.hub.addrs()
}

// Callers is how many lines others have to our server now.
func (b *Bus) Callers() int {
	if b.hub == nil {
		return 0
	}
	return b.hub.gate.callers()
}

// Close says that we go, sees to it that entries which have come are kept, and
// returns when nothing of the bus runs any more. A second Close does nothing. The
// error is always nil.
func (b *Bus) Close() error {
	b.mu.Lock()
	if b.closing {
		b.mu.Unlock()
		return nil
	}
	b.closing = true
	lines := slices.Clone(b.lines)
	b.mu.Unlock()
	for _, l := range lines {
		l.say(sayGone, nil)
	}
	b.cancel()
	b.work.Wait()
	if b.hub != nil {
		b.hub.stop()
	}
	b.crier.stop()
	return nil
}

// spawn runs f unless the bus is closing.
func (b *Bus) spawn(f func()) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closing {
		return false
	}
	b.work.Go(f)
	return true
}

// everybody is all peers. The bus is locked.
func (b *Bus) everybody() []*peer { return slices.Collect(maps.Values(b.peers)) }

func (b *Bus) tell(n Notice) { b.crier.cry(n) }

// watch tells the others whenever our log has grown, and looks again at who may
// still be on a line with us.
func (b *Bus) watch(grew <-chan struct{}, stop func()) {
	defer stop()
	last := b.party.Have()
	for {
		select {
		case <-b.ctx.Done():
			return
		case <-grew:
		}
		have := b.party.Have()
		grown := have.Since(last)
		last = have
		b.recheck()
		b.mu.Lock()
		lines, peers := slices.Clone(b.lines), b.everybody()
		b.mu.Unlock()
		if len(grown.Tips) > 0 {
			news := grown.Encode()
			if len(news) > newsMost {
				news = nil
			}
			for _, l := range lines {
				l.say(sayChanged, news)
			}
		}
		for _, p := range peers {
			p.differs()
		}
		b.pump()
	}
}

// recheck ends the lines of those who are members no more.
func (b *Bus) recheck() {
	if b.hub != nil {
		b.hub.gate.recheck()
	}
	b.mu.Lock()
	lines := slices.Clone(b.lines)
	b.mu.Unlock()
	for _, l := range lines {
		if l.server == b.self || b.party.Trusts(l.server) {
			continue
		}
		const why = "its member was revoked"
		b.tell(Notice{Kind: Revoked, Peer: l.server, Addr: l.addr, Why: why})
		l.cut(why)
	}
}

func compareKeys(a, b events.Key) int { return strings.Compare(string(a), string(b)) }
