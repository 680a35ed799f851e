package between_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/between"
	"pairwalk/projection/tale"
)

// knownTo is a moment as one member knew it then.
func knownTo(who *tale.Teller, clock string) projection.Moment {
	return projection.Moment{When: events.Some(tale.T(clock)), Known: projection.Known{Member: who.Key, At: events.Some(tale.T(clock))}}
}

// Ada walks on without knowing that Ben switched a breaker off.
func TestWhatOneMemberDidNotKnow(t *testing.T) {
	s := shed()
	ada, ben := s.Join("Ada", events.Tech), s.Join("Ben", events.Tech)
	meet(s.Lead, ada, ben)
	ada.Say("09:40", events.NoteAdded{Of: lamp1, Text: "dusty"})
	s.Lead.Hear(ada)
	off := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("10:05", events.NoteAdded{Of: lamp2, Text: "dusty too"})
	ada.Say("10:10", events.NoteAdded{Of: lamp3, Text: "clean"})

	all := between.Changes(s.History(), knownTo(ada, "10:30"), at("10:30"), between.About{})
	power := only(t, all, events.Circuit("C1"), between.Power)
	told(t, power, "on", "off", off)
	require.Equal(t, "not known to Ada at the first moment", power.Why)
	require.Contains(t, power.Knew, "nothing shows that Ada and Ben have it")
	path := only(t, all, lamp3, between.Path)
	require.Equal(t, off.Ref(), path.Cause.Ref(), "found among what Ada did not know")

	ada.Hear(s.Lead)
	ada.Say("11:00", events.NoteAdded{Of: lamp3, Text: "still clean"})
	require.Empty(t, between.Changes(s.History(), knownTo(ada, "11:00"), at("11:00"), between.About{}))
	later := only(t, between.Changes(s.History(), at("09:50"), at("11:30"), between.About{}), events.Circuit("C1"), between.Power)
	require.Contains(t, later.Knew, "Ada is first known to have it at 2026-03-02 11:00")
	sooner := only(t, between.Changes(s.History(), at("09:50"), at("10:30"), between.About{}), events.Circuit("C1"), between.Power)
	require.Contains(t, sooner.Knew, "nothing shows that Ada and Ben have it", "who knew is told up to the second moment")
}

// What each of two knew, and neither all of it.
func TestBetweenTwoWhoEachKnewAPart(t *testing.T) {
	s := shed()
	ada, ben := s.Join("Ada", events.Tech), s.Join("Ben", events.Tech)
	meet(s.Lead, ada, ben)
	hers := ada.Say("10:00", events.HoldPlaced{Of: lamp1, Why: "wet"})
	his := ben.Say("10:01", events.HoldPlaced{Of: lamp2, Why: "dry"})
	all := between.Changes(s.History(), knownTo(ada, "11:00"), knownTo(ben, "11:00"), between.About{})
	told(t, only(t, all, lamp2, between.Hold), "no hold", "held: dry", his)
	gone := only(t, all, lamp1, between.Hold)
	told(t, gone, "held: wet", "no hold", hers)
	require.Equal(t, "by an entry that is not known at the second moment", gone.Why)
}

func TestBelievedThenAndWithdrawnSince(t *testing.T) {
	s := shed()
	wrong := s.Lead.Say("10:00", events.FaultFound{Of: lamp2, Symptom: "flickers", Severity: events.Minor})
	void := s.Lead.Say("12:00", events.EventVoided{Event: wrong.Ref(), Why: events.DidNotHappen})
	c := only(t, differing(s, "11:00", "13:00"), lamp2, between.Withdrawn)
	told(t, c, wrong.Payload.String(), "withdrawn: did-not-happen", void)
	require.Empty(t, differing(s, "09:50", "11:00"), "it never happened, and nobody took it back in between")
}

// What rested on an entry that a member did not know to be withdrawn.
func TestAWithdrawalThatAMemberDidNotKnow(t *testing.T) {
	s := shed()
	ada := s.Join("Ada", events.Tech)
	skip := s.Lead.Say("10:00", events.DeviceRefused{Device: "1-2", Why: events.NoAnswer})
	meet(s.Lead, ada)
	ada.Say("10:30", events.NoteAdded{Of: lamp3, Text: "clean"})
	void := s.Lead.Say("11:00", events.EventVoided{Event: skip.Ref(), Why: events.DidNotHappen})
	c := only(t, between.Changes(s.History(), knownTo(ada, "12:00"), at("12:00"), between.About{}), lamp2, between.Mark)
	told(t, c, "refused", "", void)
	require.Equal(t, "it rested on an entry withdrawn since", c.Why)
}

func TestACorrectionIsNamedAsOne(t *testing.T) {
	s := shed()
	fit := s.Lead.Say("10:00", events.DeviceReplaced{Device: "1-1", Old: "S1", New: "S7", Why: "broken"})
	void := s.Lead.Say("12:00", events.EventVoided{Event: fit.Ref(), Why: events.WrongDetail})
	again := s.Lead.Say("12:00", events.DeviceReplaced{Device: "1-1", Old: "S1", New: "S8", Why: "broken"}, tale.When("10:00", "10:00"))
	told(t, only(t, differing(s, "11:00", "13:00"), lamp1, between.Withdrawn), fit.Payload.String(), "corrected: "+again.Payload.String(), void)
}

