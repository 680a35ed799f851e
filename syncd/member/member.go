package member

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"
	"sync"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/projection"
	"pairwalk/syncd"
)

// Member is one site open for work. Its methods may be called from many
// goroutines.
type Member struct {
	at      journal.FS
	keys    keyring
	self    events.Key         // our feed key
	signer  ed25519.PrivateKey // its secret half
	journal Log
	world   World
	reading bool // the log is a file's, and nothing is recorded

	mu       sync.Mutex
	history  projection.History
	now      *projection.Site // the facts of everything, nil where they must be folded; never changed
	clock    events.HLC
	last     events.Head                                 // of the own feed, written or on its way
	feed     events.FeedID                               // the own feed, "" until it begins
	heads    map[events.FeedID]events.Ref                // what others have said and we took in
	spoken   map[events.FeedID]events.Ref                // of those, what our feed has told of
	joined   joins                                       // whose joins hold; has a lock of its own
	handed   map[events.FeedID]events.Seq                // how far others are known to hold our feeds
	holding  map[events.Key]map[events.FeedID]events.Seq // how far peers, by bus key, said they hold what we hold too
	fresh    freshness                                   // how fresh colleagues' logs are here
	stale    bool                                        // fresh was not written down
	dealings int                                         // see Dealings
	told     map[events.Key]telling                      // what peers said they have and we lack yet
	team     *projection.Site                            // who belongs to the site, nil where it must be worked out
	join     events.Ref                                  // our own member.joined
	places   places                                      // where others are met
	refusals refusals
	compared map[events.Key]events.ClockCompared // our last comparison with each
	unnamed  map[events.Key]syncd.Sample         // comparisons with peers not in the log yet
	watchers map[chan struct{}]bool
	partly   partly
	once     map[Once]events.Ref // our own entries, by the random half of their id

	repeat   sync.Mutex // one at a time of those that may have been asked for before; taken before mu
	talk     sync.Mutex // taken before mu where both are
	exchange *syncd.Exchange
	arrivals arrivals
	deciding sync.RWMutex // held while a newcomer is taken in and decided on; taken after that of arrivals, before talk

	survey   survey
	clashes  clashes
	album    Album
	pictures pictures
	pictured bool // an entry speaks of a picture
}

func newMember(at journal.FS, keys keyring, j Log, a Album, w World) *Member {
	m := &Member{
		at: at, album: a, pictures: pictures{gallery: syncd.NewGallery(a)}, keys: keys, self: keys.key(), signer: keys.feedKey(), journal: j, world: w,
		history:  projection.History{Site: keys.Site, Together: w.Together},
		heads:    map[events.FeedID]events.Ref{},
		spoken:   map[events.FeedID]events.Ref{},
		handed:   map[events.FeedID]events.Seq{},
		holding:  map[events.Key]map[events.FeedID]events.Seq{},
		once:     map[Once]events.Ref{},
		told:     map[events.Key]telling{},
		compared: map[events.Key]events.ClockCompared{},
		unnamed:  map[events.Key]syncd.Sample{},
		watchers: map[chan struct{}]bool{},
	}
	m.exchange = syncd.NewExchange(keys.Site, j, m.proven)
	return m
}

// load takes in what the journal holds.
func (m *Member) load() error {
	var lines []seal.Verified
	for v, err := range m.journal.All() {
		if err != nil {
			return fmt.Errorf("read journal: %w", err)
		}
		lines = append(lines, v)
	}
	m.start(nil, journal.Events(lines))
	return nil
}

// start takes in all that the journal holds, branch by branch. Its order hangs on nothing
// that happened, so it is worked out meanwhile: while read, if there is such a thing,
// reads what lines say, and that is taken note of.
func (m *Member) start(read func(), said ...[]events.Event) {
	own := m.journal.Own()
	if own.Replace == "" {
		m.feed, m.last = own.Feed, own.Head
	}
	now := m.world.wall()
	m.world.together(func() {
		if read != nil {
			read()
		}
		m.resume(said)
		for _, evs := range said {
			m.note(m.world.understood(evs), now)
		}
	}, func() { m.history.Begin(said...) })
	m.fresh.read(m.at)
	m.unhear()
	m.places.read(m.at)
	m.refusals.read(m.at)
}

// resume goes on with the own feed where its entries left off.
func (m *Member) resume(said [][]events.Event) {
	for _, evs := range said {
		for i := range evs {
			if evs[i].Feed == m.feed {
				m.tell(&evs[i])
				if m.clock.Before(evs[i].HLC) {
					m.clock = evs[i].HLC
				}
			}
		}
	}
}

