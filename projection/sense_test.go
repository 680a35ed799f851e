package projection_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// nonsense is an entry where it makes no sense, and what is to be said of it.
// The story has one member, the lead, and nothing on its schedule.
type nonsense struct {
	say func(lead *tale.Teller) *events.Event
	odd string
}

// plainly says a payload on the empty site.
func plainly(p events.Payload, odd string) nonsense {
	return nonsense{func(lead *tale.Teller) *events.Event { return lead.Say("09:00", p) }, odd}
}

// after says some things that make sense, then one that does not.
func after(odd string, said ...events.Payload) nonsense {
	return nonsense{func(lead *tale.Teller) (last *events.Event) {
		for _, p := range said {
			last = lead.Say("09:00", p)
		}
		return last
	}, odd}
}

// unknown names an entry that nobody has.
func unknown(lead *tale.Teller) events.Ref { return events.Ref{Feed: lead.Feed, Seq: 99} }

const offSchedule = " is not on the schedule"

func senseless() map[events.Kind]nonsense {
	picture := events.Picture{SHA256: events.HashOf(nil).String(), Bytes: 1, Type: "image/png"}
	nobody := tale.New().Stranger("nobody").Key
	row := events.DeviceListed{Device: "1-1", Is: events.Driver, Hub: "H9", Radio: events.Mesh, Power: events.Mains}
	return map[events.Kind]nonsense{
		"site.opened": {func(lead *tale.Teller) *events.Event {
			return lead.Say("09:00", events.SiteOpened{Name: "Other Works", Root: nobody, Zone: "UTC"})
		}, "the site is open already"},
		"settings.changed": plainly(settings("settle_minutes", "soon"), "set settle_minutes"),
		"feed.started":     plainly(events.FeedStarted{Why: events.NewFeed}, "begins a feed in its middle"),
		"member.joined": {func(lead *tale.Teller) *events.Event {
			return lead.Rejoin("09:00")
		}, "joined before"},
		"member.admitted":   plainly(events.MemberAdmitted{Key: nobody, Invite: nobody}, "admits somebody who has not joined"),
		"member.revoked":    plainly(events.MemberRevoked{Key: nobody, Why: "x"}, "revokes somebody who has not joined"),
		"clock.compared":    {func(lead *tale.Teller) *events.Event { return lead.Compare("09:00", lead, 0) }, "compares a clock with itself"},
		"conflict.resolved": plainly(events.ConflictResolved{Key: "paired-twice:1-1:00000000", Why: "x"}, "there is no such conflict"),
		"event.voided": {func(lead *tale.Teller) *events.Event {
			return lead.Say("09:00", events.EventVoided{Event: unknown(lead), Why: events.DidNotHappen})
		}, "withdraws an entry that is not known here"},

		"hub.assigned":   plainly(events.HubAssigned{Hub: "H9", Member: nobody}, "H9"+offSchedule),
		"member.asked":   plainly(events.MemberAsked{Hub: "H9", Member: nobody}, "is not known on this site"),
		"floor.listed":   after("is on the level of floor 1", events.FloorListed{Floor: "1", Level: 1}, events.FloorListed{Floor: "EG", Level: 1}),
		"floor.struck":   plainly(events.FloorStruck{Floor: "9"}, "floor 9 is not known"),
		"room.listed":    after("is not among the floors listed", events.FloorListed{Floor: "1", Level: 1}, events.RoomListed{Room: "901", Floor: "9"}),
		"room.struck":    plainly(events.RoomStruck{Room: "901"}, "room 901 is not known"),
		"hub.listed":     after("is not among the floors listed", events.FloorListed{Floor: "1", Level: 1}, events.HubListed{Hub: "H9", Floor: "9"}),
		"hub.struck":     plainly(events.HubStruck{Hub: "H9"}, "H9"+offSchedule),
		"device.listed":  plainly(row, "H9"+offSchedule),
		"device.struck":  plainly(events.DeviceStruck{Device: "9-9"}, "9-9"+offSchedule),
		"wall.listed":    plainly(events.WallListed{Wall: "w", Floor: "9", Material: "brick", Thickness: 1, Line: []events.XY{{}, {X: 1}}}, "floor 9 is not known"),
		"wall.struck":    plainly(events.WallStruck{Wall: "w"}, "wall w is not known"),
		"device.renamed": plainly(events.DeviceRenamed{From: "9-9", To: "9-8"}, "9-9"+offSchedule),
		"drawing.placed": plainly(events.DrawingPlaced{Floor: "9", Picture: picture, Pixel: 1}, "floor 9 is not known"),
		"device.placed":  plainly(events.DevicePlaced{Device: "9-9"}, "9-9"+offSchedule),
		"wifi.surveyed":  plainly(events.WifiSurveyed{Floor: "9"}, "floor 9 is not known"),
		"test.planned":   plainly(events.TestPlanned{Room: "901", Test: events.TestEgress}, "room 901 is not known"),
		"hub.ready":      plainly(events.HubReady{Hub: "H9"}, "is called ready with no program loaded"),
		"hub.lost":       plainly(events.HubLost{Hub: "H9", Why: "x"}, "is lost before it was ready"),
		"hub.channel":    after("has no mesh radio", events.HubListed{Hub: "H9", Radio: events.Star}, events.HubChannel{Hub: "H9", Radio: events.Mesh, Channel: 15}),
		"hub.loaded":     plainly(events.HubLoaded{Hub: "H9", Program: "r1", Lists: []events.Tag{"9-9"}}, "9-9"+offSchedule),

		"device.fitted":   plainly(fitted("9-9", "S1"), "9-9"+offSchedule),
		"device.paired":   plainly(paired("9-9", "H9"), "9-9"+offSchedule),
		"device.refused":  plainly(events.DeviceRefused{Device: "9-9", Why: events.NoAnswer}, "9-9"+offSchedule),
		"device.skipped":  plainly(events.DeviceSkipped{Device: "9-9", Why: events.NoAccess}, "9-9"+offSchedule),
		"device.unpaired": plainly(events.DeviceUnpaired{Device: "9-9", Why: "x"}, "is not paired, so it can't be unpaired"),
		"device.replaced": after("had serial S1, not S2", fitted("9-9", "S1"), events.DeviceReplaced{Device: "9-9", Old: "S2", New: "S3", Why: "x"}),
		"device.heard":    after("is heard, and not paired", row, events.DeviceHeard{Device: "1-1", Hub: "H9"}),
		"link.measured":   plainly(events.LinkMeasured{A: "9-9", B: "9-8", LQI: events.Some(1)}, "9-8"+offSchedule),
		"power.off":       after("was off already", events.PowerOff{Of: events.Circuit("C9")}, events.PowerOff{Of: events.Circuit("C9")}),
		"power.on":        plainly(events.PowerOn{Of: events.Circuit("C9")}, "was not off"),

		"hold.placed":      plainly(events.HoldPlaced{Of: events.Room("901"), Why: "x"}, "room 901 is not known"),
		"hold.lifted":      plainly(events.HoldLifted{Of: events.Site()}, "is under no hold"),
		"records.exported": after("was made before", events.RecordsExported{Export: "x1"}, events.RecordsExported{Export: "x1"}),
		"records.merged":   plainly(events.RecordsMerged{Export: "x9"}, "export x9 is not known here"),
		"push.done":        plainly(events.PushDone{Hub: "H9", Program: "r1"}, "never held program r1"),
		"push.failed":      plainly(events.PushFailed{Hub: "H9", Why: "x"}, "H9"+offSchedule),
		"fault.found":      plainly(events.FaultFound{Of: events.Device("9-9"), Symptom: "x", Severity: events.Minor}, "9-9 is not known"),
		"fault.assigned":   aboutFault(func(r events.Ref) events.Payload { return events.FaultAssigned{Fault: r, Owner: "x"} }),
		"fault.cleared":    aboutFault(func(r events.Ref) events.Payload { return events.FaultCleared{Fault: r} }),
		"fault.reopened":   aboutFault(func(r events.Ref) events.Payload { return events.FaultReopened{Fault: r, Why: "x"} }),
		"check.done":       plainly(events.CheckDone{Of: events.Room("901"), Test: events.TestEgress}, "room 901 is not known"),
		"work.signed":      plainly(events.WorkSigned{Of: events.Floor("9"), Scope: "x", Signer: "x", As: "x"}, "floor 9 is not known"),
		"note.added":       plainly(events.NoteAdded{Of: events.Circuit("C9"), Text: "x"}, "circuit C9 is not known"),
		"photo.added":      plainly(events.PhotoAdded{Of: events.Member(nobody), Picture: picture}, "is not known on this site"),
	}
}

