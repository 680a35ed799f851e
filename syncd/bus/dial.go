package bus

import (
	"context"
	"crypto/ed25519"
	"crypto/tls"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"time"

	"github.com/nats-io/nats.go"

	"pairwalk/events"
)

var (
	errNotMember = errors.New("something answers that is not one of this site's members, or one that this device has not heard of yet; let them call here instead")
	errNotBus    = errors.New("something answers that is no bus of ours")
	errSelf      = errors.New("that is this device itself")
	errTwice     = errors.New("that bus is reached by another address already")
	errNotHere   = errors.New("a relay answers that is not on this site: it has to join first, by an invite of role relay")
	errNotYet    = errors.New("it knows this site, and is busy, full or just stopping: try again")
)

// How TLS says that a server has nothing by the name it was asked for (RFC 6066
// §3), and that it can't go on for a reason of its own (RFC 8446 §6.2).
const (
	noSuchName = "unrecognized name"
	ownTrouble = "internal error"
)

const dialWithin = 5 * time.Second

// dialer opens the connection under a line, and finds out whose server it is
// before NATS says or hears a word. It does TLS itself: nothing is ever sent in
// clear, and nothing signed before the server has proved its key.
type dialer struct {
	ctx    context.Context
	bus    *Bus
	addr   string // "" for our own server
	server events.Key
	err    error       // what went wrong, since NATS would lose it
	done   func() bool // lets go of the connection: from then on the line owns it
}

// SkipTLSHandshake tells NATS that TLS is done.
func (d *dialer) SkipTLSHandshake() bool { return true }

// Dial connects to the address of the dialer; what NATS passes is made up.
func (d *dialer) Dial(string, string) (conn net.Conn, err error) {
	defer func() { d.err = err }()
	if d.addr == "" {
		d.server = d.bus.self
		return d.bus.hub.InProcessConn()
	}
	ctx, cancel := context.WithTimeout(d.ctx, dialWithin)
	defer cancel()
	raw, err := new(net.Dialer).DialContext(ctx, "tcp", d.addr)
	if err != nil {
		return nil, err
	}
	// The key is pinned instead of a name and an authority: VerifyConnection is
	// called on every handshake, InsecureSkipVerify or not.
	// The name is for a server of many sites; one of a single site passes it over.
	secure := tls.Client(raw, &tls.Config{
		MinVersion: tls.VersionTLS13, ServerName: Door(d.bus.site), InsecureSkipVerify: true, VerifyConnection: d.check,
	})
	if err := secure.HandshakeContext(ctx); err != nil {
		raw.Close()
		if errors.Is(err, errNotMember) || errors.Is(err, errSelf) || errors.Is(err, errTwice) || ctx.Err() != nil {
			return nil, err
		}
		if strings.Contains(err.Error(), noSuchName) {
			return nil, errNotHere
		}
		if strings.Contains(err.Error(), ownTrouble) {
			return nil, errNotYet
		}
		return nil, fmt.Errorf("%w: %w", errNotBus, err)
	}
	d.done = context.AfterFunc(d.ctx, func() { raw.Close() })
	return secure, nil
}

// check looks at the key a server has shown.
func (d *dialer) check(state tls.ConnectionState) error {
	key, err := keyShown(state)
	switch {
	case err != nil:
		return err
	case key == d.bus.self:
		return errSelf
	case !d.bus.party.Trusts(key):
		return errNotMember
	case d.bus.reaches(key):
		return &twice{key}
	}
	d.server = key
	return nil
}

// sign answers the server's nonce with our bus key.
func (d *dialer) sign(nonce []byte) ([]byte, error) {
	if err := checkNonce(nonce); err != nil {
		d.err = err
		return nil, err
	}
	return ed25519.Sign(d.bus.key, statement(d.server, nonce)), nil
}

// connect calls at an address once. The line's ended is closed when it is over.
func (b *Bus) connect(ctx context.Context, addr string) (*line, error) {
	d := &dialer{ctx: ctx, bus: b, addr: addr, done: func() bool { return true }}
	l := newLine(b, addr)
	nc, err := nats.Connect("nats://bus:4222",
		nats.SetCustomDialer(d), nats.SkipHostLookup(), nats.IgnoreDiscoveredServers(), nats.NoReconnect(),
		nats.Nkey(b.nkey, d.sign), nats.Token(base64.StdEncoding.EncodeToString(b.party.Joined())),
		nats.NoEcho(), nats.Timeout(dialWithin), nats.PingInterval(b.pace.ping), nats.MaxPingsOutstanding(pingsOut),
		nats.FlusherTimeout(slowest), nats.DrainTimeout(drainWithin),
		nats.ClosedHandler(func(*nats.Conn) { l.end() }),
		nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) {
			b.log.Debug("bus line", "addr", addr, "said", err)
		}),
	)
	d.done()
	if err == nil {
		l.nc, l.server = nc, d.server
		err = l.open()
	}
	if err != nil {
		l.end()
		if d.server != "" && d.err == nil && addr != "" && (errors.Is(err, io.EOF) || errors.Is(err, nats.ErrTimeout) || broken(err)) {
			return nil, fmt.Errorf("%w: %w", errNotYet, err) // who has shown a member's key is no stranger to this site
		}
		return nil, errors.Join(d.err, err)
	}
	return l, nil
}

// broken says whether the other end has shut the connection.
func broken(err error) bool {
	text := err.Error()
	return strings.Contains(text, "reset by peer") || strings.Contains(text, "broken pipe") || strings.Contains(text, "forcibly closed")
}

// twice is errTwice with whose bus it is.
type twice struct{ server events.Key }

func (*twice) Error() string   { return errTwice.Error() }
func (*twice) Is(e error) bool { return e == errTwice }

// plain says in a person's words why a call failed, and what to do about it. The
// system's own errors are told apart by their text, which is much the same on
// every platform; the house leaves package syscall to others.
func plain(err error) string {
	var name *net.DNSError
	var form *net.AddrError
	var timeout net.Error
	text := err.Error()
	for _, own := range []error{errNotMember, errSelf, errTwice, errNotHere, errNotYet} {
		if errors.Is(err, own) {
			return own.Error()
		}
	}
	switch {
	case errors.Is(err, errNonce), errors.Is(err, errNotBus), errors.Is(err, io.EOF),
		errors.Is(err, nats.ErrNoInfoReceived), errors.Is(err, nats.ErrNkeysNotSupported):
		return errNotBus.Error() + ": check the address"
	case errors.Is(err, nats.ErrAuthorization), strings.Contains(text, "Authorization"):
		return "it refused us: an invite may have expired, been used by another device or come from a lead who was revoked, or we were revoked: ask a lead, and compare the clocks"
	case errors.Is(err, nats.ErrMaxConnectionsExceeded):
		return "it has no room for more callers: try again later"
	case errors.As(err, &form):
		return "that is no address: give it as host:port"
	case errors.As(err, &name):
		return "no such name here: check the address, or give it in numbers"
	case strings.Contains(text, "unreachable"), strings.Contains(text, "no route"):
		return "not on this network: join the same one"
	case strings.Contains(text, "refused"):
		return "nobody answers there: is pairwalk serving on that device?"
	case errors.As(err, &timeout) && timeout.Timeout(), errors.Is(err, context.DeadlineExceeded), errors.Is(err, nats.ErrTimeout):
		return "nobody answers there: is that device on, and on this network?"
	}
	return "the call failed: " + text
}
