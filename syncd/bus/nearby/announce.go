package nearby

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"sync"
	"time"

	"github.com/hashicorp/mdns"

	"pairwalk/events"
)

// Announce answers, until closed, whoever asks on the local networks for
// laptops of this site: our bus server is at this port of the address that
// answers. rand gives 16 random bytes. It follows this computer from network to
// network. The error is ErrNoMulticast (wrapped) where it is on none that
// carries multicast now; Announce can be called again later.
func Announce(site events.SiteID, port int, rand io.Reader, log *slog.Logger) (io.Closer, error) {
	s, err := newSign(site, port, rand)
	if err != nil {
		return nil, fmt.Errorf("announce to laptops nearby: %w", err)
	}
	a := &announcer{
		log: log,
		put: func(l link) (func() error, error) { return s.put(l, log) },
		up:  map[string]func() error{},
	}
	if err := a.begin(links); err != nil {
		return nil, fmt.Errorf("announce to laptops nearby: %w", err)
	}
	return a, nil
}

// sign is what one process announces, the same on all its links.
type sign struct {
	name string // of the instance and of the host
	port int
	txt  []string
}

func newSign(site events.SiteID, port int, rand io.Reader) (sign, error) {
	if port < 1 || port > 65535 {
		return sign{}, fmt.Errorf("no port %d to be called at", port)
	}
	name, err := draw(rand)
	if err != nil {
		return sign{}, err
	}
	salt, err := draw(rand)
	if err != nil {
		return sign{}, err
	}
	return sign{name, port, mark(site, salt)}, nil
}

// zone is what the sign answers on a link.
func (s sign) zone(l link) (mdns.Zone, error) {
	return mdns.NewMDNSService(s.name, service, domain, s.name+"."+domain, s.port, l.addrs(), s.txt)
}

// put answers on a link until the function it returns is called.
func (s sign) put(l link, log *slog.Logger) (func() error, error) {
	z, err := s.zone(l)
	if err != nil {
		return nil, err
	}
	server, err := mdns.NewServer(&mdns.Config{
		Zone:   z,
		Iface:  &l.iface,
		Logger: slog.NewLogLogger(log.Handler(), slog.LevelDebug),
	})
	if err != nil {
		return nil, err
	}
	return server.Shutdown, nil
}

// announcer keeps one sign up on every link there is.
type announcer struct {
	log  *slog.Logger
	put  func(link) (down func() error, err error)
	up   map[string]func() error // by link.name; the loop's own once it runs
	stop chan struct{}
	done sync.WaitGroup
	once sync.Once
}

// begin puts the sign up where it can and then follows the links.
func (a *announcer) begin(list func() ([]link, error)) error {
	now, err := list()
	if err != nil {
		return noMulticast(err)
	}
	if err := a.follow(now); len(a.up) == 0 {
		return noMulticast(err)
	}
	a.stop = make(chan struct{})
	a.done.Go(func() { a.run(list) })
	return nil
}

func (a *announcer) run(list func() ([]link, error)) {
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-a.stop:
			return
		case <-tick.C:
		}
		now, err := list()
		if err == nil {
			err = a.follow(now)
		}
		if err != nil {
			a.log.Debug("announce to laptops nearby", "err", err)
		}
	}
}

// follow takes the sign down from links that are gone and puts it up on new
// ones. A link that would not take it is tried again next time.
func (a *announcer) follow(now []link) error {
	var errs []error
	here := map[string]bool{}
	for _, l := range now {
		here[l.name()] = true
	}
	for name, down := range a.up {
		if !here[name] {
			delete(a.up, name)
			errs = append(errs, down())
		}
	}
	for _, l := range now {
		if a.up[l.name()] != nil {
			continue
		}
		down, err := a.put(l)
		if err != nil {
			errs = append(errs, fmt.Errorf("answer on %s: %w", l.iface.Name, err))
			continue
		}
		a.up[l.name()] = down
	}
	return errors.Join(errs...)
}

// Close takes the sign down everywhere. Nobody is told: who asks next hears
// nothing.
func (a *announcer) Close() error {
	var err error
	a.once.Do(func() {
		close(a.stop)
		a.done.Wait()
		err = a.follow(nil)
	})
	return err
}