// Close lets others open the site.
func (m *Member) Close() error {
	m.mu.Lock()
	noted := m.noteFreshness()
	m.mu.Unlock()
	return errors.Join(noted, m.journal.Close())
}

// tell notes which heads an entry of our feed has told of.
func (m *Member) tell(e *events.Event) {
	for _, ref := range e.Seen {
		m.spoken[ref.Feed] = ref
	}
}

// takeIn folds events that are on disk, ours and others', once. They are the
// history's from then on.
func (m *Member) takeIn(evs []events.Event, now events.Instant) {
	m.fold(m.unfolded(evs), now)
}

func (m *Member) fold(evs []events.Event, now events.Instant) {
	m.note(evs, now)
	m.adopt(evs)
}

// note notes what events say that the member itself has to know. It does without the
// history.
func (m *Member) note(evs []events.Event, now events.Instant) {
	var newest *events.Event // of those of one feed that come one after the other
	for i := range evs {
		e := &evs[i]
		if p, ok := e.Payload.(events.MemberJoined); ok && p.Proven(m.keys.Site, e.Feed) == nil {
			m.joined.add(p.Key)
			if p.Key == m.self {
				m.join = e.Ref()
			}
		}
		if p, ok := e.Payload.(events.ClockCompared); ok && e.Member() == m.self {
			m.compared[p.Other] = p
		}
		if ofMembers(e) {
			m.team = nil
			m.dealings++
		}
		m.pictured = m.pictured || speaksOfPicture(e)
		if e.Member() == m.self && !m.partly.brief {
			m.once[Once(e.ID[6:])] = e.Ref()
		}
		if e.Feed == m.feed {
			continue
		}
		if newest == nil || newest.Feed != e.Feed {
			m.noteHead(newest)
			newest = e
		} else if e.Seq > newest.Seq {
			newest = e
		}
		m.clock = m.clock.Hear(e.HLC, now)
		if e.Member() == m.self {
			continue
		}
		for _, ref := range e.Seen {
			if ref.Feed.Key() == m.self {
				m.handed[ref.Feed] = max(m.handed[ref.Feed], ref.Seq)
			}
		}
	}
	m.noteHead(newest)
	m.now = nil
	m.grown()
}

// noteHead notes that we took in an event of somebody else, if it is one.
func (m *Member) noteHead(e *events.Event) {
	if e != nil && e.Seq > m.heads[e.Feed].Seq {
		m.heads[e.Feed] = e.Ref()
	}
}

// Key is this member's feed key.
func (m *Member) Key() events.Key { return m.self }

// Name is what this member called itself on joining.
func (m *Member) Name() string { return m.keys.Name }

// Info is the site as this installation knows it.
func (m *Member) Info() SiteInfo { return m.keys.info() }

// At is the facts of a moment. They are for reading: others may read the same.
func (m *Member) At(moment projection.Moment) *projection.Site {
	m.mu.Lock()
	defer m.mu.Unlock()
	if moment != (projection.Moment{}) {
		return m.history.At(moment)
	}
	return m.folded()
}

// folded is the facts of everything, folded once for all who ask until more comes.
func (m *Member) folded() *projection.Site {
	if m.now == nil {
		m.now = m.history.At(projection.Moment{})
	}
	return m.now
}

// Now is the facts of everything known here.
func (m *Member) Now() *projection.Site { return m.At(projection.Moment{}) }

// Problems is what was found wrong with the files when the site was opened.
func (m *Member) Problems() []journal.Problem { return m.journal.Problems() }

// Unsent is how many entries of this installation no colleague is known to
// hold.
func (m *Member) Unsent() int {
	m.mu.Lock()
	defer m.mu.Unlock()
	n := 0
	for feed, head := range m.journal.Heads() {
		if feed.Key() == m.self {
			n += int(head.Seq - min(head.Seq, m.handed[feed]))
		}
	}
	return n
}

// seen lists the heads that the next entry has to tell of: those new since the
// last one, or all of them at the first and every 256th. Feeds of strangers are
// left out; anybody can make those.
func (m *Member) seen(next events.Seq) []events.Ref {
	whole := next%fullEvery == 1
	var out []events.Ref
	for feed, ref := range m.heads {
		if m.joined.has(feed.Key()) && (whole || m.spoken[feed] != ref) {
			out = append(out, ref)
		}
	}
	slices.SortFunc(out, events.Ref.Compare)
	return out
}

// fullEvery is how often an entry names every head and not only the new ones,
// so that a reader who lost some lines learns them again.
const fullEvery = 256
