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

// Three servers and two relays, as docker-compose.yml runs them. In the middle of a
// sync one relay and the server that leads are killed: what was acknowledged is had
// by way of the other relay, while whoever gave it is away. The relay comes back with
// an empty home, the server with its disk, and everybody comes to hold the same.
func TestOneServerAndOneRelayAreKilledInMidSync(t *testing.T) {
	c := newCluster(t)
	d := newDesk(t)
	ann := d.ann
	t.Cleanup(func() { require.NoError(t, ann.Close()) })
	one, other := c.relay(1), c.relay(2)
	one.joins(d)
	other.joins(d)
	one.up()
	other.up()
	bo, cy := d.joins("Bo"), d.joins("Cy")
	for _, m := range []*member.Member{bo, cy} {
		t.Cleanup(func() { require.NoError(t, m.Close()) })
		tells(t, ann, m)
		tells(t, m, ann)
	}
	const entries = 6000
	d.writes(ann, entries, 100)
	d.writes(bo, entries/2, 100)
	handed := func(m *member.Member) int { return said(m) - m.Unsent() }

	began := time.Now()
	annAt, boAt := at(t, ann, one.addr), at(t, bo, other.addr)
	require.Eventually(t, func() bool { return one.took() > entries/8 && handed(ann) > entries/8 }, time.Minute, time.Millisecond, "nothing is synced: %d", one.took())
	leader := c.leader()
	one.process.kill()
	leader.process.kill()
	acked := handed(ann)
	require.NoError(t, annAt.Close())
	acked = max(acked, handed(ann))
	require.Less(t, acked, said(ann), "it was killed in the middle")
	t.Logf("killed %s and %s with %d of %d entries of one member acknowledged, after %s", one.name, leader.name, acked, said(ann), time.Since(began).Round(time.Millisecond))

	// Ann is away. What the relay that died acknowledged comes by way of the other.
	cyAt := at(t, cy, other.addr)
	require.Eventually(t, func() bool { return heldOf(cy, ann) >= acked }, time.Minute, 10*time.Millisecond, "acknowledged and lost: %d of %d", acked-heldOf(cy, ann), acked)
	t.Logf("all %d were had through %s by %s", acked, other.name, time.Since(began).Round(time.Millisecond))
	require.Eventually(t, func() bool { return bo.Unsent() == 0 }, time.Minute, 10*time.Millisecond, "the sync with the other relay goes on")

	c.up(leader)
	one.up()
	annAt = at(t, ann, one.addr)
	require.Eventually(t, func() bool { return same(ann, bo) && same(ann, cy) }, 2*time.Minute, 20*time.Millisecond, "they don't come to hold the same")
	t.Logf("all hold the same %d entries after %s", total(ann), time.Since(began).Round(time.Millisecond))

	// Two servers are away, so nothing is kept and nothing acknowledged. With one of
	// them back, everything goes on, by the relay that was started anew.
	require.NoError(t, cyAt.Close())
	cyAt = at(t, cy, one.addr)
	c.nodes[0].process.kill()
	c.nodes[1].process.kill()
	other.process.kill()
	require.Eventually(t, func() bool { return !one.well() }, time.Minute, 20*time.Millisecond, "the relay says that it is well")
	before := one.took()
	d.writes(ann, 50, 100)
	require.Eventually(t, func() bool { return same(ann, cy) }, time.Minute, 20*time.Millisecond, "those who are on a relay's bus can still do without the cluster")
	require.Equal(t, before, one.took(), "acknowledged without a quorum")
	require.NoError(t, cyAt.Close())
	c.up(c.nodes[1])
	require.Eventually(t, func() bool { return one.took() >= before+50 }, time.Minute, 20*time.Millisecond, "it does not go on")
	other.up()
	cyAt = at(t, cy, other.addr)
	require.Eventually(t, func() bool { return same(ann, bo) && same(ann, cy) && sameBytes(t, d, "ann", "bo", "cy") }, time.Minute, 50*time.Millisecond)
	t.Logf("all hold the same %d entries after two servers were away, after %s", total(ann), time.Since(began).Round(time.Millisecond))
	requireDoors(t, c)
	for _, x := range []*meeting{annAt, boAt, cyAt} {
		require.NoError(t, x.Close())
	}
	for _, x := range member.AllConflicts(ann.Now()) {
		require.NotEqual(t, projection.ForkedFeed, x.Kind)
	}
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
