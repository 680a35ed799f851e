package relay_test

import (
	"bufio"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/tls"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/nats-io/nkeys"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

// visitor speaks to a relay by hand, and so may say anything.
type visitor struct {
	*tls.Conn
	t      testing.TB
	r      *bufio.Reader
	server events.Key
	nonce  string
}

// rings goes as far as TLS at a door.
func rings(t testing.TB, addr, door string) (*visitor, error) {
	conn, err := tls.Dial("tcp", addr, &tls.Config{MinVersion: tls.VersionTLS13, ServerName: door, InsecureSkipVerify: true, CurvePreferences: []tls.CurveID{tls.CurveP256}})
	if err != nil {
		return nil, err
	}
	t.Cleanup(func() { conn.Close() })
	v := &visitor{Conn: conn, t: t, r: bufio.NewReader(conn)}
	require.NoError(t, conn.SetDeadline(time.Now().Add(patience)))
	v.server = events.KeyOf(conn.ConnectionState().PeerCertificates[0].PublicKey.(ed25519.PublicKey))
	line, err := v.r.ReadString('\n')
	require.NoError(t, err)
	var info struct{ Nonce string }
	require.NoError(t, json.Unmarshal([]byte(strings.TrimPrefix(line, "INFO ")), &info))
	v.nonce = info.Nonce
	return v, nil
}

// at rings at a door that is there.
func at(t testing.TB, addr string, site events.SiteID) *visitor {
	v, err := rings(t, addr, bus.Door(site))
	require.NoError(t, err)
	return v
}

// presents says who one is, with a signature for some server, and returns what the
// relay said and whether one is in.
func (v *visitor) presents(key ed25519.PrivateKey, signedFor events.Key, joined []byte) (string, bool) {
	nkey, err := nkeys.Encode(nkeys.PrefixByteUser, key.Public().(ed25519.PublicKey))
	require.NoError(v.t, err)
	sig := ed25519.Sign(key, []byte("pairwalk bus v1\n"+string(signedFor)+"\n"+v.nonce))
	b, err := json.Marshal(map[string]any{
		"verbose": false, "protocol": 1, "echo": true, "headers": true, "nkey": string(nkey),
		"sig": base64.RawURLEncoding.EncodeToString(sig), "auth_token": base64.StdEncoding.EncodeToString(joined),
	})
	require.NoError(v.t, err)
	return v.says("CONNECT %s\r\nPING\r\n", b)
}

// says sends something that ends in a PING, and is what came back until its answer,
// or until the end.
func (v *visitor) says(format string, args ...any) (said string, open bool) {
	_, _ = fmt.Fprintf(v.Conn, format, args...)
	var b strings.Builder
	for {
		line, err := v.r.ReadString('\n')
		b.WriteString(line)
		if err != nil {
			return b.String(), false
		}
		if line == "PONG\r\n" {
			return b.String(), true
		}
	}
}

// townOf is two sites on one relay, which both leads have told their logs.
func townOf(t *testing.T, o relay.Options) (kiln, mill *land, s *station) {
	kiln, mill = opens(t, "Kiln"), opens(t, "Mill")
	office := officeAt(t.TempDir())
	takes(t, office, kiln)
	takes(t, office, mill)
	return kiln, mill, runsAt(t, office, "", o)
}

func TestNoDoorShowsNothing(t *testing.T) {
	_, _, s := townOf(t, relay.Options{})
	other := opens(t, "Dock")
	for _, door := range []string{bus.Door(other.id()), "", "localhost", string(other.id())} {
		_, err := rings(t, s.addr(), door)
		require.ErrorContains(t, err, "unrecognized name", door)
	}
	p := calls(t, other.lead, s.addr())
	require.Contains(t, p.until("a failed call", unreachable).Why, "a relay answers that is not on this site")
}

// Nobody wakes a site who does not show a key, for this very call, and a join of
// their own to that site.
func TestStrangersWakeNothing(t *testing.T) {
	kiln, mill, s := townOf(t, relay.Options{})
	bo := kiln.joins("Bo")
	_, own, err := ed25519.GenerateKey(rand.Reader)
	require.NoError(t, err)
	fake := opens(t, "Mill") // a site of the same name that somebody made up
	atKiln := at(t, s.addr(), kiln.id()).server
	for name, present := range map[string]func(*visitor) (string, bool){
		"no join":                    func(v *visitor) (string, bool) { return v.presents(own, v.server, nil) },
		"junk":                       func(v *visitor) (string, bool) { return v.presents(own, v.server, []byte("{}\n")) },
		"another's join":             func(v *visitor) (string, bool) { return v.presents(own, v.server, mill.lead.Joined()) },
		"another's key":              func(v *visitor) (string, bool) { return v.presents(mill.lead.BusKey(), atKiln, mill.lead.Joined()) },
		"a member of another site":   func(v *visitor) (string, bool) { return v.presents(bo.BusKey(), v.server, bo.Joined()) },
		"a lead of another site":     func(v *visitor) (string, bool) { return v.presents(kiln.lead.BusKey(), v.server, kiln.lead.Joined()) },
		"the lead of a made-up site": func(v *visitor) (string, bool) { return v.presents(fake.lead.BusKey(), v.server, fake.lead.Joined()) },
	} {
		said, open := present(at(t, s.addr(), mill.id()))
		require.False(t, open, name)
		require.Contains(t, said, "Authorization Violation", name)
		require.NotContains(t, said, "Kiln", name)
	}
	require.Zero(t, s.Tally().Peak, "no site was opened")
	require.Zero(t, s.figure("pairwalk_relay_wake_seconds_count"))
	require.EqualValues(t, 6, s.figure(`pairwalk_relay_refused_total{reason="no_join"}`))
	require.EqualValues(t, 1, s.figure(`pairwalk_relay_refused_total{reason="unproven"}`))

	_, open := at(t, s.addr(), mill.id()).presents(mill.lead.BusKey(), at(t, s.addr(), mill.id()).server, mill.lead.Joined())
	require.True(t, open, "an honest lead comes in")
	require.Equal(t, 1, s.Tally().Peak)
}

// A flood of strangers at one site's door neither wakes it nor keeps others out.
func TestAFloodOfStrangers(t *testing.T) {
	kiln, mill, s := townOf(t, relay.Options{})
	var work sync.WaitGroup
	for range 8 {
		work.Go(func() {
			for range 10 {
				_, own, _ := ed25519.GenerateKey(rand.Reader)
				if v, err := rings(t, s.addr(), bus.Door(mill.id())); err == nil {
					v.presents(own, v.server, mill.lead.Joined())
				}
			}
		})
	}
	notes(t, kiln.lead, 5)
	meets(t, kiln.lead, s.addr())
	work.Wait()
	require.Equal(t, 1, s.Tally().Peak)
	require.EqualValues(t, 80, s.figure(`pairwalk_relay_refused_total{reason="no_join"}`))
}

// Members of one site neither hear nor reach those of another, whatever they try.
func TestSitesSeeNothingOfEachOther(t *testing.T) {
	kiln, mill, s := townOf(t, relay.Options{})
	eve := at(t, s.addr(), kiln.id())
	said, open := eve.presents(kiln.lead.BusKey(), eve.server, kiln.lead.Joined())
	require.True(t, open, said)
	k := events.KeyOf(kiln.lead.BusKey().Public().(ed25519.PublicKey))
	d := events.KeyOf(mill.lead.BusKey().Public().(ed25519.PublicKey))
	_, open = eve.says("SUB here.* 1\r\nSUB changed.* 2\r\nSUB gone.* 3\r\nSUB in.%s.*.* 4\r\nPING\r\n", k)
	require.True(t, open)

	notes(t, mill.lead, 3)
	meets(t, mill.lead, s.addr())
	said, open = eve.says("PING\r\n")
	require.True(t, open)
	require.NotContains(t, said, d, "Mill's lead came, wrote and went")
	for _, subject := range []string{">", "m.>", "$SYS.>", "$JS.>", "in.>", "m.*.*.have"} {
		said, _ = eve.says("SUB %s 9\r\nPING\r\n", subject)
		require.Contains(t, said, "Permissions Violation", subject)
	}

	dee := calls(t, mill.lead, s.addr()) // and asks of Kiln's do not reach Mill's
	dee.same()
	said, _ = eve.says("PUB m.%s.%s.have in.%s.%s.x 0\r\n\r\nPING\r\n", d, k, k, d)
	require.NotContains(t, said, "MSG in.")
	for _, p := range dee.Peers() {
		require.NotEqual(t, k, p.Key)
	}
}

// Who is in at one site's door can't move on to another by a second CONNECT.
func TestASecondConnectStaysAtItsDoor(t *testing.T) {
	kiln, mill, s := townOf(t, relay.Options{})
	v := at(t, s.addr(), kiln.id())
	_, open := v.presents(kiln.lead.BusKey(), v.server, kiln.lead.Joined())
	require.True(t, open)
	said, open := v.presents(mill.lead.BusKey(), at(t, s.addr(), mill.id()).server, mill.lead.Joined())
	require.False(t, open, said)
	require.Equal(t, 1, s.Tally().Peak)
}

// A revoked member is cut off while the site is awake, refused while it is, and does
// not wake it again.
func TestARevokedMemberStaysOut(t *testing.T) {
	kiln, _, s := townOf(t, relay.Options{Sleep: 40 * time.Millisecond})
	bo := kiln.joins("Bo")
	meets(t, kiln.lead, s.addr())
	carry(t, kiln.lead, bo)
	p := calls(t, bo, s.addr())
	p.same()
	meets(t, kiln.lead, s.addr()) // hears of Bo
	who, err := kiln.lead.Person("Bo")
	require.NoError(t, err)
	_, err = kiln.lead.Revoke(t.Context(), who, member.Revoking{Why: "left the company"})
	require.NoError(t, err)
	meets(t, kiln.lead, s.addr())
	p.until("cut off", func(n bus.Notice) bool { return n.Kind == bus.Down })
	p.hang()

	refused := func() bool {
		v := at(t, s.addr(), kiln.id())
		_, open := v.presents(bo.BusKey(), v.server, bo.Joined())
		return !open
	}
	settles(t, "asleep", func() bool { return s.Tally().Awake == 0 })
	require.True(t, refused(), "the site wakes and its log says no")
	settles(t, "asleep again", func() bool { return s.Tally().Awake == 0 })
	opened := s.figure("pairwalk_relay_wake_seconds_count")
	for range 3 {
		require.True(t, refused())
	}
	require.Equal(t, opened, s.figure("pairwalk_relay_wake_seconds_count"), "what the log said holds while it sleeps")
	require.EqualValues(t, 3, s.figure(`pairwalk_relay_refused_total{reason="refused_before"}`))
	meets(t, kiln.lead, s.addr())
}

// A newcomer whose invite the relay can't place yet is not held off for good: once
// somebody has brought the log, its word is asked for again.
func TestWhoWasTurnedAwayIsLookedAtAgainOnceTheLogGrew(t *testing.T) {
	kiln, _, s := townOf(t, relay.Options{Sleep: 40 * time.Millisecond})
	token := kiln.invite(events.Tech)
	bo, err := kiln.home("bo").Join(t.Context(), token, "Bo", "")
	require.NoError(t, err)
	defer bo.Close()
	twin, err := kiln.home("twin").Join(t.Context(), token, "Twin", "") // the invite, used twice
	require.NoError(t, err)
	defer twin.Close()
	carry(t, kiln.lead, bo)
	carry(t, kiln.lead, twin)
	meets(t, bo, s.addr())
	in := func(m *member.Member) bool {
		v := at(t, s.addr(), kiln.id())
		_, open := v.presents(m.BusKey(), v.server, m.Joined())
		return open
	}
	require.False(t, in(twin))
	settles(t, "asleep", func() bool { return s.Tally().Awake == 0 })
	require.False(t, in(twin))
	carry(t, twin, kiln.lead)
	who, err := kiln.lead.Person("Twin")
	require.NoError(t, err)
	_, err = kiln.lead.Admit(t.Context(), who)
	require.NoError(t, err)
	meets(t, kiln.lead, s.addr())
	settles(t, "asleep", func() bool { return s.Tally().Awake == 0 })
	require.True(t, in(twin))
}

// sharedOffice is one whose logs others write to as well.
type sharedOffice struct{ relay.Office }

func (sharedOffice) Shared() bool { return true }

// Where another relay may have brought the log further, its word is asked for again.
func TestWhoWasTurnedAwayIsLookedAtAgainWhereOthersWriteToTheLog(t *testing.T) {
	kiln := opens(t, "Kiln")
	office := officeAt(t.TempDir())
	takes(t, office, kiln)
	s := runsAt(t, sharedOffice{office}, "", relay.Options{Sleep: 40 * time.Millisecond})
	token := kiln.invite(events.Tech)
	bo, err := kiln.home("bo").Join(t.Context(), token, "Bo", "")
	require.NoError(t, err)
	defer bo.Close()
	twin, err := kiln.home("twin").Join(t.Context(), token, "Twin", "") // the invite, used twice
	require.NoError(t, err)
	defer twin.Close()
	carry(t, kiln.lead, bo)
	carry(t, kiln.lead, twin)
	meets(t, bo, s.addr())
	in := func() bool {
		v := at(t, s.addr(), kiln.id())
		_, open := v.presents(twin.BusKey(), v.server, twin.Joined())
		return open
	}
	require.False(t, in())
	carry(t, twin, kiln.lead)
	who, err := kiln.lead.Person("Twin")
	require.NoError(t, err)
	_, err = kiln.lead.Admit(t.Context(), who)
	require.NoError(t, err)
	settles(t, "asleep", func() bool { return s.Tally().Awake == 0 })
	m, err := office.Open(t.Context(), kiln.id()) // another relay's work
	require.NoError(t, err)
	carry(t, kiln.lead, m)
	require.NoError(t, m.Close())
	require.True(t, in())
}
