package relay_test

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

// ailing is an office where things go wrong.
type ailing struct {
	relay.Office
	mu    sync.Mutex
	torn  map[events.SiteID]error         // what opening a site fails with
	stuck map[events.SiteID]chan struct{} // what opening a site waits for
	full  error
	opens map[events.SiteID]int
}

func ails(office relay.Office) *ailing {
	return &ailing{Office: office, torn: map[events.SiteID]error{}, stuck: map[events.SiteID]chan struct{}{}, opens: map[events.SiteID]int{}}
}

func (a *ailing) Open(ctx context.Context, id events.SiteID) (*member.Member, error) {
	a.mu.Lock()
	err, stuck := a.torn[id], a.stuck[id]
	a.opens[id]++
	a.mu.Unlock()
	if stuck != nil {
		<-stuck
	}
	if err != nil {
		return nil, err
	}
	return a.Office.Open(ctx, id)
}

func (a *ailing) Check(ctx context.Context) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	return errors.Join(a.full, a.Office.Check(ctx))
}

func (a *ailing) heals(id events.SiteID) {
	a.mu.Lock()
	defer a.mu.Unlock()
	delete(a.torn, id)
}

func (a *ailing) opened(id events.SiteID) int {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.opens[id]
}

// ailingTown is two sites in an office where things go wrong.
func ailingTown(t *testing.T) (kiln, mill *land, office *ailing) {
	kiln, mill = opens(t, "Kiln"), opens(t, "Mill")
	office = ails(officeAt(t.TempDir()))
	takes(t, office, kiln)
	takes(t, office, mill)
	return kiln, mill, office
}

// A site whose log can't be opened is reported and tried again later; its members are
// told to call again, and those of other sites notice nothing.
func TestADamagedSiteStopsNoOther(t *testing.T) {
	kiln, mill, office := ailingTown(t)
	office.torn[kiln.id()] = errors.New("the file is in pieces")
	s := runsAt(t, office, "", relay.Options{Retry: time.Hour})
	before := office.opened(kiln.id())
	p := calls(t, kiln.lead, s.addr())
	require.Contains(t, p.until("a failed call", unreachable).Why, "it knows this site")
	require.Contains(t, s.log.String(), "the file is in pieces")
	require.Contains(t, s.log.String(), "site=Kiln")
	for range 3 {
		v := at(t, s.addr(), kiln.id())
		said, open := v.presents(kiln.lead.BusKey(), v.server, kiln.lead.Joined())
		require.False(t, open)
		require.NotContains(t, said, "Authorization", "it is no refusal")
	}
	require.Equal(t, before+1, office.opened(kiln.id()), "it is left alone for a while")
	require.EqualValues(t, 1, s.figure("pairwalk_relay_storage_errors_total"))
	meets(t, mill.lead, s.addr())
}

func TestADamagedSiteIsTriedAgain(t *testing.T) {
	kiln, _, office := ailingTown(t)
	office.torn[kiln.id()] = errors.New("the file is in pieces")
	s := runsAt(t, office, "", relay.Options{Retry: 50 * time.Millisecond})
	p := calls(t, kiln.lead, s.addr())
	p.until("a failed call", unreachable)
	office.heals(kiln.id())
	p.same()
}

// A site that takes for ever to open holds up nobody else's.
func TestASlowSiteStopsNoOther(t *testing.T) {
	kiln, mill, office := ailingTown(t)
	stuck := make(chan struct{})
	office.stuck[kiln.id()] = stuck
	s := runsAt(t, office, "", relay.Options{Openers: 2})
	p := calls(t, kiln.lead, s.addr())
	settles(t, "Kiln is being opened", func() bool { return office.opened(kiln.id()) > 1 })
	meets(t, mill.lead, s.addr())
	notes(t, mill.lead, 2)
	meets(t, mill.lead, s.addr())
	close(stuck)
	p.same()
}

// One site's members can't take all the room there is.
func TestASiteHasItsShareAndNoMore(t *testing.T) {
	kiln, mill, office := ailingTown(t)
	s := runsAt(t, office, "", relay.Options{PerSite: 1})
	bo := kiln.joins("Bo")
	carry(t, kiln.lead, bo)
	p := calls(t, kiln.lead, s.addr())
	p.same()
	q := calls(t, bo, s.addr())
	require.Contains(t, q.until("a failed call", unreachable).Why, "busy, full")
	require.EqualValues(t, 1, s.figure(`pairwalk_relay_refused_total{reason="site_full"}`))
	meets(t, mill.lead, s.addr())
	p.hang()
	q.same()
}

func TestHealth(t *testing.T) {
	_, _, office := ailingTown(t)
	s := runsAt(t, office, "", relay.Options{})
	code, said := s.asks("/healthz")
	require.Equal(t, http.StatusOK, code)
	require.Equal(t, "ok\n", said)
	office.full = errors.New("no space left")
	code, said = s.asks("/healthz")
	require.Equal(t, http.StatusServiceUnavailable, code)
	require.Contains(t, said, "entries can't be kept: no space left")
	office.full = nil
	code, _ = s.asks("/healthz")
	require.Equal(t, http.StatusOK, code)
	s.stop()
	code, said = s.asks("/healthz")
	require.Equal(t, http.StatusServiceUnavailable, code)
	require.Contains(t, said, "draining")
}

