package member

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"sync"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
	"pairwalk/projection"
)

const (
	sitesDir = "sites"
	marksDir = "marks"
)

// Home is the folder of one installation. It may hold many sites.
type Home struct {
	at    journal.FS
	world World

	mu       sync.Mutex
	unlocked map[events.SiteID]keyring // whose passphrase was given
}

// NewHome is the installation kept in a folder.
func NewHome(at journal.FS, world World) *Home {
	return &Home{at: at, world: world, unlocked: map[events.SiteID]keyring{}}
}

// SiteInfo is one site of a home.
type SiteInfo struct {
	ID       events.SiteID `json:"id"`
	Name     string        `json:"name"`
	Practice bool          `json:"practice"`
	Member   string        `json:"member"`
	Key      events.Key    `json:"key"`
	Locked   bool          `json:"locked"` // this member's keys are under a passphrase on this device
}

// Sites lists the sites of this home, by id.
func (h *Home) Sites() ([]SiteInfo, error) {
	names, err := h.at.List(sitesDir)
	if err != nil {
		return nil, fmt.Errorf("list sites: %w", err)
	}
	var out []SiteInfo
	for _, name := range names {
		k, err := readKeys(journal.Within(h.at, sitesDir+"/"+name))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err == nil && string(k.Site) != name { // or files elsewhere would be taken for its own
			err = fmt.Errorf("read keys: %s in the folder %s is of another site; put the folder back as it was", keysFile, name)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, k.info())
	}
	return out, nil
}

