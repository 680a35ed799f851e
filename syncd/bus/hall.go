package bus

import (
	"cmp"
	"context"
	"crypto/ed25519"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"pairwalk/events"
)

// Keeper knows the sites of a [Hall] and keeps their buses open for those who
// call. Its methods are called from many goroutines at once.
type Keeper interface {
	// Behind is the site behind a door, and our bus key there; false if there is no
	// such door.
	Behind(door string) (site events.SiteID, key ed25519.PrivateKey, ok bool)
	// Enter is the bus of a site, opened if need be, for a caller who has proved its
	// key and a join of its own to that site. The bus must stay open until leave is
	// called, with why the caller was sent away in the end, nil if it was not.
	// ErrNotNow in the error tells the caller to try again.
	Enter(ctx context.Context, site events.SiteID, who events.Key) (b *Bus, leave func(why error), err error)
}

// Why a hall turned somebody away, besides what its parties say.
var (
	ErrNoDoor   = errors.New("called for a site that is not here")
	ErrNoJoin   = errors.New("showed no join of its own to that site")
	ErrFull     = errors.New("as many members of the site are on line as may be")
	ErrNotNow   = errors.New("the site can't be opened now")
	ErrShutting = errors.New("came while the relay was stopping")
)

// HallOptions say what a hall has room for. Zero values are the usual ones.
type HallOptions struct {
	Listen  string          // host:port
	Callers int             // connections at a time
	PerSite int             // of these, for one site
	Rooms   int             // sites open at a time: each holds one line more, within the process
	Log     *slog.Logger    // what a developer wants to see; nil for nothing
	Refused func(why error) // hears of everybody who is turned away; may be nil
}

// Room enough for the members of many sites on one small machine.
const (
	UsualCallers = 4096
	UsualPerSite = 256
	usualRooms   = 256
)

// Patience with a site that is being opened: longer than a caller has, who hears
// nothing and calls again.
const (
	openWithin  = dialWithin + time.Second
	hallWelcome = 2 * openWithin
)

// Hall is one server for many sites: one port, and an account for each site, whose
// members meet there and see nothing of the others. Which site a caller wants it
// says by a door name in the TLS handshake.
type Hall struct {
	keeper  Keeper
	o       HallOptions
	nats    *server.Server
	whole   *hub // the port
	ctx     context.Context
	cancel  context.CancelFunc
	refused func(error)

	mu    sync.Mutex
	shut  bool
	certs map[string]*tls.Certificate // by door
	rooms map[events.Key]*hub         // by our key there; of the buses that are open
}

// OpenHall listens. Nobody is let in but by way of the keeper.
func OpenHall(k Keeper, o HallOptions) (*Hall, error) {
	o.Callers, o.PerSite, o.Rooms = cmp.Or(o.Callers, UsualCallers), cmp.Or(o.PerSite, UsualPerSite), cmp.Or(o.Rooms, usualRooms)
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	h := &Hall{keeper: k, o: o, certs: map[string]*tls.Certificate{}, rooms: map[events.Key]*hub{}, refused: o.Refused}
	if h.refused == nil {
		h.refused = func(error) {}
	}
	addr, err := free(o.Listen)
	if err != nil {
		return nil, err
	}
	h.ctx, h.cancel = context.WithCancel(context.Background())
	opts := serverOptions(addr, h, &tls.Config{MinVersion: tls.VersionTLS13, GetCertificate: h.certificate, SessionTicketsDisabled: true})
	opts.PingInterval, opts.MaxPingsOut = usual.ping, pingsOut
	opts.MaxConn, opts.MaxPending, opts.AuthTimeout = o.Callers+o.Rooms, hallPending, hallWelcome.Seconds()
	if h.whole, err = startServer(opts, o.Listen, o.Log, func(s *server.Server) { h.nats = s }); err != nil {
		h.cancel()
		return nil, err
	}
	return h, nil
}

// certificate shows the key of the site that a caller asks for. No certificate at
// all has TLS say that the name is not known here.
func (h *Hall) certificate(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	h.mu.Lock()
	cert, shut := h.certs[hello.ServerName], h.shut
	h.mu.Unlock()
	if shut {
		h.refused(ErrShutting)
		return nil, ErrShutting
	}
	_, key, ok := h.keeper.Behind(hello.ServerName)
	if !ok {
		h.refused(ErrNoDoor)
		return nil, nil
	}
	if cert != nil && key.Equal(cert.PrivateKey) {
		return cert, nil
	}
	made, err := certificate(key)
	if err != nil {
		return nil, err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.certs[hello.ServerName] = &made
	return &made, nil
}

// Open opens the bus of a site in this hall. See [Open].
func (h *Hall) Open(ctx context.Context, p Party, o Options) (*Bus, error) {
	return open(ctx, p, o, usual, func(b *Bus) (*hub, error) {
		account, _ := h.nats.LookupOrRegisterAccount(string(b.site))
		g := newGate(p, b.self, b.tell)
		g.server, g.account, g.most = h.nats, account, h.o.PerSite
		room := &hub{nats: h.nats, gate: g, listen: h.whole.listen, hall: h}
		h.mu.Lock()
		defer h.mu.Unlock()
		if h.shut || h.rooms[b.self] != nil {
			return nil, fmt.Errorf("open bus in hall: %w", ErrNotNow)
		}
		h.rooms[b.self] = room
		return room, nil
	})
}

// vacate takes a room out of use, and shows everybody in it out.
func (h *Hall) vacate(room *hub) {
	h.mu.Lock()
	delete(h.rooms, room.gate.self)
	h.mu.Unlock()
	room.gate.clear()
}

// Addrs is where members may call, as host:port.
func (h *Hall) Addrs() []string { return h.whole.addrs() }

// Listening says whether the server still takes calls.
func (h *Hall) Listening() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return !h.shut && h.nats.Running()
}

// Shut lets nobody in any more. Those who are in stay.
func (h *Hall) Shut() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.shut = true
}

// Close ends the server. The buses in the hall must be closed before.
func (h *Hall) Close() error {
	h.Shut()
	h.cancel()
	h.whole.stop()
	return nil
}