func aboutFault(p func(events.Ref) events.Payload) nonsense {
	return nonsense{func(lead *tale.Teller) *events.Event {
		return lead.Say("09:00", p(unknown(lead)))
	}, "speaks of a fault that is not known here"}
}

// Every kind, replayed where it makes no sense, becomes an anomaly and no error.
func TestEveryKindCanBeSenseless(t *testing.T) {
	all := senseless()
	for _, kind := range events.Kinds() {
		t.Run(string(kind), func(t *testing.T) {
			row, listed := all[kind]
			require.True(t, listed, "say what makes no sense of kind %s", kind)
			s := tale.New()
			e := row.say(s.Lead)
			require.Equal(t, kind, e.Kind())

			site := s.Now()
			require.True(t, slices.ContainsFunc(oddities(site, e), func(why string) bool {
				return strings.Contains(why, row.odd)
			}), "want %q among %q", row.odd, oddities(site, e))
			require.Empty(t, doubt(site, e))
			require.Equal(t, s.Lead.Head(), site.Heads[s.Lead.Feed], "it keeps its place")
		})
	}
	require.Len(t, all, len(events.Kinds()), "a kind is listed that is none")
}

// Any kind may come alone, before anything that could give it a sense, by
// somebody unknown or by the lead.
func TestEveryKindFoldsAlone(t *testing.T) {
	for kind, row := range senseless() {
		s := tale.New()
		e := row.say(s.Lead)
		h := &projection.History{Site: s.Site}
		h.Add(*e)
		require.Equal(t, 1, h.At(projection.Moment{}).Entries, kind)

		gus := s.Stranger("gus")
		lone := gus.Say("09:00", e.Payload)
		require.NotEmpty(t, doubt(s.Now(), lone), kind)
	}
}

