package projection_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// wired is a job whose lamps 1-1 and 1-2 are scheduled on circuit C1; 1-3 is on
// none, as far as anybody knows.
func wired() *tale.Story {
	s := job()
	for _, tag := range []events.Tag{"1-1", "1-2"} {
		row := lamp(tag, "H1")
		row.Circuit = "C1"
		s.Lead.Say("08:10", row)
	}
	return s
}

func dark(site *projection.Site) []events.Tag {
	var out []events.Tag
	for i := range site.Devices {
		if site.Devices[i].Dark != nil {
			out = append(out, site.Devices[i].Device)
		}
	}
	return out
}

func TestCircuitsAreLearnedFromWhatGoesDark(t *testing.T) {
	s := wired()
	off := s.Lead.Say("09:00", events.PowerOff{Of: events.Circuit("C1"), Dark: []events.Tag{"1-2", "1-3"}})
	site := s.Now()
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, dark(site), "as scheduled, and as seen")
	requireCause(t, off, device(t, site, "1-3").Dark)
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, site.Circuits[0].Feeds)
	require.Equal(t, []events.Tag{"1-3"}, site.Circuits[0].Learned)
	requireCause(t, off, site.Circuits[0].Off)
	require.Len(t, hub(t, site, "H1").Power, 1)

	s.Lead.Say("09:10", events.PowerOn{Of: events.Circuit("C1")})
	site = s.Now()
	require.Empty(t, dark(site))
	require.Nil(t, site.Circuits[0].Off)
	require.Equal(t, []bool{false, true}, []bool{hub(t, site, "H1").Power[0].On, hub(t, site, "H1").Power[1].On})

	s.Lead.Say("09:20", events.PowerOff{Of: events.Circuit("C1")})
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, dark(s.Now()), "and it remembers")

	row := lamp("1-3", "H1")
	row.Circuit = "C2"
	s.Lead.Say("10:00", row)
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, s.Now().Circuits[0].Feeds, "a row takes nothing from what was seen")
}

func TestADeviceIsDarkWithWhateverStillKeepsItSo(t *testing.T) {
	s := wired()
	own := s.Lead.Say("09:00", events.PowerOff{Of: events.Device("1-1")})
	s.Lead.Say("09:01", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("09:02", events.PowerOn{Of: events.Circuit("C1")})
	site := s.Now()
	require.Equal(t, []events.Tag{"1-1"}, dark(site), "its own switch is off still")
	requireCause(t, own, device(t, site, "1-1").Dark)
	s.Lead.Say("09:03", events.PowerOn{Of: events.Device("1-1")})
	require.Empty(t, dark(s.Now()))

	s.Lead.Say("09:10", events.PowerOff{Of: events.Circuit("C1")})
	s.Lead.Say("09:11", events.PowerOn{Of: events.Device("1-1")})
	require.Equal(t, []events.Tag{"1-2"}, dark(s.Now()), "who sees one lit is believed")

	s.Lead.Say("09:20", events.PowerOff{Of: events.Device("1-3"), Dark: []events.Tag{"1-1"}})
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, dark(s.Now()))
	s.Lead.Say("09:21", events.PowerOn{Of: events.Device("1-3")})
	require.Equal(t, []events.Tag{"1-2"}, dark(s.Now()), "what went with it comes back with it")
}

func TestPowerIsToldToTheHubsItTouches(t *testing.T) {
	s := wired()
	s.Lead.Say("08:20", events.HubListed{Hub: "H2", Circuit: "C2"})
	s.Lead.Say("08:21", star("2-1", "H2"))
	s.Lead.Say("09:00", events.PowerOff{Of: events.Circuit("C2")})
	s.Lead.Say("09:01", events.PowerOff{Of: events.Device("2-1")})
	site := s.Now()
	require.Empty(t, hub(t, site, "H1").Power)
	require.Len(t, hub(t, site, "H2").Power, 1, "its own supply; a star device is no part of a mesh")
}

func TestHoldsAtAllLevels(t *testing.T) {
	subjects := map[string]events.Subject{
		"site": events.Site(), "hub": events.Hub("H1"), "floor": events.Floor("1"),
		"room": events.Room("101"), "circuit": events.Circuit("C1"), "device": events.Device("1-1"),
	}
	for name, of := range subjects {
		t.Run(name, func(t *testing.T) {
			s := tale.New()
			s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
			s.Lead.Say("08:01", events.HubListed{Hub: "H2"})
			s.Lead.Say("08:02", events.RoomListed{Room: "101", Floor: "1"})
			in, out := lamp("1-1", "H1"), lamp("2-1", "H2")
			in.Room, in.Floor, in.Circuit = "101", "1", "C1"
			s.Lead.Say("08:03", in)
			s.Lead.Say("08:04", out)
			placed := s.Lead.Say("09:00", events.HoldPlaced{Of: of, Why: "ceiling open", Who: "electrician in C3-7"})

			site := s.Now()
			require.Empty(t, site.Anomalies)
			require.Len(t, site.Holds, 1)
			requireCause(t, placed, &site.Holds[0].Placed)
			require.Equal(t, "electrician in C3-7", site.Holds[0].Who)
			require.True(t, device(t, site, "1-1").Has(projection.FlagHold))
			require.True(t, site.Holds[0].Touches(device(t, site, "1-1")))
			require.Equal(t, name == "site", device(t, site, "2-1").Has(projection.FlagHold))

			s.Lead.Say("09:10", events.HoldPlaced{Of: of, Why: "again"})
			s.Lead.Say("09:20", events.HoldLifted{Of: of})
			require.Empty(t, s.Now().Holds, "lifting ends every hold on the subject")
			require.False(t, device(t, s.Now(), "1-1").Has(projection.FlagHold))
		})
	}
}

