package relay

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/syncd/member"
)

// checkFile is written to find out whether the disk still writes.
const checkFile = "relay.check"

// Home is an office in one folder: every site has a folder of its own in it, as in
// any member's home.
type Home struct {
	at   journal.FS
	home *member.Home
	name string // of the relay, on sites it joins

	mu    sync.Mutex
	seats map[events.SiteID]Seat // as far as their keys were read
}

// AtHome is the office in a folder. Name is what the relay is called on sites
// that it joins.
func AtHome(at journal.FS, name string, world member.World) *Home {
	return &Home{at: at, home: member.NewHome(at, world), name: name, seats: map[events.SiteID]Seat{}}
}

// Sites lists the sites joined, by id. The keys of each are read once; one whose
// keys can't be read is left out, and named in the error beside the others.
func (h *Home) Sites(context.Context) ([]Seat, error) {
	ids, err := h.home.IDs()
	if err != nil {
		return nil, err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	var out []Seat
	var bad []error
	for _, id := range ids {
		seat, known := h.seats[id]
		if !known {
			info, key, err := h.home.Keys(id)
			if errors.Is(err, member.ErrNoSite) {
				continue // being joined at this moment
			}
			if err != nil {
				bad = append(bad, fmt.Errorf("site %s: %w", id, err))
				continue
			}
			seat = Seat{Site: id, Name: info.Name, Bus: key, Practice: info.Practice}
			h.seats[id] = seat
		}
		out = append(out, seat)
	}
	return out, errors.Join(bad...)
}

// Open opens a site's files.
func (h *Home) Open(_ context.Context, site events.SiteID) (*member.Member, error) {
	return h.home.OpenSite(site)
}

// Join joins one more site.
func (h *Home) Join(ctx context.Context, token invite.Token) (events.SiteID, error) {
	m, err := h.home.Join(ctx, token, h.name, "")
	if err != nil {
		return "", err
	}
	return m.Info().ID, m.Close()
}

// Check writes a small file and takes it away.
func (h *Home) Check(context.Context) error {
	err := journal.Replace(h.at, checkFile, []byte("ok\n"))
	if err == nil {
		err = h.at.Remove(checkFile)
	}
	if err != nil {
		return fmt.Errorf("the disk does not write: %w", err)
	}
	return nil
}

// Close has nothing to do: what is open is closed by who opened it.
func (h *Home) Close() error { return nil }
