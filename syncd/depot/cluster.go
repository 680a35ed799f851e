package depot

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
	"github.com/nats-io/nkeys"
)

// Options say how a cluster is reached.
type Options struct {
	URLs     []string      // nats://host:port of any of its servers; more of them are learnt
	CA       []byte        // PEM of who vouches for the servers; without it only this machine itself is called
	Nkey     []byte        // seed of the user that the cluster knows this relay by; nil where it asks for none
	Name     string        // shown to whoever looks at the cluster's connections
	Replicas int           // on how many servers everything is kept; 0 for three
	Patience time.Duration // how long a write waits for the cluster; 0 for ten seconds
	Log      *slog.Logger  // nil for silence
}

// Errors where callers branch.
var (
	// ErrNoQuorum means that the cluster did not confirm in time that it keeps what
	// it was given. Nothing was acknowledged; what was sent may be there all the same.
	ErrNoQuorum = errors.New("the cluster does not confirm that it keeps entries: fewer than half of its servers can be reached; this goes on by itself once they are back")
	// ErrStream means that the cluster's stream would lose entries.
	ErrStream = errors.New("the cluster's stream " + streamName + " is not set up to keep everything")
	// ErrPlain means that the way to the cluster is not protected.
	ErrPlain = errors.New("the cluster is not on this machine, so it has to be reached by TLS: give the folder of this relay's credentials")
)

var errNoStream = jetstream.ErrStreamNotFound

const (
	defaultReplicas = 3
	defaultPatience = 10 * time.Second
	attemptWithin   = 2 * time.Second        // how long one try of a write waits
	pauseBetween    = 200 * time.Millisecond // tries
	heartbeat       = time.Second            // of the follower: two missed, and it begins anew
	reachWithin     = 6                      // times the patience of a write: for a cluster that is starting
	lookEvery       = 2 * time.Second        // at the stream itself: was it put back?
	sayAgain        = 300                    // tries: about a minute of them
	confirmedWithin = 2 * time.Minute        // the cluster tells a repeated write from a new one
)

// cluster is the connection to the servers, and the stream on them.
type cluster struct {
	opts   Options
	nc     *nats.Conn
	js     jetstream.JetStream
	stream jetstream.Stream
	log    *slog.Logger

	mu     sync.Mutex
	stores map[*Store]bool // that are open
	stop   context.CancelFunc
	work   sync.WaitGroup
}

// dial connects, and makes the stream if there is none.
func dial(ctx context.Context, o Options) (*cluster, error) {
	if o.Replicas == 0 {
		o.Replicas = defaultReplicas
	}
	if o.Patience == 0 {
		o.Patience = defaultPatience
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	settings, err := settingsOf(o)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, reachWithin*o.Patience)
	defer cancel()
	nc, err := connect(ctx, o, settings)
	if err != nil {
		return nil, err
	}
	c := &cluster{opts: o, nc: nc, log: o.Log, stores: map[*Store]bool{}}
	if c.js, err = jetstream.New(nc, jetstream.WithDefaultTimeout(attemptWithin)); err == nil {
		err = c.ensure(ctx)
	}
	if err != nil {
		nc.Close()
		return nil, err
	}
	watching, stop := context.WithCancel(context.WithoutCancel(ctx))
	c.stop = stop
	c.work.Go(func() { c.watch(watching) })
	return c, nil
}

// connect calls until one of the servers answers, or ctx ends.
func connect(ctx context.Context, o Options, settings []nats.Option) (*nats.Conn, error) {
	for said := (saying{}); ; {
		nc, err := nats.Connect(strings.Join(o.URLs, ","), settings...)
		switch {
		case err == nil:
			return nc, nil
		case errors.Is(err, nats.ErrAuthorization):
			return nil, errors.New("the cluster does not know this relay: its nkey is not among those in nats.env that the servers were started with")
		}
		if said.anew(err) {
			o.Log.Info("cluster: nobody answers yet", "error", err)
		}
		if pause(ctx, pauseBetween) != nil {
			return nil, fmt.Errorf("reach cluster at %s: %w", strings.Join(o.URLs, ", "), err)
		}
	}
}

func settingsOf(o Options) ([]nats.Option, error) {
	settings := []nats.Option{
		nats.Name(o.Name), nats.MaxReconnects(-1), nats.ReconnectWait(pauseBetween), nats.ReconnectJitter(pauseBetween, pauseBetween),
		nats.Timeout(attemptWithin), nats.PingInterval(2 * heartbeat), nats.MaxPingsOutstanding(2), nats.ReconnectBufSize(-1),
		nats.ErrorHandler(func(_ *nats.Conn, _ *nats.Subscription, err error) { o.Log.Warn("cluster", "error", err) }),
		nats.DisconnectErrHandler(func(_ *nats.Conn, err error) {
			if err != nil {
				o.Log.Warn("cluster: connection lost", "error", err)
			}
		}),
		nats.ReconnectHandler(func(nc *nats.Conn) { o.Log.Info("cluster: connected again", "server", nc.ConnectedServerName()) }),
	}
	if len(o.CA) > 0 {
		pool := x509.NewCertPool()
		if !pool.AppendCertsFromPEM(o.CA) {
			return nil, errors.New("reach cluster: the file of its authority holds no certificate")
		}
		settings = append(settings, nats.Secure(&tls.Config{MinVersion: tls.VersionTLS13, RootCAs: pool}))
	} else if err := onlyHere(o.URLs); err != nil {
		return nil, err
	}
	if len(o.Nkey) > 0 {
		key, err := nkeys.FromSeed(o.Nkey)
		if err != nil {
			return nil, fmt.Errorf("reach cluster: the nkey's seed can't be read: %w", err)
		}
		public, err := key.PublicKey()
		if err != nil {
			return nil, fmt.Errorf("reach cluster: %w", err)
		}
		settings = append(settings, nats.Nkey(public, key.Sign))
	}
	return settings, nil
}

