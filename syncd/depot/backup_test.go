package depot

import (
	"bytes"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// starts lists why the member began each of its feeds, the first first.
func starts(t *testing.T, m *member.Member) (out []events.StartWhy) {
	var b bytes.Buffer
	_, err := m.BundleOut(t.Context(), &b)
	require.NoError(t, err)
	file, err := bundle.Read(&b)
	require.NoError(t, err)
	for _, run := range file.Runs() {
		for _, v := range run.Lines {
			e := v.Event()
			if p, ok := e.Payload.(events.FeedStarted); ok && e.Member() == m.Key() {
				out = append(out, p.Why)
			}
		}
	}
	slices.SortFunc(out, func(a, b events.StartWhy) int {
		return slices.Index(events.StartWhys, a) - slices.Index(events.StartWhys, b)
	})
	return out
}

// The streams are put back from an older backup while no relay runs. What the relay
// said since is on a member's device; the relay begins a new feed, and nothing is
// lost.
func TestAnOlderBackupIsPutBack(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	o := office(t, n, secret(t, 1))
	_, err := o.Join(t.Context(), x.invite(events.RelayRole))
	require.NoError(t, err)
	m := opens(t, o)
	meet(t, m, x.lead)
	restore := n.backup()
	until(t, "the relay is back", func() bool { return o.Check(t.Context()) == nil })
	notes(t, x.lead, 300, "after the backup")
	notes(t, m, 2, "by the relay, after the backup")
	meet(t, m, x.lead)
	require.NoError(t, m.Close())
	was := log(t, x.lead)
	restore()

	m = opens(t, office(t, n, secret(t, 1)))
	require.NotEqual(t, was, log(t, m), "the backup is older")
	meet(t, m, x.lead)
	notes(t, m, 1, "after it was put back")
	meet(t, m, x.lead)
	require.Equal(t, []events.StartWhy{events.NewFeed, events.Restored}, starts(t, m))
	require.Equal(t, log(t, x.lead), log(t, opens(t, office(t, n, secret(t, 1)))))
}

// The same while a relay runs: it notices, gives the cluster what it held, and does
// not go on with its own feed.
func TestAnOlderBackupIsPutBackUnderARunningRelay(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	o := office(t, n, secret(t, 1))
	_, err := o.Join(t.Context(), x.invite(events.RelayRole))
	require.NoError(t, err)
	m := opens(t, o)
	restore := n.backup()
	until(t, "the relay is back", func() bool { return o.Check(t.Context()) == nil })
	meet(t, m, x.lead)
	notes(t, m, 2, "by the relay, after the backup")
	was := log(t, m)
	restore()
	witness := opens(t, office(t, n, secret(t, 1)))
	until(t, "the relay gives it back", func() bool { return log(t, witness) == was })
	until(t, "the relay begins another feed", func() bool {
		_, err := m.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "after"}})
		return err == nil && len(starts(t, m)) == 2
	})
	require.Equal(t, events.Restored, starts(t, m)[1])
}

// The whole cluster is lost with its backups. The relay is invited again, and has
// everything back from one member's device.
func TestTheWholeClusterIsLost(t *testing.T) {
	n, x := newNode(t), newCrew(t)
	o := office(t, n, secret(t, 1))
	_, err := o.Join(t.Context(), x.invite(events.RelayRole))
	require.NoError(t, err)
	m := opens(t, o)
	notes(t, x.lead, 300, "of the site")
	notes(t, m, 2, "by the relay")
	meet(t, m, x.lead)
	require.NoError(t, m.Close())
	require.NoError(t, o.Close())
	n.loses()

	o = office(t, n, secret(t, 1))
	seats, err := o.Sites(t.Context())
	require.NoError(t, err)
	require.Empty(t, seats)
	_, err = o.Join(t.Context(), x.invite(events.RelayRole))
	require.NoError(t, err)
	m = opens(t, o)
	meet(t, m, x.lead)
	notes(t, m, 1, "after the loss")
	meet(t, m, x.lead)
	me, ok := x.lead.Now().Member(m.Key())
	require.True(t, ok)
	require.Equal(t, projection.Admitted, me.Standing)
	require.Equal(t, log(t, x.lead), log(t, opens(t, office(t, n, secret(t, 1)))))
}
