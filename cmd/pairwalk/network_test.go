package main

import (
	"flag"
	mathrand "math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd"
	"pairwalk/testdata/cable"
)

// These tests run the command in processes of its own, over a bad network.

var cutsFlag = flag.Int("cuts", 12, "how often the network tests cut a link in the middle of an exchange")

func cuts() int {
	if underRace {
		return min(*cutsFlag, 4)
	}
	return *cutsFlag
}

// much is how many entries make a long log; the race detector has less time.
func much(n int) int {
	if underRace {
		return n / 3
	}
	return n
}

// badDay is a desk where Ann has much to tell and Bo a little, and the chances of
// the day.
func badDay(t *testing.T, anns, bos int) (*desk, *mathrand.Rand) {
	t.Parallel()
	d := newDesk(t)
	bo := d.joins("Bo")
	d.writes(d.ann, anns, 500)
	d.writes(bo, bos, 500)
	require.NoError(t, bo.Close())
	require.NoError(t, d.ann.Close())
	seed := mathrand.Uint64()
	t.Logf("seed %d", seed)
	return d, mathrand.New(mathrand.NewPCG(seed, 1))
}

// agree has members hold the same, and what they say be the same bytes.
func (d *desk) agree(names ...string) {
	d.t.Helper()
	for _, what := range []string{"status", "history"} {
		first := d.run(names[0], "--json", what)
		for _, name := range names[1:] {
			require.Equal(d.t, first, d.run(name, "--json", what), "%s of %s and %s", what, names[0], name)
		}
	}
}

// tries has somebody's serving process call at an address now, instead of at the
// end of its pause. It returns what ends that command.
func (d *desk) tries(name, addr string) (end func()) {
	c := d.command(d.t.Context(), name, "sync", addr)
	require.NoError(d.t, c.Start())
	return func() {
		_ = c.Process.Kill()
		_ = c.Wait()
	}
}

// through has Bo fetch what Ann has by a cable, call after call, until the weather
// given is over; then both must hold the same.
func (d *desk) through(ann *post, way *cable.Cable, strikes int) (bo *post) {
	bo = d.posts("bo", here, "--listen", "none", "--call", way.Addr)
	for range strikes {
		<-way.Struck
		d.run("bo", "log", "note", "hub:H1", "the link is gone")
		d.run("ann", "log", "note", "hub:H1", "where is Bo")
		defer d.tries("bo", way.Addr)()
	}
	d.run("bo", "sync", way.Addr)
	d.agree("ann", "bo")
	require.Zero(d.t, bo.said("complaint"), "a bad link is nobody's fault")
	require.Zero(d.t, ann.said("complaint"))
	return bo
}

// onlyOnce holds that no entry was lost, and that no more came twice than what was
// on its way when a line broke.
func (d *desk) onlyOnce(bo *post, entries, log, came, lines int) {
	got := bo.took()
	d.t.Logf("%d cuts, a line made anew %d times; %d bytes came for %d bytes of log; %d entries taken, lost 0",
		lines, bo.said("up")-1, came, log, got)
	require.GreaterOrEqual(d.t, got, entries)
	wrapped := log + log/20 // what TLS and the bus add
	require.LessOrEqual(d.t, came, wrapped+(lines+1)*(syncd.MaxReply+lineCosts), "nothing twice beyond one request's worth for each cut")
}

// lineCosts is what making a line costs: certificates, a proof, clocks and haves.
const lineCosts = 16 << 10

// A link that breaks again and again, each time somewhere else.
func TestTheLinkBreaks(t *testing.T) {
	entries := much(6000)
	d, r := badDay(t, entries, 500)
	log := d.weigh("ann")
	ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
	var ahead []cable.Weather
	for range cuts() {
		ahead = append(ahead, cable.Weather{Then: cable.Severed, After: 1 + r.Int64N(3*syncd.MaxReply/2)})
	}
	way := cable.Lay(t, ann.addr, ahead...)
	bo := d.through(ann, way, cuts())
	require.Equal(t, cuts()+1, way.Calls())
	d.onlyOnce(bo, entries, log, way.Back(), cuts())
}

// A bit that changes on the way ends the line, and nothing of it is taken.
func TestTheLinkGarbles(t *testing.T) {
	entries := much(6000)
	d, r := badDay(t, entries, 500)
	log := d.weigh("ann")
	ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
	var ahead []cable.Weather
	for range cuts() {
		ahead = append(ahead, cable.Weather{Then: cable.Flipped, After: 100 + r.Int64N(3*syncd.MaxReply/2)})
	}
	way := cable.Lay(t, ann.addr, ahead...)
	bo := d.through(ann, way, cuts())
	require.Equal(t, cuts()+1, way.Calls(), "every line ended by one flipped bit, and the last one fair")
	d.onlyOnce(bo, entries, log, way.Back(), cuts())
}

// A link that goes silent in the middle of a reply and stays so, without a word to
// anybody: both ends give it up by themselves.
func TestTheLinkStalls(t *testing.T) {
	entries := much(3000)
	d, r := badDay(t, entries, 500)
	log := d.weigh("ann")
	ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
	way := cable.Lay(t, ann.addr, cable.Weather{Then: cable.Stalled, After: 20_000 + r.Int64N(syncd.MaxReply)})
	bo := d.posts("bo", here, "--listen", "none", "--call", way.Addr)
	<-way.Struck
	bo.await("down", 1)
	ann.await("left", 1)
	d.run("bo", "sync", way.Addr)
	d.agree("ann", "bo")
	d.onlyOnce(bo, entries, log, way.Back(), 1)
}

// A link that hands over a byte at a time, and one with long ways and small
// pieces, are slow and nothing else.
func TestTheLinkIsSlow(t *testing.T) {
	for name, w := range map[string]cable.Weather{
		"byte by byte":   {Piece: 1},
		"small and late": {Piece: 1200, Delay: 10 * time.Millisecond},
	} {
		t.Run(name, func(t *testing.T) {
			const entries = 200
			d, _ := badDay(t, entries, 50)
			log := d.weigh("ann")
			ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
			way := cable.Lay(t, ann.addr, w)
			bo := d.through(ann, way, 0)
			require.Equal(t, 1, way.Calls(), "no line was given up for being slow")
			d.onlyOnce(bo, entries, log, way.Back(), 0)
		})
	}
}
