package handover_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/handover"
)

// drawings lists those of a part, by their captions.
func drawings(d handover.Document) (out []handover.Drawing) {
	for _, p := range d.Parts {
		for _, b := range p.Blocks {
			if x, ok := b.(handover.Drawing); ok {
				out = append(out, x)
			}
		}
	}
	return out
}

// The cellar of the works has 81 marks: it is drawn whole without tags, and in parts
// with them; the list says which device is on which part.
func TestALargeFloorIsDrawnInParts(t *testing.T) {
	d := works(t).document()
	var whole handover.Drawing
	on := map[string]int{}
	for _, x := range drawings(d) {
		switch {
		case x.Caption == "Floor B1: plan, without tags; parts 1 to 3 follow":
			whole = x
		case len(x.Caption) > 14 && x.Caption[:14] == "Floor B1, part":
			require.LessOrEqual(t, len(x.Marks), 40)
			for _, m := range x.Marks {
				on[m.Label]++
				for i := range m.At {
					require.True(t, x.Min[i] < m.At[i] && m.At[i] < x.Max[i])
				}
			}
			for _, l := range x.Lines {
				for _, p := range l.Points {
					require.True(t, x.Min[0] <= p[0] && p[0] <= x.Max[0] && x.Min[1] <= p[1] && p[1] <= x.Max[1])
				}
			}
		}
	}
	require.Len(t, whole.Marks, 81)
	for _, m := range whole.Marks {
		require.Equal(t, m.Shape == handover.Star, m.Label != "", "only the hub has a name there")
	}
	require.Len(t, on, 81)
	for tag, n := range on {
		require.Equal(t, 1, n, "%s", tag)
	}
	list := table(t, d, "floors", "Floor B1: devices")
	require.Equal(t, "Part", list.Columns[len(list.Columns)-1].Head)
	for _, r := range list.Rows {
		require.Contains(t, []string{"1", "2", "3"}, r[len(r)-1])
	}
	require.NotEmpty(t, whole.Legend)
}

// Floor 1 of the works is small enough for one sheet.
func TestAFloorOfOneSheetHasItsTags(t *testing.T) {
	for _, x := range drawings(works(t).document()) {
		if x.Caption == "Floor 1: plan" {
			require.Len(t, x.Marks, 80)
			for _, m := range x.Marks {
				require.NotEmpty(t, m.Label)
			}
			return
		}
	}
	require.Fail(t, "floor 1 is not drawn")
}

// A hop that many use is one line; a kind has its shape, and a state its fill.
func TestADrawingShowsKindsStatesAndWays(t *testing.T) {
	j := small(t)
	x := drawings(j.document())[0]
	marks := map[string]handover.Mark{}
	for _, m := range x.Marks {
		marks[m.Label] = m
	}
	require.Equal(t, handover.Star, marks["H1"].Shape)
	require.Equal(t, handover.Solid, marks["1-1"].Fill, "pushed")
	require.Equal(t, handover.Half, marks["1-3"].Fill, "paired, and missed its push")
	require.Equal(t, handover.Hollow, marks["1-4"].Fill, "not paired")
	seen := map[[2][2]int64]bool{}
	walls, ways := 0, 0
	for _, l := range drawings(works(t).document())[0].Lines {
		if l.Style == handover.WallLine {
			walls++
			continue
		}
		hop := [2][2]int64{l.Points[0], l.Points[1]}
		require.False(t, seen[hop], "a hop twice")
		seen[hop] = true
		ways++
	}
	require.Positive(t, walls)
	require.Positive(t, ways)

	j.Lead.Say("10:10", events.DeviceStruck{Device: "1-4", Why: "not built"})
	for _, m := range drawings(j.document())[0].Marks {
		require.NotEqual(t, "1-4", m.Label, "what is off the schedule is off the drawing")
	}
}
