package relay

import (
	"context"
	"crypto/ed25519"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/syncd/member"
)

// Office is where a relay's sites are kept: a home on this disk, or a cluster. Its
// methods are called from many goroutines at once.
type Office interface {
	// Sites is what the relay is a member of. It is cheap and reads no log: it is
	// asked whenever somebody calls for a site that was not there before.
	Sites(ctx context.Context) ([]Seat, error)
	// Open opens a site for work. It is asked for one that is not open, and the
	// member is closed before the site is opened again.
	Open(ctx context.Context, site events.SiteID) (*member.Member, error)
	// Join makes the relay a member of one more site, by an invite of role relay.
	Join(ctx context.Context, token invite.Token) (events.SiteID, error)
	// Check says whether entries could be kept now; /healthz asks it.
	Check(ctx context.Context) error
	Close() error
}

// Shared is what an office says besides where others write to its logs as well: then
// what a log said of a caller need not hold any more, though the site slept here.
type Shared interface{ Shared() bool }

// Seat is what a relay has to know of a site that it has not open: enough to show
// itself to whoever calls, and to turn strangers away.
type Seat struct {
	Site     events.SiteID
	Name     string
	Bus      ed25519.PrivateKey // the relay's own on this site
	Practice bool
}