// onlyHere refuses addresses of other machines.
func onlyHere(urls []string) error {
	for _, text := range urls {
		u, err := url.Parse(text)
		if err != nil {
			return fmt.Errorf("reach cluster: %w", err)
		}
		ip := net.ParseIP(u.Hostname())
		if u.Hostname() != "localhost" && (ip == nil || !ip.IsLoopback()) {
			return fmt.Errorf("reach cluster at %s: %w", u.Host, ErrPlain)
		}
	}
	return nil
}

// ensure finds the stream or makes it, waiting for the cluster as long as ctx.
func (c *cluster) ensure(ctx context.Context) error {
	for {
		s, err := c.find(ctx)
		if err == nil {
			c.stream = s
			return keepsAll(s.CachedInfo().Config)
		}
		if !c.comesBack(err) {
			return fmt.Errorf("find the cluster's stream: %w", err)
		}
		c.log.Warn("cluster: waiting for it", "error", err)
		if stopped := pause(ctx, pauseBetween); stopped != nil {
			return fmt.Errorf("find the cluster's stream: %w: %w", ErrNoQuorum, err)
		}
	}
}

func (c *cluster) find(ctx context.Context) (jetstream.Stream, error) {
	ctx, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	s, err := c.js.Stream(ctx, streamName)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return c.js.CreateStream(ctx, c.config())
	}
	return s, err
}

// comesBack says whether an error may pass by waiting. While servers come and go they
// say all sorts of things, such as that there is no room for a stream that is there.
func (c *cluster) comesBack(err error) bool {
	var api *jetstream.APIError
	if !errors.As(err, &api) {
		return !errors.Is(err, nats.ErrConnectionClosed)
	}
	return api.ErrorCode != jetstream.JSErrCodeStreamNameInUse && api.ErrorCode != jetstream.JSErrCodeJetStreamNotEnabledForAccount
}

func (c *cluster) config() jetstream.StreamConfig {
	return jetstream.StreamConfig{
		Name: streamName, Description: "sealed entries of pairwalk sites, kept for good", Subjects: []string{streamSubject},
		Storage: jetstream.FileStorage, Replicas: c.opts.Replicas,
		Duplicates: confirmedWithin, DenyDelete: true, DenyPurge: true,
	}
}

// keepsAll refuses a stream that throws entries away by itself.
func keepsAll(cfg jetstream.StreamConfig) error {
	switch {
	case cfg.Storage != jetstream.FileStorage:
		return fmt.Errorf("%w: it is not on disk", ErrStream)
	case cfg.Retention != jetstream.LimitsPolicy:
		return fmt.Errorf("%w: it lets go of what was read", ErrStream)
	case cfg.MaxAge > 0 || cfg.MaxMsgs > 0 || cfg.MaxBytes > 0 && cfg.Discard != jetstream.DiscardNew || cfg.MaxMsgsPerSubject > 0:
		return fmt.Errorf("%w: a limit makes it forget", ErrStream)
	}
	return nil
}

// last is the number of the newest message on some subjects, 0 where there is none.
// The leader of the stream says so, and it alone.
func (c *cluster) last(ctx context.Context, subjects string) (uint64, error) {
	ctx, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	msg, err := c.stream.GetLastMsgForSubject(ctx, subjects)
	if errors.Is(err, jetstream.ErrMsgNotFound) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("ask cluster: %w", err)
	}
	return msg.Sequence, nil
}

// asks puts a question to the cluster until it is answered or patience is over: while
// servers come and go they refuse what they answer a moment later.
func asks[T any](ctx context.Context, c *cluster, question func(context.Context) (T, error)) (T, error) {
	ctx, cancel := context.WithTimeout(ctx, 2*c.opts.Patience)
	defer cancel()
	for {
		attempt, done := context.WithTimeout(ctx, attemptWithin)
		answer, err := question(attempt)
		done()
		if err == nil || errors.Is(err, jetstream.ErrMsgNotFound) || !c.comesBack(err) || pause(ctx, pauseBetween) != nil {
			return answer, err
		}
	}
}

func (c *cluster) close() {
	c.stop()
	c.work.Wait()
	c.nc.Close()
}

// saying is what somebody who tries again and again said last in the log. The same is
// said again after some tries.
type saying struct {
	words string
	times int
}

// anew says whether an error is to be said now, and takes it for said.
func (s *saying) anew(err error) bool {
	if err.Error() != s.words || s.times == sayAgain {
		s.words, s.times = err.Error(), 0
	}
	s.times++
	return s.times == 1
}

// pause waits, or returns why ctx ended.
func pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