func TestOtherThingsThatMakeNoSense(t *testing.T) {
	tests := map[string]struct {
		said []events.Payload
		odd  string
	}{
		"pairing what never pairs": {[]events.Payload{
			events.HubListed{Hub: "H1"},
			events.DeviceListed{Device: "1-1", Is: events.Standalone, Hub: "H1", Radio: events.Mesh, Power: events.Mains}, paired("1-1", "H1"),
		}, "1-1 is a standalone, which never pairs"},
		"pairing to another hub": {[]events.Payload{
			events.HubListed{Hub: "H1"}, events.HubListed{Hub: "H2"}, lamp("1-1", "H1"), paired("1-1", "H2"),
		}, "1-1 is scheduled on H1, not H2"},
		"pairing to a hub nobody scheduled": {[]events.Payload{events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), paired("1-1", "H9")}, "H9 is not on the schedule"},
		"pairing what is struck": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), events.DeviceStruck{Device: "1-1"}, paired("1-1", "H1"),
		}, "1-1 is struck from the schedule"},
		"pairing in the dark": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), events.PowerOff{Of: events.Device("1-1")}, paired("1-1", "H1"),
		}, "1-1 has no power, says the log"},
		"striking twice": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), events.DeviceStruck{Device: "1-1"}, events.DeviceStruck{Device: "1-1"},
		}, "1-1 was struck before"},
		"striking a hub in use": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), paired("1-1", "H1"), events.HubStruck{Hub: "H1"},
		}, "H1 is struck while devices are paired to it"},
		"renaming to a tag in use": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), lamp("1-2", "H1"), events.DeviceRenamed{From: "1-1", To: "1-2"},
		}, "1-2 is on the schedule already, so 1-1 can't be called so"},
		"refusing while paired": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), paired("1-1", "H1"), events.DeviceRefused{Device: "1-1", Why: events.NoAnswer},
		}, "1-1 is paired, and here it refuses"},
		"heard by another hub": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), paired("1-1", "H1"), events.DeviceHeard{Device: "1-1", Hub: "H2"},
		}, "1-1 is heard by H2, and paired to H1"},
		"a push to what is not paired": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), events.HubLoaded{Hub: "H1", Program: "r1", All: true},
			events.PushDone{Hub: "H1", Program: "r1", Tried: []events.Tag{"1-1"}},
		}, "1-1 is in a push, and not paired"},
		"dark with the wrong circuit": {[]events.Payload{
			events.HubListed{Hub: "H1"},
			events.DeviceListed{Device: "1-1", Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Circuit: "C1"},
			events.PowerOff{Of: events.Circuit("C2"), Dark: []events.Tag{"1-1"}},
		}, "1-1 is scheduled on circuit C1, and went dark with C2"},
		"a device lit that was not dark": {[]events.Payload{
			events.HubListed{Hub: "H1"}, lamp("1-1", "H1"), events.PowerOn{Of: events.Device("1-1")},
		}, "1-1 was not off"},
		"an assignment ended that was none": {[]events.Payload{
			events.HubListed{Hub: "H1"}, events.HubAssigned{Hub: "H1", Member: tale.New().Lead.Key, Ended: true},
		}, "H1 loses a member who was not assigned to it"},
		"asking oneself": {[]events.Payload{
			events.HubListed{Hub: "H1"}, events.MemberAsked{Hub: "H1", Member: tale.New().Lead.Key},
		}, "asks themselves"},
		"a setting from a later version": {[]events.Payload{settings("from_later", "x")}, "the site setting from_later is not known to this version"},
	}
	for name, row := range tests {
		t.Run(name, func(t *testing.T) {
			s := tale.New()
			e := after("", row.said...).say(s.Lead)
			require.True(t, slices.ContainsFunc(oddities(s.Now(), e), func(why string) bool { return strings.Contains(why, row.odd) }),
				"want %q among %q", row.odd, oddities(s.Now(), e))
		})
	}
}

