package settle

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
)

// Whatever was exported and merged, forks included, the index says what asking every
// export would.
func TestWhatCameHomeIsWhatTheExportsSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		feed := rapid.SampledFrom([]events.FeedID{"a", "b", "c"})
		seq := rapid.Custom(func(t *rapid.T) events.Seq { return events.Seq(rapid.IntRange(1, 5).Draw(t, "seq")) })
		branch := rapid.SampledFrom([]events.Hash{{1}, {2}})
		s := &projection.Site{}
		for i := range rapid.IntRange(0, 6).Draw(t, "exports") {
			x := &projection.Export{ID: fmt.Sprint("x", i), Heads: map[events.FeedID]events.Head{}}
			for range rapid.IntRange(0, 3).Draw(t, "heads") {
				x.Heads[feed.Draw(t, "feed")] = events.Head{Seq: seq.Draw(t, "upto"), Hash: branch.Draw(t, "branch")}
			}
			for _, hub := range rapid.SliceOfN(rapid.SampledFrom([]events.HubID{"", "H1", "H2"}), 0, 2).Draw(t, "merged") {
				x.Merged = append(x.Merged, projection.Merge{Hub: hub})
			}
			s.Exports = append(s.Exports, x)
		}
		b := newBrought(s)
		ref := events.Ref{Feed: feed.Draw(t, "of"), Seq: seq.Draw(t, "asked"), Hash: branch.Draw(t, "line").Short()}
		wantExport, wantMerged := "", false
		for _, x := range s.Exports {
			if x.Covers(ref) {
				wantExport = x.ID
				wantMerged = wantMerged || len(x.MergedFor("H1")) > 0
			}
		}
		export, merged := b.home(ref, "H1")
		require.Equal(t, wantMerged, merged)
		if !merged {
			require.Equal(t, wantExport, export)
		}
	})
}
