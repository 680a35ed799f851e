package bus

import (
	"errors"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd"
)

// Clocks are compared again in every round, so that one which is set is noticed.
// Who nudges without pause cannot put that off, nor have it happen more often.
func TestClocksAgain(t *testing.T) {
	for name, c := range map[string]struct {
		pace   pace
		nudges bool
		ends   func(clocks, haves int64) bool
	}{
		"quiet":                {brisk, false, func(clocks, _ int64) bool { return clocks >= 3*2*samples }},
		"nudged":               {brisk, true, func(clocks, _ int64) bool { return clocks >= 3*2*samples }},
		"nudged, no round due": {calm(), true, func(_, haves int64) bool { return haves >= 20 }},
	} {
		t.Run(name, func(t *testing.T) {
			m := meets(t, c.pace)
			var clocks, haves atomic.Int64 // asked by Ann and Ben together
			m.answers(askClock, func([]byte) []byte { clocks.Add(1); return syncd.AnswerClock(m.kim.Stamp) })
			m.answers(askHave, func([]byte) []byte { haves.Add(1); return m.kim.Have().Encode() })
			m.answers(askPull, m.kim.answer)
			m.says(sayHere, nil)
			m.a.until("asked often enough", func() bool {
				if c.nudges {
					m.says(sayChanged, nil)
				}
				return c.ends(clocks.Load(), haves.Load())
			})
			if c.pace.again == calm().again {
				require.EqualValues(t, 2*samples, clocks.Load(), "once by each")
			}
			require.NotZero(t, m.a.comparedWith(m.kim))
		})
	}
}

// What cannot be logged is told once, not in every round.
func TestClockNotKept(t *testing.T) {
	var site roster
	ben := site.hire("Ben", 2)
	ben.fails(errors.New("disk is full"))
	a, b := site.hire("Ann", 1).sits(t, "127.0.0.1:0"), ben.sits(t, "")
	b.Call(a.addr())
	b.until("compared again", func() bool { return ben.comparedWith(a.hand) >= 3*samples })
	require.Equal(t, 1, toldOfClocks(b))
	ben.fails(nil)
	n := ben.comparedWith(a.hand)
	b.until("kept", func() bool { return ben.comparedWith(a.hand) >= n+2*samples })
	ben.fails(errors.New("disk is full"))
	b.until("told anew", func() bool { return toldOfClocks(b) == 2 })
}

func toldOfClocks(d *desk) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := 0
	for _, s := range d.seen {
		if s.Kind == Trouble && s.Why == "can't keep how the clocks compare: disk is full" {
			n++
		}
	}
	return n
}
