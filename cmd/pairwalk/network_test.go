package main

import (
	"encoding/json"
	"flag"
	mathrand "math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd"
	"pairwalk/testdata/cable"
)

// These tests run the command in processes of its own, over a bad network.

var cutsFlag = flag.Int("cuts", 8, "how often the network tests cut a link in the middle of an exchange")

func cuts() int {
	if underRace {
		return min(*cutsFlag, 4)
	}
	return *cutsFlag
}

// long is how many entries make a log that is long enough for every cut.
func long() int { return 500 * cuts() }

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

// ledger is every entry that anybody was told is recorded, kept outside of all
// homes.
type ledger map[string]bool

// told takes up the entries of a document that a command printed.
func (l ledger) told(t testing.TB, doc string) {
	var x struct{ Entries []struct{ Ref string } }
	require.NoError(t, json.Unmarshal([]byte(doc), &x))
	require.NotEmpty(t, x.Entries)
	for _, e := range x.Entries {
		l[e.Ref] = true
	}
}

// ledger is what members hold before they meet.
func (d *desk) ledger(names ...string) ledger {
	l := ledger{}
	for _, name := range names {
		l.told(d.t, d.run(name, "--json", "history"))
	}
	return l
}

// notes has somebody log a note now, and keeps in mind that it was taken.
func (d *desk) notes(l ledger, name, text string) {
	l.told(d.t, d.run(name, "--json", "log", "note", "hub:H1", text))
}

// lost is how many entries of the ledger somebody does not hold.
func (d *desk) lost(l ledger, name string) int {
	held, n := d.ledger(name), 0
	for ref := range l {
		if !held[ref] {
			n++
		}
	}
	return n
}

// agree has members come to hold the same, and what they say be the same bytes. One of
// them may write down a comparison of clocks while they are asked.
func (d *desk) agree(names ...string) {
	d.t.Helper()
	asked := time.Now()
	for _, what := range []string{"status", "history"} {
		for _, name := range names[1:] {
			first, other := d.run(names[0], "--json", what), d.run(name, "--json", what)
			for first != other && time.Since(asked) < time.Minute {
				first, other = d.run(names[0], "--json", what), d.run(name, "--json", what)
			}
			require.Equal(d.t, first, other, "%s of %s and %s", what, names[0], name)
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
func (d *desk) through(l ledger, ann *post, way *cable.Cable, strikes int) (bo *post) {
	bo = d.posts("bo", here, "--listen", "none", "--call", way.Addr)
	for range strikes {
		<-way.Struck
		d.notes(l, "bo", "the link is gone")
		d.notes(l, "ann", "where is Bo")
		defer d.tries("bo", way.Addr)()
	}
	d.run("bo", "sync", way.Addr)
	d.agree("ann", "bo")
	for _, p := range []*post{bo, ann} {
		require.Zero(d.t, p.said("complaint"), "a bad link is nobody's fault: %v", p.all())
	}
	return bo
}

// onlyOnce holds that no entry was lost, and that no more came twice than what was
// on its way when a line broke.
func (d *desk) onlyOnce(l ledger, bo *post, log, came, lines int) {
	lost := d.lost(l, "ann") + d.lost(l, "bo")
	d.t.Logf("%d cuts, a line made anew %d times; %d bytes came for %d bytes of log; %d entries in the ledger, %d lost",
		lines, bo.said("up")-1, came, log, len(l), lost)
	require.Zero(d.t, lost)
	wrapped := log + log/20 // what TLS and the bus add
	require.LessOrEqual(d.t, came, wrapped+(lines+1)*(syncd.MaxReply+lineCosts), "nothing twice beyond one request's worth for each cut")
}

// lineCosts is what making a line costs: certificates, a proof, clocks and haves.
const lineCosts = 16 << 10

// A link that breaks again and again, each time somewhere else.
func TestTheLinkBreaks(t *testing.T) {
	d, r := badDay(t, long(), 500)
	log, l := d.weigh("ann"), d.ledger("ann", "bo")
	ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
	var ahead []cable.Weather
	for range cuts() {
		ahead = append(ahead, cable.Weather{Then: cable.Severed, After: 1 + r.Int64N(3*syncd.MaxReply/2)})
	}
	way := cable.Lay(t, ann.addr, ahead...)
	bo := d.through(l, ann, way, cuts())
	require.Equal(t, cuts()+1, way.Calls())
	d.onlyOnce(l, bo, log, way.Back(), cuts())
}

// A bit that changes on the way ends the line, and nothing of it is taken.
func TestTheLinkGarbles(t *testing.T) {
	d, r := badDay(t, long(), 500)
	log, l := d.weigh("ann"), d.ledger("ann", "bo")
	ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
	var ahead []cable.Weather
	for range cuts() {
		ahead = append(ahead, cable.Weather{Then: cable.Flipped, After: 100 + r.Int64N(3*syncd.MaxReply/2)})
	}
	way := cable.Lay(t, ann.addr, ahead...)
	bo := d.through(l, ann, way, cuts())
	require.Equal(t, cuts()+1, way.Calls(), "every line ended by one flipped bit, and the last one fair")
	d.onlyOnce(l, bo, log, way.Back(), cuts())
}

// A link that goes silent in the middle of a reply and stays so, without a word to
// anybody: both ends give it up by themselves.
func TestTheLinkStalls(t *testing.T) {
	d, r := badDay(t, 1500, 500)
	log, l := d.weigh("ann"), d.ledger("ann", "bo")
	ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
	way := cable.Lay(t, ann.addr, cable.Weather{Then: cable.Stalled, After: 20_000 + r.Int64N(syncd.MaxReply)})
	bo := d.posts("bo", here, "--listen", "none", "--call", way.Addr)
	<-way.Struck
	bo.await("down", 1)
	ann.missesWhoWasHere()
	d.run("bo", "sync", way.Addr)
	d.agree("ann", "bo")
	d.onlyOnce(l, bo, log, way.Back(), 1)
}

// A link that hands over a byte at a time, and one with long ways and small
// pieces, are slow and nothing else.
func TestTheLinkIsSlow(t *testing.T) {
	for name, w := range map[string]cable.Weather{
		"byte by byte":   {Piece: 1},
		"small and late": {Piece: 1200, Delay: 10 * time.Millisecond},
	} {
		t.Run(name, func(t *testing.T) {
			d, _ := badDay(t, 200, 50)
			log, l := d.weigh("ann"), d.ledger("ann", "bo")
			ann := d.posts("ann", here, "--listen", "127.0.0.1:0")
			way := cable.Lay(t, ann.addr, w)
			bo := d.through(l, ann, way, 0)
			require.Equal(t, 1, way.Calls(), "no line was given up for being slow")
			d.onlyOnce(l, bo, log, way.Back(), 0)
		})
	}
}
