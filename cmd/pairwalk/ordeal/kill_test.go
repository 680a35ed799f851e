package ordeal

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// chance is the test's source of moments. Its seed is printed.
func chance(t *testing.T) *rand.Rand {
	n := *seed
	if n == 0 {
		n = rand.Uint64()
	}
	t.Logf("-seed %d", n)
	return rand.New(rand.NewPCG(n, 9))
}

// TestKilledCommands kills single commands, two at a time, in whatever they are
// doing.
func TestKilledCommands(t *testing.T) {
	d := newDesk(t, t.TempDir()).opens("Kiln", "Ann")
	r := chance(t)
	killed := 0
	for round := 0; killed < *kills; round++ {
		var w crew
		struck := make(chan int, 1)
		enough, later := int64(1+r.IntN(3)), time.Duration(r.IntN(400_000))*time.Microsecond
		var taken atomic.Int64
		took := func() {
			if taken.Add(1) == enough { // however slow the machine is
				time.AfterFunc(later, func() { struck <- w.strike() })
			}
		}
		var work sync.WaitGroup
		for who := range 2 {
			work.Go(func() { d.logsUntilStruck(&w, fmt.Sprintf("round %d, %d", round, who), took) })
		}
		work.Wait()
		killed += <-struck
		d.audit(tornEnd)
	}
	var all tally
	all.adds(d)
	all.tells(t, "commands", killed)
}

// logsUntilStruck has one command after another log a note, each longer than the
// one before.
func (d *desk) logsUntilStruck(w *crew, name string, took func()) {
	for n := 0; ; n++ {
		got := w.finish(d.command("--json", "log", "note", "site", fmt.Sprintf("%s, %d %s", name, n, strings.Repeat("x", 300*n))))
		switch {
		case d.acknowledges(got):
			took()
		case got.code < 0:
			return
		}
	}
}

// TestKilledServing kills a serving process while four hands put entries in by its
// page and two by commands that it runs for them. A new site is begun now and then,
// since the whole log is read after every kill.
func TestKilledServing(t *testing.T) {
	r := chance(t)
	var all tally
	for left := *kills; left > 0; left -= killsPerSite {
		d := newDesk(t, t.TempDir()).opens("Kiln", "Ann")
		for round := range min(left, killsPerSite) {
			d.servesUntilKilled(r, round)
			d.audit(tornEnd)
		}
		all.adds(d)
	}
	all.tells(t, "serving processes", *kills)
}

const killsPerSite = 20

func (d *desk) servesUntilKilled(r *rand.Rand, round int) {
	s := d.serves(nil, "none")
	require.NotNil(d.t, s)
	enough, later := int64(r.IntN(25)), time.Duration(r.IntN(10_000))*time.Microsecond
	var once atomic.Uint64
	once.Store(r.Uint64() >> 1)
	var taken atomic.Int64
	var blow sync.Once
	strike := func() {
		if taken.Add(1) > enough {
			blow.Do(func() { time.AfterFunc(later, s.kill) })
		}
	}
	var w crew
	var work sync.WaitGroup
	for who := range 4 {
		most := 1 + r.IntN(12)
		work.Go(func() { d.postsUntilKilled(s, &once, fmt.Sprintf("round %d, page %d", round, who), most, strike) })
	}
	for who := range 2 {
		work.Go(func() { d.logsWhileServed(s, &w, fmt.Sprintf("round %d, command %d", round, who), strike) })
	}
	work.Wait()
	<-s.ended
}

// postsUntilKilled hands batches to the page for as long as it answers.
func (d *desk) postsUntilKilled(s *serving, once *atomic.Uint64, name string, most int, took func()) {
	for n := 0; ; n++ {
		texts := make([]string, 1+n*7%most) // several are one write
		for i := range texts {
			texts[i] = fmt.Sprintf("%s, %d of %d %s", name, i, n, strings.Repeat("y", 400*i))
		}
		doc, err := s.posts(once.Add(1), texts...)
		if err != nil {
			return
		}
		d.ledger.takes(doc.Entries...)
		took()
	}
}

// logsWhileServed logs by commands until the serving process is gone.
func (d *desk) logsWhileServed(s *serving, w *crew, name string, took func()) {
	for n := 0; ; n++ {
		select {
		case <-s.ended:
			return
		default:
		}
		if d.acknowledges(w.finish(d.command("--json", "log", "note", "site", fmt.Sprintf("%s, %d", name, n)))) {
			took()
		}
	}
}

// tally is the figures of one story or several.
type tally struct{ acked, torn, anew int }

func (y *tally) adds(d *desk) {
	d.t.Helper()
	y.acked += d.ledger.len()
	y.torn += d.torn
	y.anew += d.feeds() - 1
}

// tells prints the figures, and holds that what was done was worth counting.
func (y *tally) tells(t *testing.T, what string, blows int) {
	t.Helper()
	t.Logf("%d %s killed; %d entries acknowledged, 0 lost, 0 numbers given twice; %d torn ends cut; %d feeds begun anew",
		blows, what, y.acked, y.torn, y.anew)
	require.Zero(t, y.anew, "in one boot a feed goes on")
	require.Greater(t, y.acked, blows/2)
}