// Find is the site of that name or id; with no name, the only one there is.
func (h *Home) Find(name string) (SiteInfo, error) {
	all, err := h.Sites()
	if err != nil {
		return SiteInfo{}, err
	}
	var found []SiteInfo
	for _, s := range all {
		if name == "" || strings.EqualFold(s.Name, name) || strings.HasPrefix(string(s.ID), name) {
			found = append(found, s)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(all) == 0:
		return SiteInfo{}, ErrNoSite
	case len(found) > 1:
		return SiteInfo{}, fmt.Errorf("%w: %s", ErrWhichSite, siteNames(found))
	}
	return SiteInfo{}, fmt.Errorf("no site called %q here; there is %s", name, siteNames(all))
}

func siteNames(sites []SiteInfo) string {
	names := make([]string, len(sites))
	for i, s := range sites {
		names[i] = s.Name + " (" + string(s.ID[:min(8, len(s.ID))]) + ")"
	}
	return strings.Join(names, ", ")
}

// Opening says how a new site is to be called.
type Opening struct {
	Name     string
	Person   string
	Contact  string
	Zone     string // IANA time zone
	Practice bool
}

// Init opens a new site with this installation's member as its lead. The root
// key it hangs on is returned once and kept nowhere: it belongs on paper.
func (h *Home) Init(ctx context.Context, o Opening) (*Member, invite.Root, error) {
	if h.world.MadeUp && !o.Practice {
		return nil, invite.Root{}, ErrNotPractice
	}
	root, err := invite.NewRoot(h.world.Rand)
	if err != nil {
		return nil, invite.Root{}, err
	}
	keys, err := newKeys(h.world.Rand, root.Site(), root.Key(), o)
	if err != nil {
		return nil, invite.Root{}, err
	}
	m, err := h.settle(ctx, keys,
		events.SiteOpened{Name: o.Name, Root: root.Key(), Zone: o.Zone, Practice: o.Practice},
		root.Lead(o.Person, o.Contact, keys.key(), keys.bus()))
	return m, root, err
}

// Join comes in by a token. The token proves itself; nobody needs to answer.
func (h *Home) Join(ctx context.Context, token invite.Token, person, contact string) (*Member, error) {
	if err := token.Current(h.world.wall()); err != nil {
		return nil, err
	}
	if h.world.MadeUp && !token.Practice {
		return nil, ErrNotPractice
	}
	if _, _, err := h.Keys(token.Site); err == nil {
		return nil, fmt.Errorf("join: this home is on site %s already; use another --home for another person", token.SiteName)
	}
	keys, err := newKeys(h.world.Rand, token.Site, token.Root, Opening{Name: token.SiteName, Person: person, Zone: token.Zone, Practice: token.Practice})
	if err != nil {
		return nil, err
	}
	return h.settleAt(ctx, keys, placesOf(token), token.Join(person, contact, keys.key(), keys.bus()))
}

// settle lays out a site's folder and says the first entries. The shape of the
// entries is checked before anything is written.
func (h *Home) settle(ctx context.Context, keys keyring, first ...events.Payload) (*Member, error) {
	return h.settleAt(ctx, keys, places{V: 1}, first...)
}

// settleAt is settle for one who knows where others are met.
func (h *Home) settleAt(ctx context.Context, keys keyring, where places, first ...events.Payload) (*Member, error) {
	for _, p := range first {
		if _, err := events.EncodeBody(p); err != nil {
			return nil, fmt.Errorf("write %s: %w", p.Kind(), err)
		}
	}
	dir := sitesDir + "/" + string(keys.Site)
	for _, d := range []string{sitesDir, marksDir, dir} {
		if err := h.at.Mkdir(d); err != nil {
			return nil, fmt.Errorf("make folder: %w", err)
		}
	}
	at := journal.Within(h.at, dir)
	if err := writeJSON(at, placesFile, where); err != nil {
		return nil, fmt.Errorf("write %s: %w", placesFile, err)
	}
	for _, d := range []string{".", sitesDir} {
		if err := h.at.SyncDir(d); err != nil {
			return nil, fmt.Errorf("make folder: %w", err)
		}
	}
	m, err := h.open(keys)
	if err != nil {
		return nil, err
	}
	entries := make([]Entry, len(first))
	for i, p := range first {
		entries[i] = Entry{Payload: p}
	}
	if _, err := m.Record(ctx, entries...); err != nil {
		return nil, errors.Join(err, m.Close())
	}
	// Last of all: the keys make it a site of this home, whole or not at all.
	if err := writeJSON(at, keysFile, keys); err != nil {
		_ = at.Remove(keysFile) // whoever is told that it failed will open it again
		return nil, errors.Join(fmt.Errorf("write keys: %w", err), m.Close())
	}
	return m, nil
}

// Open opens a site for work; see Find for the name. Where its keys are locked, the
// world is asked for the passphrase, once for as long as the Home is used.
func (h *Home) Open(name string) (*Member, error) { return h.OpenAbout(name) }

// Verify reads a site's files as they are, before any repair.
func (h *Home) Verify(name string) (SiteInfo, journal.Report, error) {
	info, err := h.Find(name)
	if err != nil {
		return info, journal.Report{}, err
	}
	r, err := journal.Verify(h.folder(info.ID), info.ID)
	return info, r, err
}

func (h *Home) folder(id events.SiteID) journal.FS {
	return journal.Within(h.at, sitesDir+"/"+string(id))
}

func (h *Home) open(keys keyring, about ...string) (*Member, error) {
	h.sweep(keys.Site)
	keys, err := h.unlock(keys)
	if err != nil {
		return nil, err
	}
	return h.openAs(keys, about...)
}

// openAs opens a site by a keyring as it is: by a locked one, to be looked at alone.
func (h *Home) openAs(keys keyring, about ...string) (*Member, error) {
	if h.world.MadeUp && !keys.Practice {
		return nil, ErrNotPractice
	}
	at := h.folder(keys.Site)
	var said [][]events.Event
	var outlines []projection.Outline
	env, thread := h.env(&said), projection.NewThread(about...)
	thread.Together = h.world.Together
	if len(about) > 0 {
		env.Want = thread.Wants()
		env.Skim = func(evs []events.Event, bodies [][]byte) {
			said, outlines = append(said, evs), append(outlines, projection.Outline{Events: evs, Bodies: bodies})
		}
	}
	j, err := journal.Open(at, journal.Within(h.at, marksDir), keys.Site, env)
	if err != nil {
		return nil, fmt.Errorf("open site %s: %w", keys.SiteName, err)
	}
	a, err := album.Open(at)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open site %s: %w", keys.SiteName, err), j.Close())
	}
	m := newMember(at, keys, j, a, h.world)
	left := false
	m.start(func() {
		left = len(about) > 0 && thread.Read(outlines...)
		m.partly.brief = left
	}, said...)
	m.partly.on = left
	return m, nil
}

// env is what a journal needs of this home; it puts away what its lines said.
func (h *Home) env(said *[][]events.Event) journal.Env {
	return journal.Env{
		Now: h.world.Now, Log: h.world.Log,
		Hear: func(evs []events.Event) { *said = append(*said, evs) },
	}
}