func TestFaultsClearedAndReopenedOutOfTurn(t *testing.T) {
	s := job()
	found := s.Lead.Say("09:00", events.FaultFound{Of: events.Device("1-1"), Symptom: "dark", Severity: events.Minor})
	open := s.Lead.Say("09:01", events.FaultReopened{Fault: found.Ref(), Why: "again"})
	s.Lead.Say("09:02", events.FaultCleared{Fault: found.Ref()})
	twice := s.Lead.Say("09:03", events.FaultCleared{Fault: found.Ref()})
	site := s.Now()
	require.Equal(t, []string{"1-1 has this fault open still"}, oddities(site, open))
	require.Equal(t, []string{"1-1 had this fault cleared before"}, oddities(site, twice))
}

func TestAnAdmissionByAnotherInvite(t *testing.T) {
	s := job()
	cy, _ := s.JoinPending("cy", events.Tech)
	e := s.Lead.Say("09:00", events.MemberAdmitted{Key: cy.Key, Invite: spareKey()})
	site := s.Now()
	require.Equal(t, []string{"the site admits a member by an invite they did not use"}, oddities(site, e))
	require.Equal(t, projection.Provisional, member(t, site, cy).Standing)
}

func TestATimeStillToCome(t *testing.T) {
	s := job()
	e := s.Lead.Say("10:00", paired("1-1", "H1"), tale.When("14:00", "14:10"))
	fine := s.Lead.Say("10:01", paired("1-2", "H1"), tale.When("09:55", "10:05"))
	site := s.Now()
	require.Len(t, oddities(site, e), 1)
	require.Contains(t, oddities(site, e)[0], "still to come")
	require.NotNil(t, device(t, site, "1-1").Paired, "it counts all the same")
	require.Empty(t, oddities(site, fine), "an interval may reach past now")
}
