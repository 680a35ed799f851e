package member_test

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// joined is a course and what came after its mark, as a page puts them together.
func joined(had, more member.CourseAnswer) member.CourseAnswer {
	if more.After == "" {
		return more
	}
	more.After = ""
	more.Devices = slices.Concat(had.Devices, more.Devices)
	more.Turns = slices.Concat(had.Turns, more.Turns)
	more.Marks = slices.Concat(had.Marks, more.Marks)
	return more
}

// Whoever has a course and asks for what came after it has the whole one, whatever
// was said meanwhile.
func TestACourseIsGoneOnFromItsMark(t *testing.T) {
	_, ada, ben := pairOf(t)
	r := rand.New(rand.NewPCG(7, 8))
	ada.works(r, 60)
	had := ada.Course(projection.Known{})
	require.NotEmpty(t, had.Turns)
	for n := range 12 {
		switch n % 4 {
		case 0, 1:
			ada.works(r, 5)
		case 2:
			ben.works(r, 5)
			ada.takes(ben.bundle())
		case 3:
			note := ada.log(events.FaultFound{Of: events.Device("1-009"), Symptom: "hums", Severity: events.Minor})[0]
			_, err := ada.Void(t.Context(), note.Ref(), events.DidNotHappen, "")
			require.NoError(t, err)
		}
		whole := ada.Course(projection.Known{})
		had = joined(had, ada.CourseAfter(projection.Known{}, had.Mark))
		require.Equal(t, whole, had)
	}
}

func TestACourseIsSentOnce(t *testing.T) {
	x, ada, _ := pairOf(t)
	ada.log(events.HubReady{Hub: "H1"})
	fault := ada.log(events.FaultFound{Of: events.Device("1-007"), Symptom: "hums", Severity: events.Minor})[0]
	had := ada.Course(projection.Known{})
	same := ada.CourseAfter(projection.Known{}, had.Mark)
	require.Equal(t, []string{had.Mark, had.Mark}, []string{same.After, same.Mark})
	require.Empty(t, same.Devices)
	require.Empty(t, same.Turns)
	require.Empty(t, same.Marks)
	require.Equal(t, []events.Instant{had.From, had.To}, []events.Instant{same.From, same.To})

	x.pass(time.Minute)
	ada.log(events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"}, events.PowerOff{Of: events.Device("1-006")})
	more := ada.CourseAfter(projection.Known{}, had.Mark)
	require.Equal(t, had.Mark, more.After)
	require.Len(t, more.Turns, 2)
	require.Len(t, more.Marks, 1)
	require.Equal(t, x.time, more.To)

	// What is not so any more is not gone on from, nor what nobody was told.
	_, err := ada.Void(t.Context(), fault.Ref(), events.DidNotHappen, "")
	require.NoError(t, err)
	whole := ada.Course(projection.Known{})
	for _, mark := range []string{had.Mark, more.Mark, "", "1.2.3", "-1.0.0.0000000000000000", "9999.9999.9999." + had.Mark[len(had.Mark)-16:], whole.Mark + "0"} {
		require.Equal(t, whole, ada.CourseAfter(projection.Known{}, mark), mark)
	}
	require.Equal(t, whole.Mark, ada.CourseAfter(projection.Known{}, whole.Mark).After)
}
