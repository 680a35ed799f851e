package nearby

import (
	"bytes"
	"errors"
	"io"
	"maps"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// street is a computer whose interfaces come and go.
type street struct {
	sync.Mutex
	here   []link
	err    error           // of listing them
	refuse map[string]bool // interfaces that will not take the sign
	up     map[string]int  // how often the sign is up, by interface
	puts   int
}

func (s *street) list() ([]link, error) {
	s.Lock()
	defer s.Unlock()
	return s.here, s.err
}

// now changes what the computer has.
func (s *street) now(err error, here ...link) {
	s.Lock()
	defer s.Unlock()
	s.here, s.err = here, err
}

// takes lets an interface take the sign from now on.
func (s *street) takes(name string) {
	s.Lock()
	defer s.Unlock()
	delete(s.refuse, name)
}

func (s *street) put(l link) (func() error, error) {
	s.Lock()
	defer s.Unlock()
	s.puts++
	if s.refuse[l.iface.Name] {
		return nil, errors.New("made up")
	}
	s.up[l.iface.Name]++
	return func() error {
		s.Lock()
		defer s.Unlock()
		if s.up[l.iface.Name]--; s.up[l.iface.Name] == 0 {
			delete(s.up, l.iface.Name)
		}
		return nil
	}, nil
}

func (s *street) announcer() *announcer {
	s.up = map[string]int{}
	return &announcer{log: quiet(), put: s.put, up: map[string]func() error{}}
}

func (s *street) standing() []string {
	s.Lock()
	defer s.Unlock()
	return slices.Sorted(maps.Keys(s.up))
}

// next lets the time to the next look at the interfaces pass, in the bubble of
// synctest, where it costs none.
func next() {
	time.Sleep(every)
	synctest.Wait()
}

func TestTheSignFollowsTheComputerFromNetworkToNetwork(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		home, office := linkOf(2, "wlan0", "192.0.2.7/24"), linkOf(2, "wlan0", "198.51.100.7/24")
		wired := linkOf(3, "eth0", "203.0.113.7/24")
		s := &street{here: []link{home}}
		a := s.announcer()

		require.NoError(t, a.begin(s.list))
		require.Equal(t, []string{"wlan0"}, s.standing())
		next()
		require.Equal(t, 1, s.puts, "nothing changed: the sign was left alone")

		s.now(nil, home, wired)
		next()
		require.Equal(t, []string{"eth0", "wlan0"}, s.standing())

		s.now(nil, office)
		next()
		require.Equal(t, map[string]int{"wlan0": 1}, s.up, "once, with the address of now")
		require.Equal(t, 3, s.puts)

		s.now(nil)
		next()
		require.Empty(t, s.standing())

		s.now(errors.New("made up"), home)
		next()
		require.Empty(t, s.standing(), "what can't be listed is waited for")
		s.now(nil, home)
		next()
		require.Equal(t, []string{"wlan0"}, s.standing())

		require.NoError(t, a.Close())
		require.NoError(t, a.Close(), "again")
		require.Empty(t, s.standing())
	})
}

func TestALinkThatRefusesTheSignIsTriedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &street{here: []link{linkOf(2, "wlan0", "192.0.2.7/24"), linkOf(3, "eth0", "203.0.113.7/24")}, refuse: map[string]bool{"eth0": true}}
		a := s.announcer()
		require.NoError(t, a.begin(s.list), "one is enough")
		require.Equal(t, []string{"wlan0"}, s.standing())
		s.takes("eth0")
		next()
		require.Equal(t, []string{"eth0", "wlan0"}, s.standing())
		require.NoError(t, a.Close())
	})
}

func TestWhereNothingCanBeAnnouncedTheErrorSaysWhatToDo(t *testing.T) {
	one := []link{linkOf(2, "wlan0", "192.0.2.7/24")}
	for _, c := range []struct {
		name string
		s    *street
	}{
		{"no interface", &street{}},
		{"none can be listed", &street{err: errors.New("made up")}},
		{"none takes it", &street{here: one, refuse: map[string]bool{"wlan0": true}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := c.s.announcer().begin(c.s.list)
			require.ErrorIs(t, err, ErrNoMulticast)
			require.ErrorContains(t, err, "give the other laptop's address")
			require.NotContains(t, err.Error(), "\n")
		})
	}
}

func TestWhatCannotBeAnnounced(t *testing.T) {
	for _, c := range []struct {
		name string
		port int
		rand io.Reader
		why  string
	}{
		{"no port", 0, dice(1), "no port 0 to be called at"},
		{"a port past the last", 65536, dice(1), "no port 65536 to be called at"},
		{"nothing random", 4222, &bytes.Buffer{}, "draw random bytes"},
		{"random bytes for the name alone", 4222, io.LimitReader(dice(1), 12), "draw random bytes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Announce(siteOf(1), c.port, c.rand, quiet())
			require.ErrorContains(t, err, c.why)
			require.NotErrorIs(t, err, ErrNoMulticast)
		})
	}
}
