package relay_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

// A relay's worth: two who are never online at once still hear of each other.
func TestTwoWhoAreNeverOnlineAtOnceMeetThroughTheRelay(t *testing.T) {
	kiln := opens(t, "Kiln")
	office := officeAt(t.TempDir())
	takes(t, office, kiln)
	s := runsAt(t, office, "", relay.Options{})
	bo := kiln.joins("Bo")

	notes(t, kiln.lead, 3)
	meets(t, kiln.lead, s.addr())
	carry(t, kiln.lead, bo) // so that Bo knows the relay's key
	notes(t, bo, 5)
	meets(t, bo, s.addr())
	meets(t, kiln.lead, s.addr()) // Ann's device admits Bo
	meets(t, bo, s.addr())
	require.Len(t, heldOf(bo, bo, kiln.lead), 2)
	require.Equal(t, heldOf(bo, bo, kiln.lead), heldOf(kiln.lead, bo, kiln.lead))
	require.Len(t, kiln.lead.Now().Notes, 8)
	require.Equal(t, bo.Now().Notes, kiln.lead.Now().Notes)
	who, err := bo.Person("Bo")
	require.NoError(t, err)
	require.Equal(t, projection.Admitted, who.Standing)
}

func TestPicturesComeThroughTheRelay(t *testing.T) {
	kiln := opens(t, "Kiln")
	office := officeAt(t.TempDir())
	takes(t, office, kiln)
	s := runsAt(t, office, "", relay.Options{})
	bo := kiln.joins("Bo")
	carry(t, kiln.lead, bo)

	photo := append([]byte("\xff\xd8\xff"), bytes.Repeat([]byte("light"), 100_000)...)
	name := pictured(t, kiln.lead, photo)
	p := calls(t, kiln.lead, s.addr())
	settles(t, "the relay holds the picture", func() bool { return s.holds(kiln.id(), name) })
	p.hang()
	q := calls(t, bo, s.addr())
	settles(t, "Bo holds the picture", func() bool { _, err := bo.Picture(name); return err == nil })
	q.hang()
	got, err := bo.Picture(name)
	require.NoError(t, err)
	require.Equal(t, photo, got)
}

// A site that nobody is on sleeps, and wakes for the next who calls.
func TestSitesSleepAndWake(t *testing.T) {
	kiln, mill := opens(t, "Kiln"), opens(t, "Mill")
	office := officeAt(t.TempDir())
	takes(t, office, kiln)
	takes(t, office, mill)
	s := runsAt(t, office, "", relay.Options{Sleep: 40 * time.Millisecond})
	require.Equal(t, relay.Tally{Sites: 2}, s.Tally(), "nobody called, so nothing is open")

	p := calls(t, kiln.lead, s.addr())
	p.same()
	require.Equal(t, 1, s.Tally().Awake)
	require.Equal(t, 1, s.Tally().Members)
	p.hang()
	settles(t, "the site sleeps", func() bool { return s.Tally().Awake == 0 })
	notes(t, kiln.lead, 2)
	meets(t, kiln.lead, s.addr())
	meets(t, mill.lead, s.addr())
	settles(t, "both sleep", func() bool { return s.Tally().Awake == 0 })
	m, err := office.Open(t.Context(), kiln.id())
	require.NoError(t, err, "what sleeps is closed")
	require.Equal(t, heldOf(kiln.lead, kiln.lead), heldOf(m, kiln.lead))
	require.NoError(t, m.Close())
}

// Memory is bounded by how many sites may be open: the one nobody visited for
// longest makes room, and one with somebody on it does not, before its turn is over.
func TestNoMoreSitesAreAwakeThanMayBe(t *testing.T) {
	office := officeAt(t.TempDir())
	var lands []*land
	for _, name := range []string{"Kiln", "Mill", "Dock"} {
		l := opens(t, name)
		takes(t, office, l)
		lands = append(lands, l)
	}
	s := runsAt(t, office, "", relay.Options{Awake: 2})
	stays := calls(t, lands[0].lead, s.addr())
	stays.same()
	for range 2 {
		for _, l := range lands[1:] {
			notes(t, l.lead, 1)
			meets(t, l.lead, s.addr())
		}
	}
	require.Equal(t, 2, s.Tally().Peak)
	require.Empty(t, stays.Calls()[0].Why)
	require.Equal(t, 1, stays.Calls()[0].Attempts, "who is on line stays so")

	other := calls(t, lands[1].lead, s.addr())
	other.same()
	third := calls(t, lands[2].lead, s.addr())
	why := third.until("a failed call", unreachable).Why
	require.Contains(t, why, "try again")
	other.hang()
	third.same()
}

// Where members of more sites stay on line than may be open, the sites take turns, and
// none is left out for ever.
func TestSitesTakeTurns(t *testing.T) {
	office := officeAt(t.TempDir())
	var stay []*phone
	var lands []*land
	for _, name := range []string{"Kiln", "Mill", "Dock"} {
		l := opens(t, name)
		takes(t, office, l)
		lands = append(lands, l)
	}
	s := runsAt(t, office, "", relay.Options{Awake: 1, Sleep: 400 * time.Millisecond})
	for _, l := range lands {
		notes(t, l.lead, 1)
		stay = append(stay, calls(t, l.lead, s.addr()))
	}
	for _, p := range stay {
		p.same()
	}
	require.Equal(t, 1, s.Tally().Peak)
	require.Contains(t, s.log.String(), "they take turns")
	stay[0].until("shown out when its turn was over", func(n bus.Notice) bool { return n.Kind == bus.Down })
}

// A site is joined while the relay runs, by another process.
func TestASiteJoinedMeanwhileIsNoticed(t *testing.T) {
	dir := t.TempDir()
	s := runs(t, dir, relay.Options{})
	kiln := opens(t, "Kiln")
	takes(t, officeAt(dir), kiln)
	meets(t, kiln.lead, s.addr())
	require.Equal(t, 1, s.Tally().Sites)
	who, err := kiln.lead.Person("Office")
	require.NoError(t, err)
	require.Equal(t, events.RelayRole, who.Role)
}

// pictured logs a photo of a member's.
func pictured(t *testing.T, m *member.Member, photo []byte) string {
	sum := sha256.Sum256(photo)
	p := events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(photo)), Type: "image/jpeg"}
	require.NoError(t, m.KeepPicture(p, photo))
	_, err := m.Record(t.Context(), member.Entry{Payload: events.PhotoAdded{Of: events.Site(), Picture: p, Caption: "label"}})
	require.NoError(t, err)
	return p.SHA256
}

// holds says whether the relay has a picture.
func (s *station) holds(site events.SiteID, name string) (here bool) {
	require.NoError(s.t, s.Lend(s.t.Context(), site, func(m *member.Member) error {
		_, err := m.Picture(name)
		here = err == nil
		return nil
	}))
	return here
}

func unreachable(n bus.Notice) bool { return n.Kind == bus.Unreachable }
