package bus

import (
	"context"
	"crypto/tls"
	"errors"
	"net"

	"pairwalk/events"
)

// ErrOther means that something answered that is no bus of the key asked for.
var ErrOther = errors.New("another device answers there")

// Knock finds out whether the bus of a key answers at an address for a site, and says
// nothing to it but the site's [Door]: the connection ends once TLS has proved the key.
// The error is [ErrOther], or says in plain words why nobody answered.
func Knock(ctx context.Context, addr string, site events.SiteID, key events.Key) error {
	ctx, cancel := context.WithTimeout(ctx, dialWithin)
	defer cancel()
	raw, err := new(net.Dialer).DialContext(ctx, "tcp", addr)
	if err != nil {
		return errors.New(plain(err))
	}
	defer raw.Close()
	// The key is pinned instead of a name and an authority, as in a call.
	secure := tls.Client(raw, &tls.Config{MinVersion: tls.VersionTLS13, ServerName: Door(site), InsecureSkipVerify: true, VerifyConnection: func(state tls.ConnectionState) error {
		if shown, err := keyShown(state); err != nil || shown != key {
			return ErrOther
		}
		return nil
	}})
	err = secure.HandshakeContext(ctx)
	switch {
	case err == nil:
		return nil
	case ctx.Err() != nil:
		return errors.New(plain(ctx.Err()))
	}
	return ErrOther // another's key, or nothing that speaks as a bus does
}