// A relay that stops keeps what has come, tells its members, lets nobody in any more
// and leaves every log closed properly.
func TestDrain(t *testing.T) {
	kiln, mill, office := ailingTown(t)
	s := runsAt(t, office, "", relay.Options{})
	p, q := calls(t, kiln.lead, s.addr()), calls(t, mill.lead, s.addr())
	p.same()
	q.same()
	notes(t, kiln.lead, 400)
	lent := make(chan struct{})
	release := make(chan struct{})
	go func() { // a backup is on its way
		_ = s.Lend(context.Background(), mill.id(), func(*member.Member) error {
			close(lent)
			<-release
			return nil
		})
	}()
	<-lent
	ended := make(chan struct{})
	go func() { s.stop(); close(ended) }()
	settles(t, "draining", func() bool { code, _ := s.asks("/healthz"); return code != http.StatusOK })
	late := kiln.joins("Late")
	carry(t, kiln.lead, late)
	r := calls(t, late, s.addr())
	require.Contains(t, r.until("a failed call", unreachable).Why, "just stopping")
	require.Positive(t, s.figure(`pairwalk_relay_refused_total{reason="stopping"}`))
	select {
	case <-ended:
		require.Fail(t, "it ended while a site was lent")
	default:
	}
	close(release)
	<-ended
	p.until("the relay goes", func(n bus.Notice) bool { return n.Kind == bus.Left })
	q.until("the line ends", func(n bus.Notice) bool { return n.Kind == bus.Down })
	require.Error(t, s.Lend(t.Context(), kiln.id(), nil), "nothing is opened any more")

	for _, id := range []events.SiteID{kiln.id(), mill.id()} {
		m, err := office.Open(t.Context(), id)
		require.NoError(t, err)
		require.Empty(t, m.Problems(), "closed properly")
		require.NoError(t, m.Close())
	}
	require.NotContains(t, s.log.String(), "not closed cleanly")
}

// What was acknowledged before a relay stopped is there after: whatever members know
// it to hold, it holds when it runs again.
func TestWhatARelaySaidItHoldsItHolds(t *testing.T) {
	kiln, _, office := ailingTown(t)
	s := runsAt(t, office, "", relay.Options{})
	p := calls(t, kiln.lead, s.addr())
	notes(t, kiln.lead, 3000)
	p.until("it met us", func(n bus.Notice) bool { return n.Kind == bus.Here })
	s.stop() // in the middle of it
	p.hang()
	unsent := kiln.lead.Unsent()
	m, err := office.Open(t.Context(), kiln.id())
	require.NoError(t, err)
	held := 0
	for _, tip := range m.Have().Tips {
		if tip.Feed.Key() == kiln.lead.Key() {
			held = int(tip.Seq)
		}
	}
	own := 0
	for _, tip := range kiln.lead.Have().Tips {
		if tip.Feed.Key() == kiln.lead.Key() {
			own = int(tip.Seq)
		}
	}
	require.GreaterOrEqual(t, held, own-unsent)
	require.Empty(t, m.Problems())
	require.NoError(t, m.Close())
	again := runsAt(t, office.Office, "", relay.Options{})
	meets(t, kiln.lead, again.addr())
	require.Less(t, kiln.lead.Unsent(), 3, "but for what it noted of clocks since")
}

// A drain that takes too long is given up, and says so.
func TestADrainEndsInTime(t *testing.T) {
	kiln, _, office := ailingTown(t)
	stuck := make(chan struct{})
	office.stuck[kiln.id()] = stuck
	s := runsAt(t, office, "", relay.Options{})
	calls(t, kiln.lead, s.addr())
	settles(t, "Kiln is being opened", func() bool { return office.opened(kiln.id()) > 1 })
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	err := s.Close(ctx)
	require.ErrorContains(t, err, "did not come to rest in time")
	require.True(t, strings.Contains(err.Error(), "what was acknowledged is kept"))
	close(stuck)
}

// A copy taken while members write is whole, as of one moment.
func TestACopyTakenMeanwhileIsWhole(t *testing.T) {
	kiln, _, office := ailingTown(t)
	s := runsAt(t, office, "", relay.Options{})
	notes(t, kiln.lead, 2000)
	p := calls(t, kiln.lead, s.addr())
	p.until("it met us", func(n bus.Notice) bool { return n.Kind == bus.Here })
	var most int
	for range 5 {
		var file bytes.Buffer
		require.NoError(t, s.Lend(t.Context(), kiln.id(), func(m *member.Member) error {
			_, err := m.BundleOut(t.Context(), &file)
			return err
		}))
		b, err := bundle.Read(&file)
		require.NoError(t, err)
		require.GreaterOrEqual(t, len(b.Heads), most)
		most = len(b.Heads)
	}
	p.same()
}

// Who waits for a site that takes long to open takes no more room than its members may.
func TestNoMoreWaitForASiteThanMayBeOnIt(t *testing.T) {
	kiln, mill, office := ailingTown(t)
	stuck := make(chan struct{})
	office.stuck[kiln.id()] = stuck
	s := runsAt(t, office, "", relay.Options{PerSite: 2})
	var in sync.WaitGroup
	for range 2 {
		in.Go(func() {
			v := at(t, s.addr(), kiln.id())
			v.presents(kiln.lead.BusKey(), v.server, kiln.lead.Joined())
		})
	}
	full := `pairwalk_relay_refused_total{reason="site_full"}`
	settles(t, "somebody is one too many", func() bool {
		v := at(t, s.addr(), kiln.id())
		require.NoError(t, v.SetDeadline(time.Now().Add(time.Second)))
		v.presents(kiln.lead.BusKey(), v.server, kiln.lead.Joined())
		_, all := s.asks("/metrics")
		return strings.Contains(all, full)
	})
	meets(t, mill.lead, s.addr())
	close(stuck)
	in.Wait()
}
