package relay_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

const patience = 30 * time.Second

var start = time.Now()

// stamp reads this machine's clock; the boot is this test.
func stamp() events.Stamp {
	now := time.Now()
	return events.Stamp{Wall: events.Wall{At: events.InstantOf(now)}, Mono: events.Mono{Boot: "test", Ms: now.Sub(start).Milliseconds()}}
}

func world() member.World { return member.World{Now: stamp, Rand: rand.Reader} }

// land is a site with its lead, in folders on disk.
type land struct {
	t    testing.TB
	dir  string
	name string
	lead *member.Member
}

// opens makes a site.
func opens(t testing.TB, name string) *land {
	l := &land{t: t, dir: t.TempDir(), name: name}
	m, _, err := l.home("ann").Init(t.Context(), member.Opening{Name: name, Person: "Ann", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	l.lead = m
	t.Cleanup(func() { _ = m.Close() })
	return l
}

func (l *land) id() events.SiteID { return l.lead.Info().ID }

func (l *land) home(name string) *member.Home {
	dir := filepath.Join(l.dir, name)
	require.NoError(l.t, os.MkdirAll(dir, 0o700))
	return member.NewHome(journal.Dir(dir), world())
}

func (l *land) invite(role events.Role, meet ...invite.Meeting) invite.Token {
	token, err := l.lead.Invite(role, time.Hour, "", meet...)
	require.NoError(l.t, err)
	return token
}

// joins lets somebody in, whom the lead has not heard of yet.
func (l *land) joins(name string) *member.Member {
	m, err := l.home(name).Join(l.t.Context(), l.invite(events.Tech), name, "")
	require.NoError(l.t, err)
	l.t.Cleanup(func() { _ = m.Close() })
	return m
}

// carry brings what one member has to another by a file.
func carry(t testing.TB, from, to *member.Member) {
	var file bytes.Buffer
	_, err := from.BundleOut(t.Context(), &file)
	require.NoError(t, err)
	_, err = to.BundleIn(t.Context(), &file)
	require.NoError(t, err)
}

func notes(t testing.TB, m *member.Member, n int) {
	batch := make([]member.Entry, n)
	for i := range batch {
		batch[i] = member.Entry{Payload: events.NoteAdded{Of: events.Hub("H1"), Text: fmt.Sprintf("%s's note %d", m.Name(), i)}}
	}
	_, err := m.Record(t.Context(), batch...)
	require.NoError(t, err)
}

// heldOf is how far somebody holds what some have written. The relay's own comparisons
// of clocks may come after whoever they are of has gone.
func heldOf(m *member.Member, of ...*member.Member) []events.Ref {
	return slices.DeleteFunc(m.Have().Tips, func(tip events.Ref) bool {
		return !slices.ContainsFunc(of, func(x *member.Member) bool { return x.Key() == tip.Feed.Key() })
	})
}

// station is a relay that runs.
type station struct {
	*relay.Relay
	t      testing.TB
	dir    string
	office relay.Office
	log    *journalOf
}

// journalOf keeps what a relay wrote down.
type journalOf struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (j *journalOf) Write(b []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.b.Write(b)
}

func (j *journalOf) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.b.String()
}

func officeAt(dir string) relay.Office { return relay.AtHome(journal.Dir(dir), "Office", world()) }

// runs starts a relay in a folder.
func runs(t testing.TB, dir string, o relay.Options) *station {
	return runsAt(t, officeAt(dir), dir, o)
}

func runsAt(t testing.TB, office relay.Office, dir string, o relay.Options) *station {
	s := &station{t: t, dir: dir, office: office, log: &journalOf{}}
	o.Listen = "127.0.0.1:0"
	o.Log = slog.New(slog.NewTextHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	r, err := relay.Open(office, o)
	require.NoError(t, err)
	s.Relay = r
	t.Cleanup(s.stop)
	return s
}

func (s *station) addr() string { return s.Addrs()[0] }

func (s *station) stop() {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	require.NoError(s.t, s.Close(ctx), s.log)
}

// takes has the office join a site, and the lead hear of it.
func takes(t testing.TB, office relay.Office, l *land) {
	id, err := office.Join(t.Context(), l.invite(events.RelayRole))
	require.NoError(t, err)
	require.Equal(t, l.id(), id)
	m, err := office.Open(t.Context(), id)
	require.NoError(t, err)
	carry(t, m, l.lead)
	require.NoError(t, m.Close())
}

// phone is a member's line to a relay.
type phone struct {
	*bus.Bus
	t    testing.TB
	m    *member.Member
	news chan struct{}
	mu   sync.Mutex
	said []bus.Notice
}

// calls has a member call at an address, until hung up or the test ends.
func calls(t testing.TB, m *member.Member, addr string) *phone {
	p := &phone{t: t, m: m, news: make(chan struct{}, 1)}
	b, err := bus.Open(context.Background(), m, bus.Options{Notice: p.hear})
	require.NoError(t, err)
	p.Bus = b
	t.Cleanup(p.hang)
	b.Call(addr)
	return p
}

func (p *phone) hang() { require.NoError(p.t, p.Close()) }

func (p *phone) hear(n bus.Notice) {
	p.mu.Lock()
	p.said = append(p.said, n)
	p.mu.Unlock()
	select {
	case p.news <- struct{}{}:
	default:
	}
}

// until waits for a notice that fits.
func (p *phone) until(what string, fits func(bus.Notice) bool) bus.Notice {
	late := time.After(patience)
	for {
		p.mu.Lock()
		for _, n := range p.said {
			if fits(n) {
				p.mu.Unlock()
				return n
			}
		}
		p.mu.Unlock()
		select {
		case <-p.news:
		case <-late:
			require.FailNow(p.t, "never came: "+what, "%v", p.said)
		}
	}
}

// same waits until the relay holds what the member does, and the other way round.
func (p *phone) same() {
	p.until("the same", func(n bus.Notice) bool { return n.Kind == bus.Same })
}

// meets is one meeting at a relay, until both hold the same.
func meets(t testing.TB, m *member.Member, addr string) {
	p := calls(t, m, addr)
	p.same()
	p.hang()
}

// settles waits until something is so; it looks often.
func settles(t testing.TB, what string, so func() bool) {
	require.Eventually(t, so, patience, 5*time.Millisecond, what)
}

// figure reads one of the relay's figures.
func (s *station) figure(name string) float64 {
	_, all := s.asks("/metrics")
	for line := range strings.Lines(all) {
		if text, ok := strings.CutPrefix(strings.TrimSpace(line), name+" "); ok {
			f, err := strconv.ParseFloat(text, 64)
			require.NoError(s.t, err)
			return f
		}
	}
	require.Fail(s.t, "no such figure", name)
	return 0
}

// asks is what the relay says of itself.
func (s *station) asks(path string) (int, string) {
	w := httptest.NewRecorder()
	s.Status().ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w.Code, w.Body.String()
}
