package main

import (
	"bytes"
	"context"
	"maps"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// clusterOffice is a site whose three members meet at two relays on a cluster.
type clusterOffice struct {
	*cluster
	desk              *desk
	one, other        *clusterRelay
	ann, bo, cy       *member.Member
	annAt, boAt, cyAt *meeting // where each has called
	began             time.Time
}

const clusterEntries = 6000

// Three servers and two relays, as docker-compose.yml runs them. In the middle of a
// sync one relay and the server that leads are killed: what was acknowledged is had
// by way of the other relay, while whoever gave it is away. The relay comes back with
// an empty home, the server with its disk, and everybody comes to hold the same. Then
// two servers go at once.
func TestOneServerAndOneRelayAreKilledInMidSync(t *testing.T) {
	o := newClusterOffice(t)
	o.losesOneOfEach()
	o.losesTwoServers()
	requireDoors(t, o.cluster)
	for _, x := range []*meeting{o.annAt, o.boAt, o.cyAt} {
		require.NoError(t, x.Close())
	}
	for _, x := range member.AllConflicts(o.ann.Now()) {
		require.NotEqual(t, projection.ForkedFeed, x.Kind)
	}
}

func newClusterOffice(t *testing.T) *clusterOffice {
	c, d := newCluster(t), newDesk(t)
	o := &clusterOffice{cluster: c, desk: d, ann: d.ann, one: c.relay(1), other: c.relay(2)}
	t.Cleanup(func() { require.NoError(t, o.ann.Close()) })
	for _, r := range []*clusterRelay{o.one, o.other} {
		r.joins(d)
		r.up()
	}
	o.bo, o.cy = d.joins("Bo"), d.joins("Cy")
	for _, m := range []*member.Member{o.bo, o.cy} {
		t.Cleanup(func() { require.NoError(t, m.Close()) })
		tells(t, o.ann, m)
		tells(t, m, o.ann)
	}
	d.writes(o.ann, clusterEntries, 100)
	d.writes(o.bo, clusterEntries/2, 100)
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("held at last: by Ann %v, by Bo %v, by Cy %v", o.ann.Have(), o.bo.Have(), o.cy.Have())
		}
	})
	o.began = time.Now()
	o.annAt, o.boAt = at(t, o.ann, o.one.addr), at(t, o.bo, o.other.addr)
	return o
}

// handed is how many of Ann's entries others are known to hold.
func (o *clusterOffice) handed() int { return said(o.ann) - o.ann.Unsent() }

func (o *clusterOffice) after() time.Duration { return time.Since(o.began).Round(time.Millisecond) }

func (o *clusterOffice) losesOneOfEach() {
	t := o.t
	require.Eventually(t, func() bool { return o.one.took() > clusterEntries/8 && o.handed() > clusterEntries/8 }, time.Minute, time.Millisecond, "nothing is synced")
	leader := o.leader()
	o.one.process.kill()
	leader.process.kill()
	acked := o.handed()
	require.NoError(t, o.annAt.Close())
	acked = max(acked, o.handed())
	require.Less(t, acked, said(o.ann), "it was killed in the middle")
	t.Logf("killed %s and %s with %d of %d entries of one member acknowledged, after %s", o.one.name, leader.name, acked, said(o.ann), o.after())

	// Ann is away. What the relay that died acknowledged comes by way of the other.
	o.cyAt = at(t, o.cy, o.other.addr)
	require.Eventually(t, func() bool { return heldOf(o.cy, o.ann) >= acked }, time.Minute, 10*time.Millisecond, "acknowledged and lost")
	t.Logf("all %d were had through %s by %s", acked, o.other.name, o.after())
	require.Eventually(t, func() bool { return o.bo.Unsent() == 0 }, time.Minute, 10*time.Millisecond, "the sync with the other relay goes on")

	o.up(leader)
	o.one.up()
	o.annAt = at(t, o.ann, o.one.addr)
	require.Eventually(t, func() bool { return same(o.ann, o.bo) && same(o.ann, o.cy) }, 2*time.Minute, 20*time.Millisecond, "they don't come to hold the same")
	t.Logf("all hold the same %d entries after %s", total(o.ann), o.after())
}

