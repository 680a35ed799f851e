package member

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/projection"
)

// BundleOut writes everything this member holds as one file.
func (m *Member) BundleOut(ctx context.Context, w io.Writer) (bundle.Count, error) {
	if err := m.ensureFeed(ctx); err != nil {
		return bundle.Count{}, err
	}
	m.mu.Lock()
	feed := m.feed
	m.mu.Unlock()
	manifest := bundle.Manifest{
		Site:      m.keys.Site,
		Name:      m.keys.SiteName,
		Practice:  m.keys.Practice,
		Maker:     feed,
		MakerName: m.keys.Name,
		Made:      m.world.Now(),
		Heads:     m.journal.Heads(),
	}
	return bundle.Write(w, m.signer, manifest, m.journal.All(), m.journal.Holes())
}

// ensureFeed begins a feed if there is none to go on with.
func (m *Member) ensureFeed(ctx context.Context) error {
	m.mu.Lock()
	if m.feed != "" {
		m.mu.Unlock()
		return nil
	}
	v, err := m.begin(ctx)
	defer m.mu.Unlock()
	if err == nil {
		m.takeIn(m.world.decode([]seal.Verified{v}), m.world.wall())
	}
	return err
}

// Received is what came of taking in a bundle.
type Received struct {
	From     string                // who made it
	Made     events.Stamp          // the maker's clocks
	Fresh    int                   // entries new here
	Known    int                   // entries held already
	Healed   int                   // of both, those that mended damage here
	By       map[string]int        // new entries by who recorded them
	Admitted []string              // members this lead admitted on hearing of them
	Waiting  []string              // members a lead has to decide on
	New      []projection.Conflict // conflicts that were not here before
	Strange  int                   // entries left out, of feeds whose author never joined the site
	Theirs   int                   // entries here that the maker did not have; 0 of an excerpt, which can't tell
}

// BundleIn takes in a bundle, whole or not at all. A lead's installation admits
// members it brings whose invite is plainly good.
func (m *Member) BundleIn(ctx context.Context, r io.Reader) (Received, error) {
	b, err := bundle.Read(r)
	if err != nil {
		return Received{}, err
	}
	if err := b.For(m.keys.Site); err != nil {
		return Received{}, fmt.Errorf("%w: it is of %s", err, b.Name)
	}
	return m.bundleIn(ctx, b)
}

// bundleIn is BundleIn of a bundle of this site.
func (m *Member) bundleIn(ctx context.Context, b *bundle.Bundle) (Received, error) {
	before := m.Now()
	got := Received{From: b.MakerName, Made: b.Made, By: map[string]int{}}
	taken, strange, err := m.takeBundle(ctx, b)
	if err != nil {
		return Received{}, fmt.Errorf("take in bundle: %w", err)
	}
	evs := m.world.decode(taken.Fresh)
	m.mu.Lock()
	m.takeIn(evs, m.world.wall())
	m.forked()
	err = m.heardOf(b)
	m.mu.Unlock()
	if err != nil {
		return Received{}, err
	}
	got.Fresh, got.Known, got.Healed, got.Strange = len(taken.Fresh), taken.Known, taken.Healed, strange
	if !b.Excerpt() {
		got.Theirs = m.lacking(b.Heads)
	}
	if got.Admitted, got.Waiting, err = m.admitPlain(ctx); err != nil {
		return Received{}, err
	}
	after := m.Now()
	for i := range evs {
		got.By[after.MemberName(evs[i].Member())]++
	}
	got.New = m.newConflicts(before, after)
	return got, nil
}

// takeBundle hands a bundle's runs to the journal, but for feeds of strangers:
// anybody can make those, nobody would pass them on, and so members would not
// come to hold the same. It counts the entries left out.
func (m *Member) takeBundle(ctx context.Context, b *bundle.Bundle) (sum journal.Taken, strange int, err error) {
	t := taking{m: m, ctx: ctx}
	joins := m.joinsIn(b)
	for feed, run := range b.Runs() {
		if !joins[feed.Key()] && !m.proven(feed.Key()) {
			strange += len(run.Lines)
			continue
		}
		var hole events.Head
		if n := len(run.Holes); n > 0 {
			hole = run.Holes[n-1]
		}
		if err := t.run(hole, run.Lines); err != nil {
			return t.sum, strange, err
		}
	}
	err = t.flush()
	return t.sum, strange, err
}

