package depot

import (
	"context"
	"crypto/hmac"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

// seat is what one relay keeps in the cluster of a site it belongs to. Its check
// value is made with the relay's secret: whoever runs the cluster can take a seat
// away and can't make one.
type seat struct {
	V        int           `json:"v"`
	Site     events.SiteID `json:"site"`
	SiteName string        `json:"site_name"`
	Practice bool          `json:"practice"`
	Zone     string        `json:"zone"`
	Root     events.Key    `json:"root"`
	Name     string        `json:"name"`
}

const checkHeader = "Pairwalk-Check"

// errSeat means that a seat in the cluster is none of this relay's making.
var errSeat = errors.New("what the cluster says of a site was altered; join the site again by a new invite")

func (s Secret) identity(x seat) member.Identity {
	return member.Identity{
		Site: x.Site, SiteName: x.SiteName, Practice: x.Practice, Zone: x.Zone, Root: x.Root, Name: x.Name,
		Feed: s.feedKey(x.Site), Bus: s.busKey(x.Site),
	}
}

// putSeat writes down that this relay belongs to a site.
func (o *Office) putSeat(ctx context.Context, x seat) error {
	b, err := json.Marshal(x)
	if err != nil {
		return fmt.Errorf("write seat: %w", err)
	}
	msg := natsMessage(seatSubject(o.secret.Instance(), x.Site), b)
	msg.Header.Set(checkHeader, secretText.EncodeToString(o.secret.stamp(b)))
	ctx, cancel := context.WithTimeout(ctx, o.c.opts.Patience)
	defer cancel()
	for {
		err := o.c.tell(ctx, msg)
		if err == nil {
			return nil
		}
		if pause(ctx, pauseBetween) != nil {
			return fmt.Errorf("write seat: %w (%w)", ErrNoQuorum, err)
		}
	}
}

// tell gives the cluster a message that may be there twice.
func (c *cluster) tell(ctx context.Context, msg *nats.Msg) error {
	ctx, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	_, err := c.js.PublishMsg(ctx, msg, jetstream.WithExpectStream(streamName))
	return err
}

// getSeat reads a seat as the cluster has it.
func (o *Office) getSeat(ctx context.Context, site events.SiteID) (seat, error) {
	var x seat
	msg, err := asks(ctx, o.c, func(ctx context.Context) (*jetstream.RawStreamMsg, error) {
		return o.c.stream.GetLastMsgForSubject(ctx, seatSubject(o.secret.Instance(), site))
	})
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return x, member.ErrNoSite
	}
	if err != nil {
		return x, fmt.Errorf("read seat: %w", err)
	}
	check, err := secretText.DecodeString(msg.Header.Get(checkHeader))
	if err != nil || !hmac.Equal(check, o.secret.stamp(msg.Data)) {
		return x, fmt.Errorf("site %s: %w", site, errSeat)
	}
	if err := json.Unmarshal(msg.Data, &x); err != nil || x.Site != site {
		return x, fmt.Errorf("site %s: %w", site, errSeat)
	}
	return x, nil
}

// seatedAt lists the sites that the cluster has seats of for this relay.
func (o *Office) seatedAt(ctx context.Context) ([]events.SiteID, error) {
	prefix := seatPrefix + o.secret.Instance() + "."
	info, err := asks(ctx, o.c, func(ctx context.Context) (*jetstream.StreamInfo, error) {
		return o.c.stream.Info(ctx, jetstream.WithSubjectFilter(prefix+"*"))
	})
	if err != nil {
		return nil, fmt.Errorf("list seats: %w", err)
	}
	var out []events.SiteID
	for subject := range info.State.Subjects {
		out = append(out, events.SiteID(strings.TrimPrefix(subject, prefix)))
	}
	return out, nil
}