// losesTwoServers leaves one server, so nothing is kept and nothing acknowledged. With
// another back everything goes on, by the relay that was started anew.
func (o *clusterOffice) losesTwoServers() {
	t := o.t
	require.NoError(t, o.cyAt.Close())
	o.cyAt = at(t, o.cy, o.one.addr)
	o.nodes[0].process.kill()
	o.nodes[1].process.kill()
	o.other.process.kill()
	require.Eventually(t, func() bool { return !o.one.well() }, 2*time.Minute, 20*time.Millisecond, "the relay says that it is well")
	before := o.one.took()
	o.desk.writes(o.ann, 50, 100)
	require.Eventually(t, func() bool { return same(o.ann, o.cy) }, 2*time.Minute, 20*time.Millisecond, "those who are on a relay's bus can still do without the cluster")
	require.Equal(t, before, o.one.took(), "acknowledged without a quorum")
	require.NoError(t, o.cyAt.Close())
	o.up(o.nodes[1])
	require.Eventually(t, o.one.well, 2*time.Minute, 20*time.Millisecond, "the relay does not get well")
	o.desk.writes(o.ann, 50, 100) // those before may be in the cluster by an attempt that nobody confirmed
	require.Eventually(t, func() bool { return o.one.took() >= before+50 }, 2*time.Minute, 20*time.Millisecond, "it does not go on")
	o.other.up()
	o.cyAt = at(t, o.cy, o.other.addr)
	require.Eventually(t, func() bool {
		return same(o.ann, o.bo) && same(o.ann, o.cy) && sameBytes(t, o.desk, "ann", "bo", "cy")
	}, 2*time.Minute, 50*time.Millisecond, "they don't come to hold the same")
	t.Logf("all hold the same %d entries after two servers were away, after %s", total(o.ann), o.after())
}

// tells gives one member's log to another, without any bus.
func tells(t testing.TB, from, to *member.Member) {
	var b bytes.Buffer
	_, err := from.BundleOut(context.Background(), &b)
	require.NoError(t, err)
	_, err = to.BundleIn(context.Background(), &b)
	require.NoError(t, err)
}

// at has a member call at a relay and stay.
func at(t testing.TB, m *member.Member, addr string) *meeting {
	x, err := meet(context.Background(), m, "", nil)
	require.NoError(t, err)
	x.visit(addr)
	return x
}

// said is how many entries a member has said.
func said(m *member.Member) int { return heldOf(m, m) }

// heldOf is how many entries one member holds of what another said.
func heldOf(m, of *member.Member) (n int) {
	for feed, head := range m.Now().Heads {
		if feed.Key() == of.Key() {
			n += int(head.Seq)
		}
	}
	return n
}

func total(m *member.Member) (n int) {
	for _, head := range m.Now().Heads {
		n += int(head.Seq)
	}
	return n
}

func same(a, b *member.Member) bool { return a.Have().Same(b.Have()) }

// sameBytes compares every feed as it is on the disks of some members.
func sameBytes(t testing.TB, d *desk, names ...string) bool {
	feeds := func(name string) map[string]string {
		found, err := filepath.Glob(filepath.Join(d.folder(name), "sites", "*", "feeds", "*.ndjson"))
		require.NoError(t, err)
		out := map[string]string{}
		for _, f := range found {
			b, err := os.ReadFile(f)
			require.NoError(t, err)
			out[filepath.Base(f)] = string(b)
		}
		return out
	}
	first := feeds(names[0])
	require.NotEmpty(t, first)
	for _, name := range names[1:] {
		if !maps.Equal(first, feeds(name)) {
			return false
		}
	}
	return true
}
