package handover

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// Every mark is in exactly one part, and a part has no more than can be read, unless
// they all sit at one place.
func TestPartsOfADrawingHoldEachMarkOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "marks")
		wide := rapid.SampledFrom([]int64{0, 1, 10, 60_000}).Draw(t, "wide")
		high := rapid.SampledFrom([]int64{0, 1, 10, 60_000}).Draw(t, "high")
		spots := make([]spotOf, n)
		for i := range spots {
			spots[i] = spotOf{tag: events.Tag(fmt.Sprint(i))}
			spots[i].mark.At = [2]int64{rapid.Int64Range(-wide, wide).Draw(t, "x"), rapid.Int64Range(-high, high).Draw(t, "y")}
		}
		const most = 40
		had := map[events.Tag]bool{}
		for _, part := range split(spots, most) {
			require.NotEmpty(t, part)
			one := true
			for _, s := range part {
				require.False(t, had[s.tag], "twice")
				had[s.tag] = true
				one = one && s.mark.At == part[0].mark.At
			}
			require.True(t, len(part) <= most || one, "%d marks on one part", len(part))
		}
		require.Len(t, had, n)
	})
}

// What is cut to a rectangle lies in it, and on the line it was cut from.
func TestLinesAreCutAtTheEdge(t *testing.T) {
	lo, hi := [2]int64{-10, -10}, [2]int64{10, 10}
	for name, x := range map[string]struct {
		a, b     [2]int64
		from, to [2]int64
		ok       bool
	}{
		"inside":             {[2]int64{0, 0}, [2]int64{5, 5}, [2]int64{0, 0}, [2]int64{5, 5}, true},
		"through":            {[2]int64{-20, 0}, [2]int64{20, 0}, [2]int64{-10, 0}, [2]int64{10, 0}, true},
		"out at the top":     {[2]int64{0, 0}, [2]int64{0, 30}, [2]int64{0, 0}, [2]int64{0, 10}, true},
		"across a corner":    {[2]int64{0, 15}, [2]int64{15, 0}, [2]int64{5, 10}, [2]int64{10, 5}, true},
		"past a corner":      {[2]int64{0, 25}, [2]int64{25, 0}, [2]int64{}, [2]int64{}, false},
		"beside":             {[2]int64{20, -5}, [2]int64{20, 5}, [2]int64{}, [2]int64{}, false},
		"a point, inside":    {[2]int64{1, 1}, [2]int64{1, 1}, [2]int64{1, 1}, [2]int64{1, 1}, true},
		"a point, elsewhere": {[2]int64{11, 1}, [2]int64{11, 1}, [2]int64{}, [2]int64{}, false},
	} {
		from, to, ok := clip(x.a, x.b, lo, hi)
		require.Equal(t, x.ok, ok, name)
		if ok {
			require.Equal(t, [2][2]int64{x.from, x.to}, [2][2]int64{from, to}, name)
		}
	}
}

// Tags that stand close get places of their own, in the drawing.
func TestTagsDoNotCoverEachOther(t *testing.T) {
	var d Drawing
	for i := range 24 {
		d.Marks = append(d.Marks, Mark{At: [2]int64{int64(i) * 350, 0}, Shape: Circle, Label: fmt.Sprintf("2-%d", 101+i)})
	}
	d.Min, d.Max = bounds(d)
	c := svgOf(d)
	frames := make([]frame, len(c.Marks))
	for i, m := range c.Marks {
		w := int64(len(m.Label)) * c.Letter * 6 / 10
		base := m.TextY - c.Letter*35/100
		frames[i] = frame{m.TextX - w/2, base - c.Letter/2, m.TextX + w/2, base + c.Letter/2}
		require.GreaterOrEqual(t, frames[i].x0, c.X)
		require.LessOrEqual(t, frames[i].x1, c.X+c.W)
		for j := range i {
			require.Zero(t, frames[i].under(frames[j]), "%s and %s", c.Marks[j].Label, m.Label)
		}
	}
	require.Equal(t, "much-too-long…", shortened("much-too-long-a-tag"))
}

func TestWordsFitNoneOneAndMany(t *testing.T) {
	require.Equal(t, []string{"no entries", "1 entry", "2 entries"}, []string{count(0, "entry"), count(1, "entry"), count(2, "entry")})
	require.Equal(t, []string{"no devices", "1 device", "7 devices"}, []string{count(0, "device"), count(1, "device"), count(7, "device")})
	require.Equal(t, "", and())
	require.Equal(t, "a", and("a"))
	require.Equal(t, "a, b and c", and("a", "b", "c"))
	require.Equal(t, "\u05d0", first("\u05d0"))
}

// What is typed from right to left stands alone, and no control of direction comes
// through.
func TestTypedTextTurnsNothingElse(t *testing.T) {
	require.Equal(t, "a b c", said("a\nb\u2028c"))
	require.Equal(t, "a\ufffdb", said("a\u202eb"))
	require.Equal(t, "\u2068\u05d3\u05e0\u05d4 7\u2069", said("\u05d3\u05e0\u05d4 7"))
	require.Equal(t, "\ufffd\u2068\u05d3\u2069", sentence("\u2068\u05d3"))
	require.Equal(t, "paired by \u2068\u05d3\u05e0\u05d4 7 \u05d4\u2069 on H1, \u2068\u05d0\u2069", sentence("paired by \u05d3\u05e0\u05d4 7 \u05d4 on H1, \u05d0"))
	require.Equal(t, "bad \ufffd bytes", said("bad \xff bytes"))
}
