package bus

import (
	"encoding/base64"
	"errors"
	"maps"
	"net"
	"slices"
	"sync"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nkeys"

	"pairwalk/events"
)

// toldMost bounds how many different refusals a person is told of.
const toldMost = 256

// caller is somebody who was let in.
type caller struct {
	key    events.Key
	joined []byte
	host   string
}

// gate decides who comes onto our bus, and who stays.
type gate struct {
	party   Party
	self    events.Key
	server  *server.Server  // which we guard
	account *server.Account // the site's on it
	most    int             // callers at a time, 0 for as many as the server takes
	tell    func(Notice)

	mu   sync.Mutex // held while deciding, so that a revocation misses nobody
	in   map[uint64]caller
	gone map[events.Key]bool // lost a connection since lost was asked last
	told map[[2]string]bool  // host and reason
}

func newGate(p Party, self events.Key, tell func(Notice)) *gate {
	return &gate{party: p, self: self, tell: tell, in: map[uint64]caller{}, gone: map[events.Key]bool{}, told: map[[2]string]bool{}}
}

var errKind = errors.New("is no client")

// Check lets a client in or not. It is called by the server for every CONNECT,
// and says nothing to those it refuses.
func (g *gate) Check(c server.ClientAuthentication) bool { return g.check(c) == nil }

// check is Check, and says why not.
func (g *gate) check(c server.ClientAuthentication) error {
	host := hostOf(c.RemoteAddress())
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.server == nil { // the room was cleared
		return ErrNotNow
	}
	who, err := g.admit(c)
	if err != nil {
		g.refuse(host, err.Error(), who.key, c.GetOpts().Nkey)
		return err
	}
	who.host = host
	if g.most > 0 && len(g.in) > g.most || len(g.in) >= 2*maxConns {
		g.sweep()
	}
	if g.most > 0 && len(g.in) > g.most && who.key != g.self { // our own line is one of them
		return ErrFull
	}
	g.in[c.GetID()] = who
	c.RegisterUser(&server.User{Username: string(who.key), Account: g.account, Permissions: permissions(who.key)})
	return nil
}

// callers is how many are in, besides ourselves.
func (g *gate) callers() int {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.sweep()
	n := 0
	for _, who := range g.in {
		if who.key != g.self {
			n++
		}
	}
	return n
}

// clear shows everybody out, and lets nobody in any more.
func (g *gate) clear() {
	g.mu.Lock()
	s, in := g.server, slices.Collect(maps.Keys(g.in))
	g.server = nil
	g.mu.Unlock()
	for _, id := range in {
		_ = s.DisconnectClientByID(id) // an error says that it is gone already
	}
}

// admit finds out who is calling. The key is set as soon as it is proven.
func (g *gate) admit(c server.ClientAuthentication) (caller, error) {
	if c.Kind() != server.CLIENT {
		return caller{}, errKind
	}
	o := c.GetOpts()
	key, err := proven(o.Nkey, o.Sig, g.self, c.GetNonce())
	if err != nil {
		return caller{}, err
	}
	who := caller{key: key}
	if key == g.self { // our own line
		return who, nil
	}
	if who.joined, err = base64.StdEncoding.Strict().DecodeString(o.Token); err != nil {
		return who, errors.New("showed a join that is none")
	}
	return who, g.party.Admits(key, who.joined)
}

// refuse counts a refusal, and tells a person of each reason at each host once.
func (g *gate) refuse(host, why string, key events.Key, claimed string) {
	about := key
	if about == "" {
		about = keyClaimed(claimed)
	}
	g.party.Refused(host, why, about)
	at := [2]string{host, why}
	if !g.told[at] && len(g.told) < toldMost {
		g.told[at] = true
		g.tell(Notice{Kind: Refused, Peer: key, Addr: host, Why: why})
	}
}

// sweep forgets connections that have ended by themselves.
func (g *gate) sweep() {
	if g.server == nil {
		return
	}
	for id, who := range g.in {
		if g.server.GetClient(id) == nil {
			g.forget(id, who)
		}
	}
}

func (g *gate) forget(id uint64, who caller) {
	delete(g.in, id)
	g.gone[who.key] = true
}

// lost is who has come off our server since it was asked last, and is not back.
func (g *gate) lost() []events.Key {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.sweep()
	for _, who := range g.in {
		delete(g.gone, who.key)
	}
	lost := slices.Collect(maps.Keys(g.gone))
	clear(g.gone)
	return lost
}

// recheck cuts off those who may not be here any more.
func (g *gate) recheck() {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.sweep()
	for id, who := range g.in {
		if who.key == g.self || g.server == nil {
			continue
		}
		if err := g.party.Admits(who.key, who.joined); err != nil {
			g.forget(id, who)
			_ = g.server.DisconnectClientByID(id) // an error says that it is gone already
			g.tell(Notice{Kind: Revoked, Peer: who.key, Addr: who.host, Why: err.Error()})
		}
	}
}

func hostOf(addr net.Addr) string {
	if addr == nil {
		return ""
	}
	host, _, err := net.SplitHostPort(addr.String())
	if err != nil {
		return addr.String()
	}
	return host
}

// keyClaimed is the key that a caller says is its own, "" if it makes no sense.
func keyClaimed(nkey string) events.Key {
	pub, err := nkeys.Decode(nkeys.PrefixByteUser, []byte(nkey))
	if err != nil {
		return ""
	}
	return events.KeyOf(pub)
}
