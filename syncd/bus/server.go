package bus

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strconv"
	"time"

	"github.com/nats-io/nats-server/v2/server"

	"pairwalk/events"
)

// Limits of our server. A member needs 18 subscriptions, nine of which are
// refused; the longest honest CONNECT holds a join line in base64.
const (
	maxConns    = 512
	maxSubs     = 32
	maxPayload  = 1 << 20
	maxControl  = 16 << 10
	maxPending  = 32 << 20
	hallPending = 8 << 20 // for each of many callers
	readyWithin = 10 * time.Second
	pingsOut    = 2                // so many unanswered, and when the next is due the line is dead
	slowest     = 10 * time.Second // a write that takes longer ends the line
	greeting    = 5                // seconds for TLS, and again for CONNECT
)

// hub is our own server, or our room in a hall.
type hub struct {
	nats   *server.Server
	gate   *gate
	listen *net.TCPAddr
	hall   *Hall // nil where the server is ours alone
}

// startHub runs a server on host:port for the members of a site whom the gate
// lets in.
func startHub(g *gate, site events.SiteID, listen string, ping time.Duration, log *slog.Logger) (*hub, error) {
	addr, err := free(listen)
	if err != nil {
		return nil, err
	}
	cert, err := certificate(g.party.BusKey())
	if err != nil {
		return nil, err
	}
	o := serverOptions(addr, g, &tls.Config{
		MinVersion: tls.VersionTLS13, Certificates: []tls.Certificate{cert}, SessionTicketsDisabled: true,
	})
	o.PingInterval, o.MaxPingsOut = ping, pingsOut
	h, err := startServer(o, listen, log, func(s *server.Server) {
		g.server = s
		g.account, _ = s.LookupOrRegisterAccount(string(site))
	})
	if err != nil {
		return nil, err
	}
	h.gate = g
	return h, nil
}

// startServer brings a server up. Its guard hears of it before anybody can call.
func startServer(o *server.Options, listen string, log *slog.Logger, guard func(*server.Server)) (*hub, error) {
	s, err := server.NewServer(o)
	if err != nil {
		return nil, fmt.Errorf("make bus server: %w", err)
	}
	guard(s)
	s.SetLoggerV2(serverLog{log}, false, false, false)
	s.Start()
	if !s.ReadyForConnections(readyWithin) {
		s.Shutdown()
		return nil, fmt.Errorf("listen on %s: the server does not come up", listen)
	}
	bound, ok := s.Addr().(*net.TCPAddr)
	if !ok {
		s.Shutdown()
		return nil, fmt.Errorf("listen on %s: no address", listen)
	}
	return &hub{nats: s, listen: bound}, nil
}

func serverOptions(addr *net.TCPAddr, guard server.Authentication, secure *tls.Config) *server.Options {
	o := &server.Options{
		ServerName: "bus", Host: addr.IP.String(), Port: addr.Port,
		NoSigs: true, NoLog: true, NoSystemAccount: true, DisableJetStreamBanner: true,
		CustomClientAuthentication: guard, AlwaysEnableNonce: true,
		TLSConfig: secure, TLSHandshakeFirst: true, TLSTimeout: greeting, AuthTimeout: greeting,
		MaxConn: maxConns, MaxSubs: maxSubs, MaxSubTokens: 8,
		MaxPayload: maxPayload, MaxControlLine: maxControl, MaxPending: maxPending,
		WriteDeadline: slowest, MaxClosedClients: 16,
	}
	if addr.IP == nil {
		o.Host = "" // all addresses
	}
	if addr.Port == 0 {
		o.Port = server.RANDOM_PORT
	}
	return o
}

// free finds out early, and in the system's own words, that an address can't be
// listened on; the server itself would only fail to come up.
func free(listen string) (*net.TCPAddr, error) {
	addr, err := net.ResolveTCPAddr("tcp", listen)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w", listen, err)
	}
	l, err := net.ListenTCP("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w", listen, err)
	}
	if err := l.Close(); err != nil {
		return nil, fmt.Errorf("listen on %s: %w", listen, err)
	}
	return addr, nil
}

// addrs are where others may reach the server: all of this device's addresses if
// it listens on all. Addresses that work on one link only are left out, and the
// loopback unless there is nothing else.
func (h *hub) addrs() []string {
	port := strconv.Itoa(h.listen.Port)
	if !h.listen.IP.IsUnspecified() {
		return []string{h.listen.String()}
	}
	var out []string
	all, err := net.InterfaceAddrs()
	for _, a := range all {
		if ip, ok := a.(*net.IPNet); ok && ip.IP.IsGlobalUnicast() {
			out = append(out, net.JoinHostPort(ip.IP.String(), port))
		}
	}
	if err != nil || len(out) == 0 {
		out = []string{net.JoinHostPort("127.0.0.1", port)}
	}
	return out
}

// stop ends the server, and returns once nothing of it runs; of a hall's, our room
// alone.
func (h *hub) stop() {
	if h.hall != nil {
		h.hall.vacate(h)
		return
	}
	h.nats.Shutdown()
	h.nats.WaitForShutdown()
}

// serverLog passes the server's own log on, for developers.
type serverLog struct{ log *slog.Logger }

func (l serverLog) say(format string, v []any) {
	if l.log.Enabled(context.Background(), slog.LevelDebug) {
		l.log.Debug("bus server", "said", fmt.Sprintf(format, v...))
	}
}

func (l serverLog) Noticef(format string, v ...any) { l.say(format, v) }
func (l serverLog) Warnf(format string, v ...any)   { l.say(format, v) }
func (l serverLog) Fatalf(format string, v ...any)  { l.say(format, v) }
func (l serverLog) Errorf(format string, v ...any)  { l.say(format, v) }
func (l serverLog) Debugf(format string, v ...any)  { l.say(format, v) }
func (l serverLog) Tracef(format string, v ...any)  { l.say(format, v) }

// InProcessConn is a pipe to our own server: no network, so no TLS.
func (h *hub) InProcessConn() (net.Conn, error) {
	conn, err := h.nats.InProcessConn()
	if err != nil {
		return nil, errors.Join(errEnded, err)
	}
	return conn, nil
}
