package depot

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/nats-io/nats.go"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

// Office is a relay's sites, kept in a cluster. It is one [relay.Office].
type Office struct {
	c      *cluster
	secret Secret
	name   string // of the relay, on sites it joins
	world  member.World
	album  *gallery

	mu    sync.Mutex
	seats map[events.SiteID]seat // as far as they were read
}

var (
	_ relay.Office = (*Office)(nil)
	_ relay.Shared = (*Office)(nil)
)

// Open reaches the cluster, waiting for it as long as ctx lasts, and makes its stream
// if there is none. Name is what the relay is called on sites that it joins.
func Open(ctx context.Context, o Options, secret Secret, name string, world member.World) (*Office, error) {
	c, err := dial(ctx, o)
	if err != nil {
		return nil, err
	}
	album, err := openGallery(ctx, c)
	if err != nil {
		c.close()
		return nil, err
	}
	return &Office{c: c, secret: secret, name: name, world: world, album: album, seats: map[events.SiteID]seat{}}, nil
}

// Sites lists the sites joined, by id. Where the cluster does not answer, it lists
// those that are known.
func (o *Office) Sites(ctx context.Context) ([]relay.Seat, error) {
	ids, err := o.seatedAt(ctx)
	o.mu.Lock()
	if err != nil {
		for id := range o.seats {
			ids = append(ids, id)
		}
	}
	known := make(map[events.SiteID]seat, len(o.seats))
	for id, x := range o.seats {
		known[id] = x
	}
	o.mu.Unlock()
	slices.Sort(ids)
	bad := []error{err}
	var out []relay.Seat
	for _, id := range ids {
		x, ok := known[id]
		if !ok {
			if x, err = o.getSeat(ctx, id); err != nil {
				bad = append(bad, err)
				continue
			}
			o.know(x)
		}
		out = append(out, relay.Seat{Site: id, Name: x.SiteName, Bus: o.secret.busKey(id), Practice: x.Practice})
	}
	return out, errors.Join(bad...)
}

func (o *Office) know(x seat) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.seats[x.Site] = x
}

// Open opens a site for work: all that the cluster holds of it is read, and what
// others put there is followed until the member is closed.
func (o *Office) Open(ctx context.Context, site events.SiteID) (*member.Member, error) {
	x, err := o.getSeat(ctx, site)
	if err != nil {
		return nil, err
	}
	o.know(x)
	return o.seated(ctx, x, func(at member.Keeping) (*member.Member, error) {
		return member.OpenKept(o.secret.identity(x), at, o.world)
	})
}

// Join makes the relay a member of one more site. Joining again, after it was cut
// short, is the same join.
func (o *Office) Join(ctx context.Context, token invite.Token) (events.SiteID, error) {
	if _, err := o.getSeat(ctx, token.Site); err == nil {
		return "", fmt.Errorf("join: this relay is on site %s already", token.SiteName)
	} else if !errors.Is(err, member.ErrNoSite) && !errors.Is(err, errSeat) {
		return "", err
	}
	x := seat{V: 1, Site: token.Site, SiteName: token.SiteName, Practice: token.Practice, Zone: token.Zone, Root: token.Root, Name: o.name}
	m, err := o.seated(ctx, x, func(at member.Keeping) (*member.Member, error) {
		return member.JoinKept(ctx, token, o.secret.identity(x), "", at, o.world)
	})
	if err != nil {
		return "", err
	}
	if err := errors.Join(o.putSeat(ctx, x), m.Close()); err != nil {
		return "", err
	}
	o.know(x)
	return x.Site, nil
}

// seated opens the log of a site and makes a member of it.
func (o *Office) seated(ctx context.Context, x seat, enter func(member.Keeping) (*member.Member, error)) (*member.Member, error) {
	s, err := openStore(ctx, o.c, x.Site, events.KeyOf(o.secret.feedKey(x.Site).Public().(ed25519.PublicKey)), o.world.Now)
	if err != nil {
		return nil, err
	}
	m, err := enter(member.Keeping{Log: s, Album: o.album.shelf(), Hints: journal.Memory()})
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	s.Follow(func(lines []seal.Verified) {
		if err := m.Arrived(s.life, lines); err != nil && s.life.Err() == nil {
			o.c.log.Warn("lines of another relay", "site", string(x.Site), "error", err)
		}
	})
	return m, nil
}

// Check says whether the cluster keeps what it is given: it has to answer by its
// stream's leader, with a quorum behind it.
func (o *Office) Check(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	info, err := o.c.stream.Info(ctx)
	if err != nil {
		return fmt.Errorf("%w (%w)", ErrNoQuorum, err)
	}
	if info.Cluster == nil || len(info.Cluster.Replicas) == 0 {
		return keepsAll(info.Config)
	}
	current, away := 1, []string{}
	for _, r := range info.Cluster.Replicas {
		if r.Current && !r.Offline {
			current++
		} else {
			away = append(away, r.Name)
		}
	}
	if all := len(info.Cluster.Replicas) + 1; current*2 <= all {
		return fmt.Errorf("%w: away are %s", ErrNoQuorum, strings.Join(away, ", "))
	}
	return keepsAll(info.Config)
}

// Shared says that other relays write to the same logs.
func (o *Office) Shared() bool { return true }

// Close ends the connection. Members are closed by who opened them.
func (o *Office) Close() error {
	o.album.close()
	o.c.close()
	return nil
}

func natsMessage(subject string, data []byte) *nats.Msg {
	m := nats.NewMsg(subject)
	m.Data = data
	return m
}
