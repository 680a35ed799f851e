package member

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member/checkup"
)

// Kept is one site's folder in a home, whether it can be opened or not.
type Kept struct {
	checkup.Named
	Keys checkup.Keyring
}

// siteIDChars is the length of a site's id, which its folder is called by.
const siteIDChars = 52

// Kept lists the sites of this home, also those that can't be opened.
func (h *Home) Kept() ([]Kept, error) {
	names, err := h.at.List(sitesDir)
	if err != nil {
		return nil, fmt.Errorf("list sites: %w", err)
	}
	var out []Kept
	for _, name := range names {
		if len(name) == siteIDChars {
			out = append(out, h.kept(events.SiteID(name)))
		}
	}
	return out, nil
}

func (h *Home) kept(id events.SiteID) Kept {
	k := Kept{Named: checkup.Named{ID: id}}
	at := h.folder(id)
	if _, err := at.Read(keysFile); errors.Is(err, fs.ErrNotExist) {
		return k
	} else if k.Keys.There = true; err != nil {
		k.Keys.Wrong = err.Error()
		return k
	}
	keys, err := readKeys(at)
	if err != nil {
		k.Keys.Wrong = keysFile + " is damaged"
		return k
	}
	k.Name, k.Practice, k.You = keys.SiteName, keys.Practice, keys.Name
	k.Keys.Key, k.Keys.Fits = keys.key(), keys.Site == id
	if keys.locked() {
		k.Keys.Guard = "under a passphrase"
	}
	return k
}

// Examine reads one site for a checkup: its files as they are, and what it says when
// a copy of them is opened in memory. It changes nothing and takes no lock. What
// only a second reading does not find again was being written just then.
func (h *Home) Examine(k Kept) checkup.Site {
	at := h.folder(k.ID)
	s := checkup.Site{Named: k.Named, Keys: k.Keys}
	report, err := journal.Verify(at, k.ID)
	if err == nil && len(report.Problems) > 0 {
		first := report.Problems
		report, err = journal.Verify(at, k.ID)
		report.Problems = both(first, report.Problems)
	}
	s.Report, s.Unread = report, words(err)
	s.In, s.Out, err = journal.ReadMarks(at, journal.Within(h.at, marksDir), k.ID)
	s.Markless = words(err)
	if !k.Keys.There || k.Keys.Wrong != "" || !k.Keys.Fits {
		return s
	}
	s.Opened, err = h.rehearse(k.ID)
	if err == nil && len(s.Opened.Problems) > 0 {
		first := s.Opened.Problems
		if s.Opened, err = h.rehearse(k.ID); err == nil {
			s.Opened.Problems = both(first, s.Opened.Problems)
		}
	}
	s.Shut = words(err)
	return s
}

