package press_test

import (
	"bytes"
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/handover/press"
	"pairwalk/projection/tale"
)

func goOn(press.Step) error { return nil }

// job is a small site with a little of everything, told by two.
func job() *tale.Story {
	s := tale.New()
	bo := s.Join("bo", events.Tech)
	s.Lead.Say("08:30", events.HubListed{Hub: "H1"})
	for _, tag := range []events.Tag{"1-1", "1-2", "1-10"} {
		s.Lead.Say("08:31", events.DeviceListed{Device: tag, Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "1", Room: "1.1"})
	}
	bo.Hear(s.Lead)
	bo.Skew = 3 * time.Minute
	bo.Compare("08:40", s.Lead, 20*time.Millisecond)
	bo.Say("09:00", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "SN-1", How: events.ByButton})
	s.Lead.Say("09:01", events.DevicePaired{Device: "1-1", Hub: "H1", Serial: "SN-2", How: events.ByButton})
	s.Lead.Say("09:02", events.FaultFound{Of: events.Device("1-2"), Symptom: "flickers", Severity: events.Major})
	return s
}

func pagesOf(t require.TestingT, h *projection.History) []handover.File {
	pages, _, err := press.Pages(handover.NewSource(h, projection.Moment{}, nil), goOn)
	require.NoError(t, err)
	return pages
}

// Whatever order the log came in, and however often it is rendered, the pages are
// the same, byte for byte.
func TestPagesHangOnTheLogAlone(t *testing.T) {
	s := job()
	want := pagesOf(t, s.History())
	require.GreaterOrEqual(t, len(want), 4)
	rapid.Check(t, func(t *rapid.T) {
		h := &projection.History{Site: s.Site}
		h.Add(rapid.Permutation(s.Events()).Draw(t, "order of arrival")...)
		for i, f := range pagesOf(t, h) {
			require.Equal(t, want[i].Name, f.Name)
			require.True(t, bytes.Equal(want[i].Content, f.Content), f.Name)
		}
	})
}

func TestPagesAreThoseOfAPack(t *testing.T) {
	src := handover.NewSource(job().History(), projection.Moment{}, nil)
	var steps []press.Step
	pages, asks, err := press.Pages(src, func(s press.Step) error { steps = append(steps, s); return nil })
	require.NoError(t, err)
	require.Len(t, steps, press.Steps)
	require.NotEmpty(t, asks)
	_, err = handover.Bind(src, pages, press.Tools(), func(string) ([]byte, error) { return nil, nil })
	require.NoError(t, err, "none is missing, and none has a name that no pack has")
	for name, begins := range map[string]string{"report.pdf": "%PDF-", "report.html": "<!doctype html>", "cobie.xlsx": "PK\x03\x04"} {
		i := slices.IndexFunc(pages, func(f handover.File) bool { return f.Name == name })
		require.GreaterOrEqual(t, i, 0, name)
		require.True(t, bytes.HasPrefix(bytes.ToLower(pages[i].Content), bytes.ToLower([]byte(begins))), name)
	}
}

func TestWhoeverGivesUpIsHeardBeforeEachStep(t *testing.T) {
	enough := errors.New("enough")
	src := handover.NewSource(job().History(), projection.Moment{}, nil)
	for n := range press.Steps {
		left := n
		_, _, err := press.Pages(src, func(press.Step) error {
			if left--; left < 0 {
				return enough
			}
			return nil
		})
		require.ErrorIs(t, err, enough)
	}
}
