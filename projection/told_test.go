package projection_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/projection/tale/chance"
)

func TestToldListsEverythingInSiteTime(t *testing.T) {
	s, bo := duo()
	late := bo.Say("11:00", paired("1-1", "H1"), tale.When("09:00", "09:00"), tale.By("an apprentice"))
	now := bo.Say("10:00", events.DeviceFitted{Device: "1-1", Serial: "S1"})
	void := bo.Say("11:01", events.EventVoided{Event: now.Ref(), Why: events.WrongDetail, Note: "other lamp"})
	gus := s.Stranger("gus")
	strange := gus.Say("09:30", events.HubReady{Hub: "H1"})
	odd := bo.Mumble("11:02")

	h := s.History()
	all := h.Told(projection.Moment{})
	require.Len(t, all, h.Len())
	for i := range all[1:] {
		require.LessOrEqual(t, all[i].At, all[i+1].At)
	}
	told := func(e *events.Event) projection.Told { return cause(t, s, e) }
	require.Equal(t, tale.T("09:00"), told(late).At)
	require.Equal(t, tale.T("11:00"), told(late).Said)
	require.Equal(t, "an apprentice", told(late).By)
	require.Equal(t, "wrong-detail: other lamp", told(now).Withdrawn)
	require.Equal(t, []events.Subject{events.Device("1-1")}, told(void).Subjects, "a void is about what its target is about")
	require.NotEmpty(t, told(strange).Quarantined)
	require.Equal(t, gus.Key.Short(), told(strange).By)
	require.Empty(t, told(odd).Subjects)
	for _, x := range h.Told(projection.At(tale.T("09:15"))) {
		require.LessOrEqual(t, x.At, tale.T("09:15"))
	}
	require.Empty(t, h.Told(projection.Moment{Known: projection.Known{Member: gus.Key}})[0].Withdrawn)
}

func TestToldUsesTodaysNames(t *testing.T) {
	s := job()
	first := s.Lead.Say("09:00", paired("1-1", "H1"))
	fault := s.Lead.Say("09:01", events.FaultFound{Of: events.Device("1-1"), Symptom: "dark", Severity: events.Minor})
	s.Lead.Say("09:10", events.DeviceRenamed{From: "1-1", To: "2-1"})
	old := s.Lead.Say("09:11", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	s.Lead.Say("09:20", lamp("1-1", "H1"))
	second := s.Lead.Say("09:21", paired("1-1", "H1"))
	s.Lead.Say("09:30", events.DeviceRenamed{From: "2-1", To: "3-1"})
	cleared := s.Lead.Say("09:31", events.FaultCleared{Fault: fault.Ref()})

	for e, tag := range map[*events.Event]events.Tag{first: "3-1", fault: "3-1", old: "3-1", second: "1-1", cleared: "3-1"} {
		require.Contains(t, cause(t, s, e).Subjects, events.Device(tag), e.Payload)
	}
}

// What is told as the story comes in, entry by entry and in any order, is what a
// history tells that holds all of it at once; and each entry by itself as in the list.
func TestTellingGoesOnAsTheLogGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		story := chance.Story(t)
		said := story.Events()
		if rapid.Bool().Draw(t, "jumbled") {
			shuffle(t, said)
		}
		h := &projection.History{Site: story.Site}
		m := chance.Moment(t, story.Now())
		for n := range said {
			h.Add(said[n])
			got, all := h.Told(m), h.Tell(m)
			if n%8 < 7 && n < len(said)-1 {
				continue
			}
			fresh := &projection.History{Site: story.Site}
			fresh.Add(said[:n+1]...)
			require.Equal(t, fresh.Told(m), got)
			for i := range got {
				require.Equal(t, got[i].Event, all.Event(i))
				require.Equal(t, got[i].Subjects, all.Subjects(i))
			}
		}
	})
}