func TestAHoldOnNothingTouchesNothing(t *testing.T) {
	s := job()
	require.False(t, projection.Hold{Of: events.Room("")}.Touches(device(t, s.Now(), "1-1")))
}

func TestTheLifeOfAFault(t *testing.T) {
	s := job()
	found := s.Lead.Say("09:00", events.FaultFound{Of: events.Device("1-1"), Symptom: "flickers", Severity: events.Major, Trade: "electrical"})
	assigned := s.Lead.Say("09:10", events.FaultAssigned{Fault: found.Ref(), Owner: "site electrician", Action: "swap the driver"})
	cleared := s.Lead.Say("10:00", events.FaultCleared{Fault: found.Ref(), Action: "swapped"})
	reopened := s.Lead.Say("11:00", events.FaultReopened{Fault: found.Ref(), Why: "again"})

	x := at(s, "09:30").Faults[0]
	require.True(t, x.Open())
	requireCause(t, found, &x.Found)
	requireCause(t, assigned, x.Assigned)
	require.Equal(t, []string{"flickers", "electrical", "site electrician", "swap the driver"}, []string{x.Symptom, x.Trade, x.Owner, x.Action})
	x = at(s, "10:30").Faults[0]
	require.False(t, x.Open())
	requireCause(t, cleared, x.Cleared)
	require.Equal(t, "swapped", x.Action)
	x = s.Now().Faults[0]
	require.True(t, x.Open())
	requireCause(t, reopened, x.Reopened)
	require.Len(t, x.Steps, 4)
	for i, e := range []*events.Event{found, assigned, cleared, reopened} {
		requireCause(t, e, x.Steps[i])
	}
}

func TestTheRestOfTheSchedule(t *testing.T) {
	s := tale.New()
	s.Lead.Say("08:01", events.FloorListed{Floor: "2", Level: 2})
	s.Lead.Say("08:02", events.FloorListed{Floor: "B1", Level: -1})
	s.Lead.Say("08:03", events.RoomListed{Room: "2-10", Floor: "2"})
	s.Lead.Say("08:04", events.RoomListed{Room: "2-9", Floor: "2"})
	s.Lead.Say("08:05", events.WallListed{Wall: "w1", Floor: "2", Material: "brick", Thickness: 100, Line: []events.XY{{}, {X: 1}}})
	s.Lead.Say("08:06", events.TestPlanned{Room: "2-9", Test: events.TestEgress})
	s.Lead.Say("08:07", events.WifiSurveyed{Floor: "2", Heard: []events.AccessPoint{{Channel: 6, Width: 20, RSSI: -60}}})
	s.Lead.Say("08:08", events.DrawingPlaced{Floor: "2", Picture: events.Picture{SHA256: events.HashOf(nil).String(), Bytes: 1, Type: "image/png"}, Pixel: 1})
	for _, tag := range []events.Tag{"2-10", "2-9", "10-1"} {
		s.Lead.Say("08:09", lamp(tag, "H1"))
	}
	s.Lead.Say("08:00", events.HubListed{Hub: "H1"}, tale.When("08:00", "08:00"))
	site := s.Now()
	require.Empty(t, site.Anomalies)
	require.Equal(t, []events.FloorID{"B1", "2"}, []events.FloorID{site.Floors[0].Floor, site.Floors[1].Floor}, "from the bottom up")
	require.Equal(t, []events.RoomID{"2-9", "2-10"}, []events.RoomID{site.Rooms[0].Room, site.Rooms[1].Room}, "in natural order")
	require.Equal(t, []events.Tag{"2-9", "2-10", "10-1"}, []events.Tag{site.Devices[0].Device, site.Devices[1].Device, site.Devices[2].Device})
	require.Len(t, site.Walls, 1)
	require.Len(t, site.Plans, 1)
	require.Len(t, site.Surveys, 1)
	require.Len(t, site.Drawings, 1)
	require.Equal(t, "Lime Works", site.Name)
	require.True(t, site.Practice)
	require.Equal(t, "UTC", site.Location().String())
	require.NotZero(t, site.Opened.Event)

	s.Lead.Say("09:00", events.WallStruck{Wall: "w1"})
	s.Lead.Say("09:01", events.RoomStruck{Room: "2-9"})
	s.Lead.Say("09:02", events.FloorStruck{Floor: "B1"})
	site = s.Now()
	require.Empty(t, site.Walls)
	require.Len(t, site.Rooms, 1)
	require.Len(t, site.Floors, 1)
}

