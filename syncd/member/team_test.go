package member_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// team is some members of one practice site, each with a device of their own, and
// the true time.
type team struct {
	t    testing.TB
	time events.Instant
	rand io.Reader
	lead *device
}

// device is a member's installation in memory.
type device struct {
	*member.Member
	team *team
	name string
	fs   *journal.MemFS
	skew time.Duration
	boot string
}

// seeded is randomness that a test can repeat; it is fit for no secret.
type seeded struct{ *rand.ChaCha8 }

func newTeam(t testing.TB) *team {
	x := &team{t: t, time: events.InstantOf(time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)), rand: seeded{rand.NewChaCha8([32]byte{7})}}
	x.lead = x.device("ada")
	m, _, err := x.lead.home().Init(t.Context(), member.Opening{Name: "Kiln Lane Works", Person: "ada", Zone: "UTC", Practice: true})
	require.NoError(t, err)
	x.lead.Member = m
	return x
}

func (x *team) device(name string) *device {
	d := &device{team: x, name: name, fs: journal.Memory(), boot: name + " boot 1"}
	x.t.Cleanup(func() {
		if d.Member != nil {
			_ = d.Close()
		}
	})
	return d
}

func (d *device) home() *member.Home {
	return member.NewHome(d.fs, member.World{Now: d.stamp, Rand: d.team.rand, MadeUp: true})
}

func (d *device) stamp() events.Stamp {
	return events.Stamp{
		Wall: events.Wall{At: d.team.time.Add(d.skew)},
		Mono: events.Mono{Boot: d.boot, Ms: int64(d.team.time) - 1_700_000_000_000},
	}
}

// joins lets somebody in by the lead's invite. They have heard nothing yet.
func (x *team) joins(name string, role events.Role) *device {
	token, err := x.lead.Invite(role, 48*time.Hour, "")
	require.NoError(x.t, err)
	d := x.device(name)
	m, err := d.home().Join(x.t.Context(), token, name, "")
	require.NoError(x.t, err)
	d.Member = m
	return d
}

// reopen closes a device's site and opens it again.
func (d *device) reopen() {
	require.NoError(d.team.t, d.Close())
	m, err := d.home().Open("")
	require.NoError(d.team.t, err)
	d.Member = m
}

func (d *device) log(payloads ...events.Payload) []events.Event {
	entries := make([]member.Entry, len(payloads))
	for i, p := range payloads {
		entries[i] = member.Entry{Payload: p}
	}
	evs, err := d.Record(d.team.t.Context(), entries...)
	require.NoError(d.team.t, err)
	return evs
}

func (d *device) bundle() []byte {
	var b bytes.Buffer
	_, err := d.BundleOut(d.team.t.Context(), &b)
	require.NoError(d.team.t, err)
	return b.Bytes()
}

func (d *device) takes(bundle []byte) member.Received {
	got, err := d.BundleIn(d.team.t.Context(), bytes.NewReader(bundle))
	require.NoError(d.team.t, err)
	return got
}

// status is what programs outside read, as bytes.
func (d *device) status(m projection.Moment) string {
	b, err := json.Marshal(d.Status(m))
	require.NoError(d.team.t, err)
	return string(b)
}

// schedule lists hubs H1 and H2 with some devices each.
func (d *device) schedule(perHub int) {
	sheet := "tag,kind,hub,radio\n"
	for h := 1; h <= 2; h++ {
		for i := range perHub {
			radio := "mesh"
			if i%10 == 9 {
				radio = "star"
			}
			sheet += fmt.Sprintf("%d-%03d,dimmer,H%d,%s\n", h, i+1, h, radio)
		}
	}
	plan, err := d.Sheet(bytes.NewReader([]byte(sheet)), time.Time{})
	require.NoError(d.team.t, err)
	require.Empty(d.team.t, plan.Problems())
	_, err = d.Import(d.team.t.Context(), plan, intake.Accept{}, false)
	require.NoError(d.team.t, err)
}

func (x *team) pass(d time.Duration) { x.time = x.time.Add(d) }
