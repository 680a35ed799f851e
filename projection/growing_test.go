package projection_test

import (
	"encoding/json"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// asked asks for the course and for what is told after each entry of a story, and
// holds every answer against a history that was asked nothing before.
func asked(t *testing.T, s *tale.Story) {
	t.Helper()
	h := &projection.History{Site: s.Site}
	h.SetPace(1)
	var last *projection.Course
	var turns []projection.Turn
	for i, e := range s.Events() {
		h.Add(e)
		fresh := &projection.History{Site: s.Site}
		fresh.Add(s.Events()[:i+1]...)
		got := h.Course(projection.Known{})
		requireSameCourse(t, fresh.Course(projection.Known{}), got, "after %s", e.Payload)
		require.Equal(t, fresh.Told(projection.Moment{}), h.Told(projection.Moment{}), "after %s", e.Payload)
		if last != nil {
			require.Equal(t, turns, last.Turns, "what was told before %s stays as it was", e.Payload)
		}
		last, turns = got, slices.Clone(got.Turns)
	}
}

// A late entry about an old tag means the position that was called so then; one that
// comes later the one that is called so now.
func TestALateEntryAmongRenames(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", paired("1-1", "H1"))
	s.Lead.Say("09:10", events.DeviceRenamed{From: "1-1", To: "2-1"})
	s.Lead.Say("09:15", events.NoteAdded{Of: events.Device("1-1"), Text: "an old drawing"})
	s.Lead.Say("09:20", lamp("1-1", "H1"))
	s.Lead.Say("09:25", paired("1-1", "H1"))
	s.Lead.Say("10:00", paired("1-1", "H1"), tale.When("09:05", "09:05"))
	s.Lead.Say("10:01", events.NoteAdded{Of: events.Device("1-1"), Text: "as it is"}, tale.When("09:30", "09:30"))
	s.Lead.Say("10:02", events.FaultFound{Of: events.Device("2-1"), Symptom: "dark", Severity: events.Minor}, tale.When("09:12", "09:12"))
	asked(t, s)
}

// What a course marks is of a position by the name that it has now.
func TestAMarkIsCalledAnew(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", events.HoldPlaced{Of: events.Device("1-1"), Why: "work"})
	s.Lead.Say("09:10", events.DeviceRenamed{From: "1-1", To: "2-1"})
	s.Lead.Say("09:20", events.FaultFound{Of: events.Device("2-1"), Symptom: "dark", Severity: events.Minor})
	s.Lead.Say("09:30", events.DeviceRenamed{From: "2-1", To: "3-1"})
	asked(t, s)
}

// What comes late changes the turns after it, and nothing that was told before.
func TestALateEntryAmongTurns(t *testing.T) {
	s := job()
	s.Lead.Say("09:00", events.HoldPlaced{Of: events.Hub("H1"), Why: "work"})
	s.Lead.Say("09:10", events.HoldLifted{Of: events.Hub("H1")})
	fault := s.Lead.Say("09:20", events.FaultFound{Of: events.Device("1-2"), Symptom: "dark", Severity: events.Minor})
	s.Lead.Say("10:00", events.DeviceSkipped{Device: "1-1", Why: events.NoAccess}, tale.When("09:05", "09:05"))
	s.Lead.Say("10:01", events.FaultCleared{Fault: fault.Ref()})
	s.Lead.Say("10:02", paired("1-3", "H1"), tale.When("09:15", "09:15"))
	s.Lead.Say("10:03", events.FaultReopened{Fault: fault.Ref(), Why: "again"})
	asked(t, s)
}

// A resolution says on which of several devices a serial is; whoever writes it down
// on another one later draws that device into the clash with all that it went through.
func TestADeviceComesIntoAClashLater(t *testing.T) {
	s := job()
	first := s.Lead.Say("09:00", events.DeviceFitted{Device: "1-1", Serial: "S7"})
	s.Lead.Say("09:01", events.DeviceFitted{Device: "1-2", Serial: "S7"})
	s.Lead.Say("09:02", events.DeviceFitted{Device: "1-3", Serial: "S9"})
	open := conflict(t, s.Now(), projection.SerialTwice)
	s.Lead.Say("10:00", events.ConflictResolved{Key: open.Key, Stands: first.Ref().String(), Why: "seen"})
	s.Lead.Say("10:10", paired("1-3", "H1"))
	s.Lead.Say("10:20", events.DeviceFitted{Device: "1-3", Serial: "S7"})
	s.Lead.Say("10:30", events.DeviceReplaced{Device: "1-2", Old: "S7", New: "S8", Why: "damaged"})
	asked(t, s)
}

// What was done to one thing over and over is held once, and not once for each stage:
// four times as many programs and pairings take some four times the memory.
func TestALongPastIsHeldOnce(t *testing.T) {
	taken := func(times int) uint64 {
		s := job()
		for i := range times {
			at := tale.T("09:00") + events.Instant(1000*i)
			s.Lead.SayAt(at, events.HubLoaded{Hub: "H1", Program: "r2", All: true})
			s.Lead.SayAt(at+500, paired("1-1", "H1"))
		}
		h := s.History()
		h.SetPace(16)
		h.Ordered()
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		h.At(projection.Moment{})
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	few, many := taken(1_000), taken(4_000)
	require.Less(t, many, 6*few)
}

// A circuit that an entry was the first to name is there from then on, and for nobody
// who asks of a time before.
func TestACircuitIsThereOnceItIsNamed(t *testing.T) {
	s := job()
	notes := func(clock string) {
		for range 100 { // so that there are stages before and after
			s.Lead.Say(clock, events.NoteAdded{Of: events.Site(), Text: "on my way"})
		}
	}
	s.Lead.Say("08:50", events.PowerOff{Of: events.Circuit("C1"), Dark: []events.Tag{"1-3"}})
	notes("09:00")
	s.Lead.Say("09:30", events.PowerOff{Of: events.Circuit("C9"), Dark: []events.Tag{"1-1"}})
	notes("10:00")
	h := s.History()
	h.SetPace(1)
	named := func(clock string, circuit events.CircuitID) bool {
		m := projection.At(tale.T(clock))
		requireSame(t, s.History().At(m), h.At(m), clock)
		return slices.ContainsFunc(h.At(m).Circuits, func(c projection.Circuit) bool { return c.ID == circuit })
	}
	for range 2 {
		for _, clock := range []string{"10:00", "09:30", "09:29", "09:00", "09:31"} {
			require.Equal(t, clock >= "09:30", named(clock, "C9"), clock)
		}
	}
	h.Add(*s.Lead.Say("10:30", events.PowerOff{Of: events.Circuit("C8"), Dark: []events.Tag{"1-2"}}, tale.When("09:10", "09:10")))
	for _, clock := range []string{"10:00", "09:30", "09:11", "09:09", "09:00", "09:31"} {
		require.Equal(t, clock >= "09:10", named(clock, "C8"), clock)
	}
}

// A site that was handed out stays as it was, whatever comes after it and wherever that
// belongs: what folds share of a hub or a fault is none that one of them writes.
func TestASiteStaysAsItWas(t *testing.T) {
	s := job()
	fault := s.Lead.Say("08:30", events.FaultFound{Of: events.Device("1-2"), Symptom: "dark", Severity: events.Minor}).Ref()
	assigned := events.HubAssigned{Hub: "H1", Member: s.Lead.Key}
	ended := events.HubAssigned{Hub: "H1", Member: s.Lead.Key, Ended: true}
	tuned := func(n int) events.HubChannel { return events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: n} }
	for i, clock := range []string{"08:40", "08:50", "09:00", "09:10", "09:20", "09:30"} {
		s.Lead.Say(clock, []events.Payload{events.FaultCleared{Fault: fault, Action: "driver changed"}, events.FaultReopened{Fault: fault, Why: "dark again"}}[i%2])
		s.Lead.Say(clock, []events.Payload{assigned, ended}[i%2])
		s.Lead.Say(clock, tuned(20+i))
		for _, tag := range []events.Tag{"1-1", "1-3"} { // for stages in between
			s.Lead.Say(clock, events.DeviceHeard{Device: tag, Hub: "H1"})
			s.Lead.Say(clock, events.DeviceSkipped{Device: tag, Why: events.NoAccess})
		}
	}
	for _, when := range []string{"09:25", "09:15", "09:05", "08:55", "08:45"} {
		late := tale.When(when, when)
		s.Lead.Say("10:00", events.FaultReopened{Fault: fault, Why: "flickers"}, late)
		s.Lead.Say("10:00", assigned, late)
		s.Lead.Say("10:00", ended, late)
		s.Lead.Say("10:00", tuned(11), late)
	}
	h := &projection.History{Site: s.Site}
	h.SetPace(1)
	written := func(site *projection.Site) string {
		b, err := json.Marshal(site)
		require.NoError(t, err)
		return string(b)
	}
	was := map[*projection.Site]string{}
	for i, e := range s.Events() {
		h.Add(e)
		fresh := &projection.History{Site: s.Site}
		fresh.Add(s.Events()[:i+1]...)
		for _, moment := range []projection.Moment{projection.At(tale.T("08:52")), projection.At(tale.T("09:12")), projection.At(tale.T("09:22")), {}} {
			site := h.At(moment)
			was[site] = written(site)
			require.Equal(t, written(fresh.At(moment)), was[site], "after %s", e.Payload)
		}
	}
	for site, words := range was {
		require.Equal(t, words, written(site))
	}
}
