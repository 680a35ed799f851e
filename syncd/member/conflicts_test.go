package member_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// Conflicts are those of the facts asked about, whichever were asked about before, and
// are found once for the last two.
func TestConflictsAreFoundOnce(t *testing.T) {
	_, ada, ben := pairOf(t)
	sites := []*projection.Site{ada.Now()}
	for _, tag := range []events.Tag{"1-007", "1-008"} {
		ada.log(events.DevicePaired{Device: tag, Hub: "H1", Serial: "S1"})
		ben.log(events.DevicePaired{Device: tag, Hub: "H1", Serial: "S2"})
		sites = append(sites, ada.Now())
		ada.takes(ben.bundle())
		sites = append(sites, ada.Now())
	}
	require.Greater(t, len(member.AllConflicts(sites[4])), len(member.AllConflicts(sites[1])))
	for _, order := range [][]int{{0, 1, 2, 3, 4}, {4, 3, 4, 3, 2}, {0, 4, 0, 1, 0}} {
		for _, i := range order {
			require.Equal(t, member.AllConflicts(sites[i]), ada.Conflicts(sites[i]))
		}
	}
	after := ada.Conflicts(sites[4])
	ada.Conflicts(sites[3])
	require.Same(t, &after[0], &ada.Conflicts(sites[4])[0])
	require.Zero(t, testing.AllocsPerRun(10, func() { ada.Conflicts(sites[3]); ada.Conflicts(sites[4]) }))
}