func words(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

func both(a, b []journal.Problem) []journal.Problem {
	return slices.DeleteFunc(slices.Clone(b), func(p journal.Problem) bool { return !slices.Contains(a, p) })
}

// rehearse opens a copy in memory, to see what opening would do. The copy records
// nothing: a number of the feed must never be given out twice.
func (h *Home) rehearse(id events.SiteID) (*checkup.Opened, error) {
	over := journal.Overlay(h.at)
	keys, err := readKeys(journal.Within(over, sitesDir+"/"+string(id)))
	if err != nil {
		return nil, err
	}
	m, err := NewHome(over, h.world).openAs(keys) // no passphrase is asked for
	if err != nil {
		return nil, err
	}
	m.reading = true
	var mends []string
	for _, name := range over.Changed() {
		if rest, ours := strings.CutPrefix(name, sitesDir+"/"+string(id)+"/"); ours && path.Dir(rest) == "feeds" {
			mends = append(mends, rest)
		}
	}
	return m.looked(mends), nil // the copy is dropped as it is: nothing of it was to be kept
}

// looked gathers what a site says of itself.
func (m *Member) looked(mends []string) *checkup.Opened {
	s := m.Now()
	o := &checkup.Opened{
		Since: m.journal.FirstOpened(), Now: m.world.Now(), Zone: s.Zone, Own: m.journal.Own(), Problems: m.journal.Problems(),
		Mends: mends, Entries: s.Entries, Unread: map[string]int{}, Unsent: m.Unsent(), Refusals: refusedCount(m.Refusals()),
	}
	zone, err := time.LoadLocation(s.Zone)
	o.Zoned = err == nil && zone != time.Local
	for _, x := range m.ClocksApart() {
		o.Apart = append(o.Apart, checkup.Apart(x))
	}
	for _, e := range s.NotUnderstood {
		o.Unread[string(e.Kind())]++
	}
	m.lookedTeam(s, o)
	m.lookedLog(s, o)
	m.lookedPictures(s, o)
	for _, x := range m.Meetings() {
		o.Places = append(o.Places, checkup.Place{Addr: x.Addr, Name: m.NameOf(x.Key), Key: x.Key})
	}
	return o
}

func refusedCount(rows []Refusal) int {
	n := 0
	for _, r := range rows {
		n += r.Count
	}
	return n
}

// lookedTeam gathers who leads, where our own join stands, and how far each
// colleague was heard.
func (m *Member) lookedTeam(s *projection.Site, o *checkup.Opened) {
	through, doc := m.Through(), m.Members()
	ours := 0
	for feed, head := range s.Heads {
		if feed.Key() == m.self {
			ours += int(head.Seq)
		}
	}
	for i := range s.Members {
		x := &s.Members[i]
		if x.Role == events.Lead && x.Standing == projection.Admitted {
			o.Leads = append(o.Leads, s.MemberName(x.Key))
		}
		if x.Key != m.self {
			d := doc.Members[i]
			o.Peers = append(o.Peers, checkup.Peer{Name: d.Name, Is: x.Standing, Entries: d.Entries, Through: through[x.Key], Holds: d.Heard[s.MemberName(m.self)], Ours: ours})
			continue
		}
		o.Standing = checkup.Standing{Joined: true, Role: x.Role, Is: x.Standing, Why: x.Why}
		if p, ok := x.Joined.Event.Payload.(events.MemberJoined); ok && p.Grant.Known {
			o.Standing.Expires = events.Some(p.Grant.Value.Expires)
		}
	}
}

// lookedLog gathers what is missing or forked, and the newest entries.
func (m *Member) lookedLog(s *projection.Site, o *checkup.Opened) {
	holes := map[string]int{}
	for feed, heads := range m.journal.Holes() {
		holes[s.MemberName(feed.Key())] += len(heads)
	}
	for _, name := range sortedKeys(holes) {
		o.Holes = append(o.Holes, checkup.Lack{Name: name, N: holes[name]})
	}
	tips := m.journal.Tips()
	for i, tip := range tips { // sorted by feed, and a forked one has several
		if i > 0 && tips[i-1].Feed == tip.Feed && (i == 1 || tips[i-2].Feed != tip.Feed) {
			o.Forks = append(o.Forks, checkup.Branch{Name: s.MemberName(tip.Feed.Key()), Mine: tip.Feed.Key() == m.self})
		}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for feed, head := range m.journal.Heads() {
		e, ok := m.history.Find(events.Ref{Feed: feed, Seq: head.Seq, Hash: head.Hash.Short()})
		switch {
		case !ok:
		case feed == m.feed:
			o.Mine = e.Wall.At
		case feed.Key() != m.self && e.Wall.At > o.Newest.At:
			o.Newest = checkup.Newest{At: e.Wall.At, By: s.MemberName(feed.Key())}
		}
	}
}

// lookedPictures reads every picture that is here.
func (m *Member) lookedPictures(s *projection.Site, o *checkup.Opened) {
	_, err := m.CheckPictures()
	o.Pictures.Wrong = words(err)
	seen := map[string]bool{}
	for _, p := range picturesOf(s) {
		if seen[p.SHA256] {
			continue
		}
		seen[p.SHA256] = true
		switch {
		case m.album.Holds(p.SHA256):
			o.Pictures.Held++
			continue
		case m.album.Damaged(p.SHA256):
			o.Pictures.Damaged = append(o.Pictures.Damaged, p.SHA256)
		}
		o.Pictures.Away++
		o.Pictures.Bytes += p.Bytes
	}
}
