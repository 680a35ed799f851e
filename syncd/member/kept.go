package member

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
)

// Identity is who a member is on a site, for one that is kept elsewhere than in a
// [Home].
type Identity struct {
	Site     events.SiteID
	SiteName string
	Practice bool
	Zone     string
	Root     events.Key
	Name     string // of the member
	Feed     ed25519.PrivateKey
	Bus      ed25519.PrivateKey
}

// IdentityBy is who joins by an invite under a name.
func IdentityBy(token invite.Token, name string, feed, bus ed25519.PrivateKey) Identity {
	return Identity{token.Site, token.SiteName, token.Practice, token.Zone, token.Root, name, feed, bus}
}

// Keeping is where the things of such a member are kept.
type Keeping struct {
	Log   Log
	Album Album
	Hints journal.FS // how fresh colleagues' logs are, where they were met, who was refused; may be lost
}

// OpenKept opens a site for work whose log is kept elsewhere. Closing the member
// closes that log.
func OpenKept(id Identity, at Keeping, w World) (*Member, error) {
	if w.MadeUp && !id.Practice {
		return nil, ErrNotPractice
	}
	keys := keyring{
		V: 1, Site: id.Site, SiteName: id.SiteName, Practice: id.Practice, Zone: id.Zone, Root: id.Root, Name: id.Name,
		FeedSeed: hex.EncodeToString(id.Feed.Seed()), BusSeed: hex.EncodeToString(id.Bus.Seed()),
	}
	m := newMember(at.Hints, keys, at.Log, at.Album, w)
	if err := m.load(); err != nil {
		return nil, err
	}
	return m, nil
}

// JoinKept comes in by a token as [Home.Join] does. A join that is in the log
// already, since joining was interrupted, is not said again.
func JoinKept(ctx context.Context, token invite.Token, id Identity, contact string, at Keeping, w World) (*Member, error) {
	if err := token.Current(w.wall()); err != nil {
		return nil, err
	}
	if err := writeJSON(at.Hints, placesFile, placesOf(token)); err != nil {
		return nil, fmt.Errorf("write %s: %w", placesFile, err)
	}
	m, err := OpenKept(id, at, w)
	if err != nil {
		return nil, err
	}
	if m.join.Seq > 0 {
		return m, nil
	}
	if _, err := m.Record(ctx, Entry{Payload: token.Join(id.Name, contact, m.keys.key(), m.keys.bus())}); err != nil {
		return nil, errors.Join(err, m.Close())
	}
	return m, nil
}
