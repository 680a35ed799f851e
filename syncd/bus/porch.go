package bus

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"

	"github.com/nats-io/nats-server/v2/server"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Door is the name by which a caller asks for a site in the TLS handshake, where
// everybody on the way can read it: a digest, which tells the site to those alone
// who know its id.
func Door(site events.SiteID) string {
	sum := sha256.Sum256([]byte("pairwalk door\n" + string(site)))
	return hex.EncodeToString(sum[:16])
}

// Check lets a client of the hall in or not; the server calls it for every CONNECT.
// A site is woken for nobody who has not proved its key, and a join to that very
// site: whoever holds a join was once invited.
func (h *Hall) Check(c server.ClientAuthentication) bool {
	if c.Kind() != server.CLIENT {
		h.refused(errKind)
		return false
	}
	state := c.GetTLSConnectionState()
	if state == nil { // a pipe within this process
		h.mu.Lock()
		room := h.rooms[keyClaimed(c.GetOpts().Nkey)]
		h.mu.Unlock()
		return room != nil && room.gate.Check(c)
	}
	why := h.receive(c, state.ServerName)
	if why == nil {
		return true
	}
	h.refused(why)
	if errors.Is(why, ErrNotNow) || errors.Is(why, ErrFull) || errors.Is(why, ErrShutting) {
		_ = h.nats.DisconnectClientByID(c.GetID()) // not a refusal: it may call again
	}
	return false
}

// receive looks at a caller, has its site opened, and leaves the rest to the gate
// of that.
func (h *Hall) receive(c server.ClientAuthentication, door string) error {
	h.mu.Lock()
	shut := h.shut
	h.mu.Unlock()
	if shut {
		return ErrShutting
	}
	site, key, ok := h.keeper.Behind(door)
	if !ok {
		return ErrNoDoor
	}
	o := c.GetOpts()
	who, err := proven(o.Nkey, o.Sig, events.KeyOf(publicOf(key)), c.GetNonce())
	if err != nil {
		return err
	}
	if err := ownJoin(site, who, o.Token); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(h.ctx, openWithin)
	defer cancel()
	b, leave, err := h.keeper.Enter(ctx, site, who)
	if err != nil {
		return fmt.Errorf("enter: %w", err)
	}
	why := b.hub.gate.check(c)
	leave(why)
	return why
}

// ownJoin is nil if the token is a join to the site that names that bus key and
// proves itself. Whether it still counts is for the site's log to say.
func ownJoin(site events.SiteID, who events.Key, token string) error {
	line, err := base64.StdEncoding.Strict().DecodeString(token)
	if err != nil {
		return ErrNoJoin
	}
	v, err := seal.Open(line)
	if err != nil {
		return ErrNoJoin
	}
	e := v.Event()
	p, ok := e.Payload.(events.MemberJoined)
	if !ok || e.Site != site || p.Bus != who || p.Proven(site, e.Feed) != nil {
		return ErrNoJoin
	}
	return nil
}