func TestPhotosNotesAndSignaturesAreFacts(t *testing.T) {
	s := wired()
	picture := events.Picture{SHA256: strings.Repeat("a", 64), Bytes: 9, Type: "image/png"}
	photo := s.Lead.Say("09:00", events.PhotoAdded{Of: events.Device("1-1"), Picture: picture, Caption: "label"})
	note := s.Lead.Say("09:01", events.NoteAdded{Of: events.Device("1-1"), Text: "tight"})
	s.Lead.Say("09:02", events.DeviceRenamed{From: "1-1", To: "1-9"})
	signed := s.Lead.Say("17:00", events.WorkSigned{Of: events.Site(), Scope: "handed over", Signer: "Lee", As: "lead"})
	site := s.Now()
	require.Equal(t, []events.Subject{events.Device("1-9"), events.Device("1-9")}, []events.Subject{site.Photos[0].Of, site.Notes[0].Of}, "by today's name")
	require.Equal(t, picture, site.Photos[0].Picture)
	require.Equal(t, "handed over", site.Signed[0].Scope)
	requireCause(t, photo, &site.Photos[0].Added)
	requireCause(t, note, &site.Notes[0].Noted)
	requireCause(t, signed, &site.Signed[0].Signed)

	s.Lead.Say("17:01", events.EventVoided{Event: signed.Ref(), Why: events.DidNotHappen})
	require.Empty(t, s.Now().Signed)
}

func TestWhatADeviceIsWithin(t *testing.T) {
	s := wired()
	row := lamp("1-2", "H1")
	row.Room, row.Floor, row.Circuit = "1.02", "1", "C1"
	s.Lead.Say("08:20", row)
	s.Lead.Say("09:00", paired("1-2", "H2"))
	s.Lead.Say("09:10", events.PowerOff{Of: events.Circuit("C9"), Dark: []events.Tag{"1-2"}})
	site := s.Now()
	d := device(t, site, "1-2")
	for _, of := range []events.Subject{
		events.Device("1-2"), events.Room("1.02"), events.Floor("1"), events.Circuit("C1"), events.Circuit("C9"), events.Hub("H1"), events.Hub("H2"),
	} {
		require.True(t, site.Within(d, of), "%s", of)
		require.False(t, site.Within(device(t, site, "1-3"), of) && of != events.Hub("H1"), "%s", of)
	}
	for _, of := range []events.Subject{events.Device("1-1"), events.Room("2.02"), events.Floor("2"), events.Circuit("C2"), events.Hub("H3"), events.Site()} {
		require.False(t, site.Within(d, of), "%s", of)
	}
}

func TestALinkMayBeMeasuredBeforeItsEndsAreListed(t *testing.T) {
	s := job()
	early := s.Lead.Say("09:00", events.LinkMeasured{A: "7-7", B: "H1", RSSI: events.Some(-60)})
	require.Len(t, oddities(s.Now(), early), 1)
	s.Lead.Say("10:00", lamp("7-7", "H1"))
	require.Empty(t, oddities(s.Now(), early))
	require.Len(t, oddities(s.History().At(projection.At(tale.T("09:30"))), early), 1, "at that moment nobody knew of it")
}

func TestABatteryOutlastsItsCircuit(t *testing.T) {
	s := wired()
	row := lamp("1-3", "H1")
	row.Circuit, row.Power = "C1", events.Battery
	s.Lead.Say("08:20", row)
	s.Lead.Say("09:00", events.PowerOff{Of: events.Circuit("C1")})
	require.Equal(t, []events.Tag{"1-1", "1-2"}, dark(s.Now()))
	require.Equal(t, []events.Tag{"1-1", "1-2"}, s.Now().Circuits[0].Feeds)
	s.Lead.Say("09:10", events.PowerOff{Of: events.Circuit("C1"), Dark: []events.Tag{"1-3"}})
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, dark(s.Now()), "who sees it dark is believed")
	require.Equal(t, []events.Tag{"1-3"}, s.Now().Circuits[0].Learned)
	s.Lead.Say("09:20", events.PowerOn{Of: events.Circuit("C1")})
	require.Empty(t, dark(s.Now()))
	s.Lead.Say("09:30", events.PowerOff{Of: events.Circuit("C1")})
	require.Equal(t, []events.Tag{"1-1", "1-2", "1-3"}, dark(s.Now()), "and it remembers")

	row = lamp("1-2", "H1")
	row.Circuit, row.Power = "C1", events.Battery
	s.Lead.Say("10:00", row)
	require.Equal(t, []events.Tag{"1-1", "1-3"}, s.Now().Circuits[0].Feeds, "the schedule says now that it runs on a battery")
}