func TestPeopleAndSettings(t *testing.T) {
	s := shed()
	bo, invite := s.JoinPending("bo", events.Tech)
	s.Lead.Hear(bo)
	in := s.Lead.Say("10:00", events.MemberAdmitted{Key: bo.Key, Invite: invite})
	set := s.Lead.Say("10:01", events.SettingsChanged{Set: map[events.SettingKey]string{events.HeardMinutes: "5"}})
	all := differing(s, "09:50", "10:30")
	told(t, only(t, all, events.Member(bo.Key), between.Membering), "provisional", "admitted", in)
	told(t, only(t, all, events.Site(), between.Setting), "heard_minutes 1", "heard_minutes 5", set)

	out := s.Lead.Say("11:00", events.MemberRevoked{Key: bo.Key, Heads: tale.Cut(bo), Why: "left"})
	told(t, only(t, differing(s, "10:30", "11:30"), events.Member(bo.Key), between.Membering), "admitted", "revoked: left", out)
}

func TestASettingThatAMemberDidNotKnow(t *testing.T) {
	s := shed()
	ada := s.Join("Ada", events.Tech)
	set := s.Lead.Say("09:30", events.SettingsChanged{Set: map[events.SettingKey]string{events.HeardMinutes: "5"}})
	ada.Say("10:00", events.NoteAdded{Of: lamp3, Text: "clean"})
	c := only(t, between.Changes(s.History(), knownTo(ada, "10:30"), at("10:30"), between.About{}), events.Site(), between.Setting)
	told(t, c, "heard_minutes 1", "heard_minutes 5", set)
	require.Equal(t, "not known to Ada at the first moment", c.Why)
}

// A conflict about a renamed device is the same conflict.
func TestARenamedDeviceKeepsItsConflicts(t *testing.T) {
	s := shed()
	s.Lead.Say("10:00", events.DeviceFitted{Device: "1-2", Serial: "S9"})
	s.Lead.Say("10:20", events.DeviceRenamed{From: "1-2", To: "1-22"})
	require.Equal(t, events.Device("1-22"), only(t, differing(s, "09:50", "10:10"), events.Device("1-22"), between.Conflict).Of)
	for _, c := range differing(s, "10:10", "10:30") {
		require.Equal(t, between.Renamed, c.What, c.Words)
	}
}

func TestConflictsOpenedAndClosed(t *testing.T) {
	s := shed()
	s.Lead.Say("10:00", events.DeviceFitted{Device: "1-2", Serial: "S2"})
	two := s.Lead.Say("10:10", events.DeviceFitted{Device: "1-3", Serial: "S2"})
	opened := only(t, differing(s, "10:05", "10:30"), lamp2, between.Conflict)
	require.Equal(t, "no conflict", opened.Before)
	require.Equal(t, two.Ref(), opened.Cause.Ref())

	key := ""
	for _, c := range s.Now().Conflicts {
		if c.Kind == projection.SerialTwice {
			key = c.Key
		}
	}
	closed := s.Lead.Say("11:00", events.ConflictResolved{Key: key, Stands: "1-2", Why: "read the label"})
	c := only(t, differing(s, "10:30", "11:30"), lamp2, between.Conflict)
	told(t, c, "open: serial S2 is written down at 1-2 and 1-3; one unit sits in one place", "resolved: read the label; what stands: it sits at 1-2", closed)
	found := false
	for _, p := range between.Passing(s.History(), at("10:05"), at("11:30"), between.About{}) {
		if p.What == between.Conflict {
			found = true
			require.Equal(t, two.Ref(), p.Began.Ref())
			require.Equal(t, closed.Ref(), p.Ended.Ref())
			require.Contains(t, p.Words, "conflict from 2026-03-02 10:10 to 11:00")
		}
	}
	require.True(t, found)
}

// A channel is changed, and the push that follows puts it right.
func TestAConflictThatAnEntryCured(t *testing.T) {
	s := shed()
	s.Lead.Say("09:20", events.PushDone{Hub: "H1", Program: "r1"})
	changed := s.Lead.Say("10:00", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20})
	pushed := s.Lead.Say("10:30", events.PushDone{Hub: "H1", Program: "r1"})
	var found []between.Passage
	for _, p := range between.Passing(s.History(), at("09:50"), at("11:00"), between.About{}) {
		if p.What == between.Conflict {
			found = append(found, p)
		}
	}
	require.Len(t, found, 1)
	require.Equal(t, hub1, found[0].Of)
	require.Equal(t, [2]events.Ref{changed.Ref(), pushed.Ref()}, [2]events.Ref{found[0].Began.Ref(), found[0].Ended.Ref()})
	require.Contains(t, found[0].Words, "H1: conflict from 2026-03-02 10:00 to 10:30: ")
	require.Empty(t, between.Passing(s.History(), at("10:10"), at("10:20"), between.About{}), "it stood at both")
}

func meet(tellers ...*tale.Teller) {
	for range 2 {
		for _, x := range tellers {
			x.Hear(tellers...)
		}
	}
}

// What cut a device off first did it, whatever cut it off again.
func TestTheFirstOfTwoCutsDidIt(t *testing.T) {
	s := shed()
	first := s.Lead.Say("10:00", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("10:10", events.PowerOff{Of: events.Circuit("C9"), Dark: []events.Tag{"1-1"}})
	told(t, only(t, differing(s, "09:30", "11:00"), events.Device("1-1"), between.Power), "on", "dark", first)
}
