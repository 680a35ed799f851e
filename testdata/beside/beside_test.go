package beside

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// tale is an act that takes what it is told to, one time after the other, and notes
// that it was done.
func tale(name string, notes *string, took ...time.Duration) Act {
	return func() time.Duration {
		*notes += name
		d := took[0]
		took = took[1:]
		return d
	}
}

func TestRoundsTakeTurnsAtGoingFirst(t *testing.T) {
	notes := ""
	f := Limit{Limit: tale("L", &notes, 2, 2, 2, 2), Ours: tale("o", &notes, 4, 4, 4, 4)}.run(4)
	require.Equal(t, "LooLLooL", notes)
	require.Equal(t, []time.Duration{2, 4}, []time.Duration{f.limit, f.ours})
	require.Zero(t, f.wobble)
}

func TestAHiccupSpoilsARoundAndNotTheFigure(t *testing.T) {
	notes := ""
	f := Limit{Limit: tale("L", &notes, 1, 1, 900, 1, 1), Ours: tale("o", &notes, 2, 700, 2, 2, 2)}.run(5)
	require.Equal(t, []time.Duration{1, 2}, []time.Duration{f.limit, f.ours})
}

func TestWobbleTellsOfRoundsThatDiffer(t *testing.T) {
	notes := ""
	f := Limit{Limit: tale("L", &notes, 1, 2, 3, 4), Ours: tale("o", &notes, 10, 10, 10, 10)}.run(4)
	require.InDelta(t, 0.1/0.3, f.wobble, 1e-9)
}

func TestProcessorTimeIsThatOfTheAct(t *testing.T) {
	if Spent() == 0 {
		t.Skip("this system does not tell the processor time of a process")
	}
	busy := func(times int) Act {
		return func() time.Duration {
			n := 1
			for range times * 30_000_000 {
				n = n*7 + 1
			}
			sink = n
			return 1
		}
	}
	f := Limit{Limit: busy(1), Ours: busy(10)}.run(2)
	require.Greater(t, f.cpu, 0.0)
	require.Less(t, f.cpu, 1.0)
}

var sink int
