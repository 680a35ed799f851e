package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

type relayCmd struct {
	Run     relayRunCmd     `cmd:"" default:"withargs" help:"Keep the sites open for those who call, until stopped."`
	Join    relayJoinCmd    `cmd:"" help:"Join one more site, by an invite of role relay."`
	Sites   relaySitesCmd   `cmd:"" help:"List the sites that the relay is on."`
	Backup  relayBackupCmd  `cmd:"" help:"Write the log and the pictures of every site into a folder."`
	Restore relayRestoreCmd `cmd:"" help:"Take such a folder into a relay that has joined the sites anew."`

	Credentials relayCredentialsCmd `cmd:"" help:"Make the keys of a cluster that keeps the sites of several relays."`
}

func (relayCmd) Help() string {
	return "Example: pairwalk --home /var/lib/pairwalk relay --listen :24519\n\nWithout a command of its own it runs: pairwalk relay run --help shows the flags of that."
}

type relayRunCmd struct {
	officeFlags
	Listen  string        `default:":24519" help:"Where members call: HOST:PORT, or :PORT for every network of this machine." placeholder:"HOST:PORT"`
	Status  string        `help:"Answer /healthz and /metrics there; nowhere unless given. Best on this machine alone, such as 127.0.0.1:24520." placeholder:"HOST:PORT"`
	Sleep   time.Duration `default:"5m" help:"Close a site that nobody has been on for so long."`
	Awake   int           `default:"256" help:"Sites open at a time; what they hold is what memory the relay needs."`
	Callers int           `default:"4096" help:"Members on line at a time, of all sites."`
	PerSite int           `default:"256" help:"Of these, members of one site."`
	Drain   time.Duration `default:"20s" help:"How long stopping may take."`
	Log     string        `default:"info" enum:"debug,info,warn,error" help:"What to write on standard error: ${enum}. One JSON object a line with --json."`
}

func (relayRunCmd) Help() string {
	return "Example: pairwalk --home /var/lib/pairwalk relay --listen :24519 --status 127.0.0.1:24520\n\n" +
		"An office's member for many sites: members call at it, and so meet without ever being online at the same time. " +
		"All sites share one port. A site's log is open only while somebody of it is there. Sites may be joined while the relay runs."
}

// check finds values that make no sense.
func (c *relayRunCmd) check() error {
	if c.Sleep < time.Second || c.Drain < time.Second {
		return usef("--sleep and --drain take a second or more")
	}
	if c.Awake < 1 || c.Callers < 1 || c.PerSite < 1 {
		return usef("--awake, --callers and --per-site take 1 or more")
	}
	return nil
}

func (c *relayRunCmd) Run(a *app) error {
	if err := c.check(); err != nil {
		return err
	}
	log := c.logger(a)
	status, err := c.status(log) // first: a cluster may keep us waiting
	if err != nil {
		return err
	}
	office, err := c.office(a, log)
	if err != nil {
		return errors.Join(err, status.close())
	}
	h, err := openHatch(office.folder)
	if err != nil {
		return errors.Join(err, office.Close(), status.close())
	}
	r, err := relay.Open(office.Office, relay.Options{
		Listen: c.Listen, Sleep: c.Sleep, Awake: c.Awake, Callers: c.Callers, PerSite: c.PerSite, Log: log,
	})
	if err != nil {
		if errors.As(err, new(relay.ListenError)) {
			err = fmt.Errorf("%w; give --listen as HOST:PORT or :PORT", err)
		}
		return errors.Join(err, h.close(), office.Close(), status.close())
	}
	status.shows(r.Status())
	h.serve(r)
	if err = c.opening(a, r, status); err == nil {
		<-a.ctx.Done()
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(a.ctx), c.Drain)
	defer cancel()
	err = errors.Join(err, h.close(), r.Close(ctx), status.close())
	if err == nil {
		log.Info("stopped")
	}
	return err
}

// logger writes for those who look after the machine.
func (c *relayRunCmd) logger(a *app) *slog.Logger {
	var level slog.Level
	_ = level.UnmarshalText([]byte(c.Log)) // kong has checked the word
	o := &slog.HandlerOptions{Level: level}
	if a.cli.JSON {
		return slog.New(slog.NewJSONHandler(a.stderr, o))
	}
	return slog.New(slog.NewTextHandler(a.stderr, o))
}

// opening says where members can call.
func (c *relayRunCmd) opening(a *app, r *relay.Relay, status *statusServer) error {
	n, addrs := r.Tally().Sites, r.Addrs()
	if a.cli.JSON {
		return a.printLine(map[string]any{"v": member.AnswerVersion, "kind": "relaying", "sites": n, "addrs": addrs, "status": status.at()})
	}
	a.printf("Relaying %s at %s\n", plural(n, "site"), strings.Join(addrs, " or "))
	if n == 0 {
		a.printf("Join one meanwhile, by an invite of role relay: %s relay join TOKEN\n", a.name)
	}
	if status != nil {
		a.printf("Health and figures are at http://%s/healthz and /metrics\n", status.at())
		if !isLoopback(status.at()) {
			a.println("Whoever reaches that address can read them; they name no site and no member.")
		}
	}
	a.println("Stop with Ctrl-C.")
	return nil
}

// statusServer answers those who look after the machine, also before there is a
// relay to tell of.
type statusServer struct {
	server *http.Server
	ln     net.Listener
	now    atomic.Pointer[http.Handler]
}

func (c *relayRunCmd) status(log *slog.Logger) (*statusServer, error) {
	if c.Status == "" {
		return nil, nil
	}
	ln, err := net.Listen("tcp", c.Status)
	if err != nil {
		return nil, fmt.Errorf("answer for health at %q: %w; give --status as HOST:PORT", c.Status, err)
	}
	s := &statusServer{ln: ln}
	s.server = &http.Server{
		Handler: s, ReadHeaderTimeout: 5 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: time.Minute,
		MaxHeaderBytes: 16 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug),
	}
	go func() { _ = s.server.Serve(ln) }()
	return s, nil
}

// ServeHTTP answers for the relay, or that it is not there yet.
func (s *statusServer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if h := s.now.Load(); h != nil {
		(*h).ServeHTTP(w, r)
		return
	}
	http.Error(w, "starting: what keeps the sites does not answer yet", http.StatusServiceUnavailable)
}

// shows has a relay answer from now on.
func (s *statusServer) shows(h http.Handler) {
	if s != nil {
		s.now.Store(&h)
	}
}

func (s *statusServer) at() string {
	if s == nil {
		return ""
	}
	return s.ln.Addr().String()
}

func (s *statusServer) close() error {
	if s == nil {
		return nil
	}
	return s.server.Close()
}
