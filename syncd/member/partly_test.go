package member_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/syncd/member"
)

// What a name hangs on is read along with it, and the rest is not.
func TestAThreadTakesInWhatANameHangsOn(t *testing.T) {
	lamp := func(tag events.Tag, hub events.HubID, circuit events.CircuitID) events.DeviceListed {
		return events.DeviceListed{Device: tag, Is: events.Driver, Hub: hub, Radio: events.Mesh, Power: events.Mains, Circuit: circuit}
	}
	cases := []struct {
		name string
		told []events.Payload // after two hubs and two devices were listed
		last events.Payload
		by   []string
		left int // entries that nobody had to read
		want []string
	}{
		{"a hub it is scheduled on", []events.Payload{events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"}, events.HubReady{Hub: "H2"}},
			events.DevicePaired{Device: "1-1", Hub: "H1"}, []string{"1-1"}, 3, nil},
		{"a hub that holds no program", []events.Payload{events.HubReady{Hub: "H1"}},
			events.DevicePaired{Device: "1-1", Hub: "H1"}, []string{"1-1"}, 2, []string{"1-1 was paired while H1 held no program"}},
		{"a serial that is elsewhere", []events.Payload{events.DeviceFitted{Device: "1-2", Serial: "S1"}},
			events.DeviceFitted{Device: "1-1", Serial: "S1"}, []string{"1-1", "S1"}, 0, []string{"serial S1 is written down at 1-1 and 1-2; one unit sits in one place"}},
		{"a serial that was elsewhere", []events.Payload{events.DeviceFitted{Device: "1-2", Serial: "S1"}, events.DeviceReplaced{Device: "1-2", New: "S2", Why: "dead"}},
			events.DeviceFitted{Device: "1-1", Serial: "S1"}, []string{"1-1", "S1"}, 0, nil},
		{"a serial that it had", []events.Payload{events.DeviceFitted{Device: "1-1", Serial: "S1"}, events.DeviceFitted{Device: "1-2", Serial: "S1"}, lamp("1-3", "H1", ""), events.DeviceFitted{Device: "1-3", Serial: "S1"}},
			events.DeviceReplaced{Device: "1-1", Old: "S1", New: "S2", Why: "dead"}, []string{"1-1", "S2"}, 0, []string{"serial S1 is written down at 1-2 and 1-3; one unit sits in one place"}},
		{"a serial it was given by a replacement", []events.Payload{events.DeviceReplaced{Device: "1-1", New: "S1", Why: "dead"}, events.DeviceFitted{Device: "1-2", Serial: "S1"}, lamp("1-3", "H1", ""), events.DeviceFitted{Device: "1-3", Serial: "S1"}},
			events.DeviceReplaced{Device: "1-1", New: "S2", Why: "dead"}, []string{"1-1", "S2"}, 0, []string{"serial S1 is written down at 1-2 and 1-3; one unit sits in one place"}},
		{"a name it had", []events.Payload{events.DevicePaired{Device: "1-1", Hub: "H1"}, events.DeviceRenamed{From: "1-1", To: "1-9"}},
			events.DeviceRefused{Device: "1-9", Why: events.NoAnswer}, []string{"1-9"}, 2, []string{"1-9 is paired, and here it refuses"}},
		{"a name that another had taken before", []events.Payload{events.DeviceRenamed{From: "1-2", To: "1-9"}, events.DeviceRenamed{From: "1-1", To: "1-9"}, events.HubReady{Hub: "H1"}},
			events.DevicePaired{Device: "1-1", Hub: "H1"}, []string{"1-1"}, 0, []string{"1-1 was paired while H1 held no program"}},
		{"a device that cut it off, and then did not", []events.Payload{events.PowerOff{Of: events.Device("1-2"), Dark: []events.Tag{"1-1"}}, events.PowerOn{Of: events.Device("1-2")}, events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"}},
			events.DevicePaired{Device: "1-1", Hub: "H1"}, []string{"1-1"}, 0, nil},
		{"its circuit", []events.Payload{events.PowerOff{Of: events.Circuit("C1")}, events.PowerOff{Of: events.Circuit("2C1")}, events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"}},
			events.DevicePaired{Device: "1-1", Hub: "H1"}, []string{"1-1"}, 3, []string{"1-1 has no power, says the log"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := tale.New()
			bo := s.Join("bo", events.Tech)
			for _, p := range append([]events.Payload{events.HubListed{Hub: "H1"}, events.HubListed{Hub: "H2"}, lamp("1-1", "H1", "C1"), lamp("1-2", "H2", "C2")}, c.told...) {
				s.Lead.Say("09:00", p)
			}
			bo.Hear(s.Lead)
			earlier := s.Events()
			last := bo.Say("10:00", c.last)

			whole := s.History()
			before := &projection.History{Site: s.Site}
			before.Add(earlier...)
			marks := member.MarksOf(before.At(projection.Moment{}), whole.At(projection.Moment{}), []events.Event{*last})
			require.Equal(t, c.want, marks.Flagged)

			thread := projection.NewThread(c.by...)
			evs, bodies := outlined(t, earlier, thread.Wants())
			require.True(t, thread.Read(projection.Outline{Events: evs, Bodies: bodies}))
			left := 0
			for _, e := range evs {
				if _, unread := e.Payload.(events.Unread); unread {
					left++
				}
			}
			require.Equal(t, c.left, left, "entries left unread")
			part := &projection.History{Site: s.Site}
			part.Add(evs...)
			was := part.At(projection.Moment{})
			require.True(t, part.AddLast(*last))
			require.Equal(t, marks, member.MarksOf(was, part.At(projection.Moment{}), []events.Event{*last}))
		})
	}
}

// An entry by whose clock site time runs, after that was set, moves what was said
// before; and one that is told of an earlier time is not the last.
func TestWhatReachesBackIsNotLast(t *testing.T) {
	for name, say := range map[string]func(s *tale.Story, bo *tale.Teller) *events.Event{
		"site time set": func(s *tale.Story, _ *tale.Teller) *events.Event {
			s.Lead.Skew = time.Hour
			return s.Lead.Say("10:00", events.HubReady{Hub: "H1"})
		},
		"an earlier time": func(_ *tale.Story, bo *tale.Teller) *events.Event {
			return bo.Say("10:00", events.HubReady{Hub: "H1"}, tale.When("08:30", "08:40"))
		},
		"a record": func(_ *tale.Story, bo *tale.Teller) *events.Event {
			return bo.Say("10:00", events.ConflictResolved{Key: "paired-twice:1-1:00000000", Why: "asked"})
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := tale.New()
			bo := s.Join("bo", events.Tech)
			s.Lead.Say("09:00", events.HubListed{Hub: "H1"})
			bo.Hear(s.Lead)
			h := s.History()
			require.False(t, h.AddLast(*say(s, bo)))
		})
	}
	s := tale.New()
	s.Lead.Say("09:00", events.HubListed{Hub: "H1"})
	h := s.History()
	require.True(t, h.AddLast(*s.Lead.Say("10:00", events.HubReady{Hub: "H1"})))
}

// An entry before one that was not read is not the last.
func TestWhatWasNotReadMayBeLast(t *testing.T) {
	for at, last := range map[string]bool{"08:30": false, "09:30": true} {
		s := tale.New()
		bo := s.Join("bo", events.Tech)
		s.Lead.Say("08:00", events.HubListed{Hub: "H1"})
		bo.Hear(s.Lead)
		s.Lead.Say("09:00", events.HubReady{Hub: "H2"})
		thread := projection.NewThread("H1")
		evs, bodies := outlined(t, s.Events(), thread.Wants())
		require.True(t, thread.Read(projection.Outline{Events: evs, Bodies: bodies}))
		require.Equal(t, events.Unread{Of: "hub.ready"}, evs[len(evs)-1].Payload)
		h := &projection.History{Site: s.Site}
		h.Add(evs...)
		require.Equal(t, last, h.AddLast(*bo.Say(at, events.HubReady{Hub: "H1"})))
	}
}

// A name that is written with an escape can't be looked for, so all is read.
func TestANameThatCannotBeLookedForHasAllRead(t *testing.T) {
	s := tale.New()
	s.Lead.Say("09:00", events.HubListed{Hub: "H1"})
	s.Lead.Say("09:01", events.HubReady{Hub: "H1"})
	thread := projection.NewThread(`a "quoted" name`)
	evs, bodies := outlined(t, s.Events(), thread.Wants())
	require.False(t, thread.Read(projection.Outline{Events: evs, Bodies: bodies}))
	require.Equal(t, s.Events(), evs)
}