// joinsIn lists whose joins a bundle holds, proven back to the site's root.
func (m *Member) joinsIn(b *bundle.Bundle) map[events.Key]bool {
	joins := map[events.Key]bool{}
	for feed, run := range b.Runs() {
		for _, v := range run.Lines {
			e := v.Event()
			if p, ok := e.Payload.(events.MemberJoined); ok && !joins[p.Key] && p.Proven(m.keys.Site, feed) == nil {
				joins[p.Key] = true
			}
		}
	}
	return joins
}

// forked stops using our feed if the journal found another branch of it, or a
// longer one, with somebody else: this installation is a copy.
func (m *Member) forked() {
	if m.feed != "" && m.journal.Own().Replace != "" {
		m.feed, m.last = "", events.Head{}
		m.spoken = map[events.FeedID]events.Ref{}
	}
}

// lacking counts the entries held here past the heads somebody showed.
func (m *Member) lacking(theirs map[events.FeedID]events.Head) int {
	n := 0
	for feed, head := range m.journal.Heads() {
		n += int(head.Seq - min(head.Seq, theirs[feed].Seq))
	}
	return n
}

func (m *Member) newConflicts(before, after *projection.Site) []projection.Conflict {
	var out []projection.Conflict
	for _, c := range m.Conflicts(after) {
		if !slices.ContainsFunc(m.Conflicts(before), func(o projection.Conflict) bool { return o.Key == c.Key }) {
			out = append(out, c)
		}
	}
	return out
}

// admitPlain lets a lead's installation admit whoever came by an invite that is
// still good and that nobody else used. The rest wait for the lead's word.
func (m *Member) admitPlain(ctx context.Context) (admitted, waiting []string, err error) {
	m.mu.Lock()
	m.members()
	s := m.team
	m.mu.Unlock()
	me, ok := s.Member(m.Key())
	if !ok || me.Role != events.Lead || me.Standing != projection.Admitted {
		return nil, nil, nil
	}
	var entries []Entry
	for _, x := range s.Members {
		name := s.MemberName(x.Key)
		switch x.Standing {
		case projection.Provisional:
			grant := x.Joined.Event.Payload.(events.MemberJoined).Grant.Value
			if m.firstHad(x.Joined.Event) > grant.Expires {
				waiting = append(waiting, name+" (the invite had expired)")
				continue
			}
			entries = append(entries, Entry{Payload: events.MemberAdmitted{Key: x.Key, Invite: x.Invite}})
			admitted = append(admitted, name)
		case projection.Quarantined:
			waiting = append(waiting, name+" ("+x.Why+")")
		}
	}
	_, err = m.Record(ctx, entries...)
	return admitted, waiting, err
}

// firstHad is when this device first had an entry, by its own clock.
func (m *Member) firstHad(e *events.Event) events.Instant {
	if stamp, ok := m.journal.Receipt(e.Ref()); ok {
		return stamp.Wall.At
	}
	return e.Wall.At
}

// Words sums up what came in, in a sentence.
func (g Received) Words() string {
	if g.Fresh == 0 && g.Healed == 0 && g.Strange == 0 {
		return fmt.Sprintf("nothing new from %s; %d entries were here already", g.From, g.Known)
	}
	var names []string
	for name := range g.By {
		names = append(names, name)
	}
	slices.Sort(names)
	parts := make([]string, len(names))
	for i, name := range names {
		parts[i] = fmt.Sprintf("%d by %s", g.By[name], name)
	}
	entries := "entries"
	if g.Fresh == 1 {
		entries = "entry"
	}
	s := fmt.Sprintf("%d new %s from %s: %s", g.Fresh, entries, g.From, strings.Join(parts, ", "))
	if g.Strange > 0 {
		s += fmt.Sprintf("; %d left out, of somebody who never joined", g.Strange)
	}
	if g.Healed > 0 {
		s += fmt.Sprintf("; %d damaged places mended", g.Healed)
	}
	return s
}
