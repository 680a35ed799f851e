package handover_test

import (
	"flag"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/tale"
)

var update = flag.Bool("update", false, "write the golden documents anew")

func lamp(tag events.Tag, room events.RoomID, x, y int64, circuit events.CircuitID) events.DeviceListed {
	return events.DeviceListed{
		Device: tag, Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "1", Room: room, Circuit: circuit,
		Place: events.Some(events.Point{X: x, Y: y, Z: 2_500}), Maker: "Alder Lamps", Model: "AL-4", WarrantyStart: "2026-03-31", WarrantyMonths: 24,
	}
}

// scheduleSmall lists two rooms on one floor.
func scheduleSmall(ann *tale.Teller) {
	ann.Say("08:05", events.SettingsChanged{Set: map[events.SettingKey]string{events.SettleMinutes: "12"}})
	ann.Say("08:06", events.FloorListed{Floor: "1", Level: 1, Elevation: events.Some(int64(3_500))})
	for _, r := range []events.RoomID{"101", "102"} {
		ann.Say("08:06", events.RoomListed{Room: r, Floor: "1", Geometry: "office"})
	}
	ann.Say("08:07", events.WallListed{Wall: "w1", Floor: "1", Material: "brick", Thickness: 240, Line: []events.XY{{X: 6_000, Y: 0}, {X: 6_000, Y: 5_000}}})
	ann.Say("08:07", events.HubListed{Hub: "H1", Floor: "1", Room: "101", Place: events.Some(events.Point{X: 1_000, Y: 1_000, Z: 2_500}), Circuit: "C1"})
	for i, tag := range []events.Tag{"1-1", "1-2", "1-3", "1-4"} {
		room, circuit := events.RoomID("101"), events.CircuitID("C2")
		if i >= 2 {
			room, circuit = "102", "C3"
		}
		ann.Say("08:08", lamp(tag, room, 3_000+int64(i)*2_000, 1_500, circuit))
	}
	ann.Say("08:09", events.DeviceListed{Device: "1-5", Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Battery, Floor: "1", Room: "102", Type: "occupancy"})
	ann.Say("08:09", events.DeviceListed{Device: "1-6", Is: events.WallControl, Hub: "H1", Radio: events.Star, Power: events.Mains})
	exit := lamp("1-7", "101", 2_000, 4_000, "")
	exit.Emergency = true
	ann.Say("08:09", exit)
}

// small is a job of a few devices with something of everything. Ann leads; Bo's
// clock was compared with hers, Cy's was not.
func small(t *testing.T) *job {
	t.Helper()
	s := tale.New()
	j := &job{Story: s, t: t, now: tale.T("08:30")}
	ann, bo, cy := s.Lead, s.Join("Bo", events.Tech), s.Join("\u05d3\u05e0\u05d4 7", events.Viewer)
	scheduleSmall(ann)
	bo.Hear(ann)
	ann.Compare("08:10", bo, 20*time.Millisecond)
	bo.Hear(ann)
	ann.Say("08:12", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 25})
	ann.Say("08:12", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
	ann.Say("08:13", events.HubReady{Hub: "H1"})
	bo.Hear(ann)
	for _, x := range []struct {
		clock string
		tag   events.Tag
	}{{"08:20", "1-1"}, {"08:22", "1-2"}, {"08:24", "1-3"}, {"08:26", "1-5"}} {
		bo.Say(x.clock, events.DevicePaired{Device: x.tag, Hub: "H1", Serial: "SN" + events.Serial(x.tag), How: events.ByButton})
	}
	bo.Say("08:27", events.DeviceRefused{Device: "1-4", Why: events.NoAnswer, Note: "tried twice"})
	bo.Say("08:28", events.DeviceSkipped{Device: "1-6", Why: events.NotFitted})
	cy.Hear(ann, bo)
	cy.Say("08:29", events.NoteAdded{Of: events.Site(), Text: "a viewer may not say this"})
	ann.Hear(bo, cy)
	ann.Say("08:50", events.RecordsExported{Export: "E1", Heads: tale.Cut(ann, bo)})
	ann.Say("08:51", events.RecordsMerged{Export: "E1"})
	ann.Say("08:55", events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-3"}})
	ann.Say("08:56", events.DeviceHeard{Device: "1-1", Hub: "H1"})
	ann.Say("09:00", events.TestPlanned{Room: "102", Test: events.TestOccupancy, Limits: map[string]int64{"off_within_s": 900}})
	ann.Say("09:10", events.CheckDone{Of: events.Room("102"), Test: events.TestOccupancy, Reading: "22 min", Instrument: "stopwatch", Limit: "15 min", Note: "set to 20"})
	ann.Say("09:40", events.CheckDone{Of: events.Room("102"), Test: events.TestOccupancy, Reading: "14 min", Instrument: "stopwatch", Limit: "15 min", Pass: true})
	ann.Say("09:41", events.PowerOff{Of: events.Circuit("C3"), Dark: []events.Tag{"1-3", "1-7"}})
	ann.Say("09:42", events.PowerOn{Of: events.Circuit("C3")})
	dead := ann.Say("09:45", events.FaultFound{Of: events.Device("1-3"), Symptom: "hums", Severity: events.Minor, Trade: "electrical"})
	ann.Say("09:46", events.FaultFound{Of: events.Room("101"), Symptom: "cover <b>missing</b>", Severity: events.Danger, Owner: "site electrician"})
	ann.Say("09:47", events.PhotoAdded{Of: events.Room("101"), Caption: "the open box", Picture: events.Picture{SHA256: sumOf(picture()), Bytes: 70, Type: "image/png"}})
	ann.Say("09:48", events.PhotoAdded{Of: events.Device("1-3"), Picture: events.Picture{SHA256: sumOf([]byte("lost")), Bytes: 4, Type: "image/jpeg"}})
	ann.Say("09:50", events.FaultCleared{Fault: dead.Ref(), Action: "tightened"})
	ann.Say("09:52", events.HoldPlaced{Of: events.Circuit("C2"), Why: "panel open", Who: "electrician in C2"})
	bo.Say("09:53", events.DeviceFitted{Device: "1-2", Serial: "SN1-1", Source: events.Typed})
	ann.Hear(bo)
	ann.Mumble("09:54")
	ann.Say("10:00", events.WorkSigned{Of: events.Site(), Scope: "lighting controls", Signer: "Ann Example", As: "commissioning lead"})
	return j
}

// The whole document of a small job, as it reads. Look at the difference before
// writing it anew.
func TestTheDocumentOfASmallJob(t *testing.T) {
	const golden = "testdata/small.txt"
	got := text(small(t).document(picture()))
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	was, is := strings.Split(string(want), "\n"), strings.Split(got, "\n")
	for i := range min(len(was), len(is)) {
		require.Equal(t, was[i], is[i], "line %d", i+1)
	}
	require.Len(t, is, len(was))
}

func TestTheSameLogGivesTheSamePack(t *testing.T) {
	j := small(t)
	want := text(j.document())
	evs := j.Events()
	for name, order := range map[string]func(i int) int{
		"last first": func(i int) int { return len(evs) - 1 - i },
		"in leaps":   func(i int) int { return i * 7 % len(evs) },
	} {
		require.NotZero(t, len(evs)%7)
		h := &projection.History{Site: j.Site}
		for i := range evs {
			h.Add(evs[order(i)])
		}
		got := handover.Compose(handover.NewSource(h, projection.Moment{}, album()))
		require.Equal(t, want, text(got), name)
	}
}

func TestAPackOfAPastMoment(t *testing.T) {
	j := small(t)
	then := handover.Compose(handover.NewSource(j.History(), projection.At(tale.T("08:23")), nil))
	require.Contains(t, part(t, then, "devices"), "SN1-2")
	require.NotContains(t, part(t, then, "devices"), "SN1-3", "that was paired a minute later")
	require.NotContains(t, text(then), "hums")
	require.Contains(t, text(then), "As of: 2026-03-02 08:23:00")
	require.Contains(t, text(then), "not yet: nobody has signed")
	require.Contains(t, text(j.document()), "Handed over: 2026-03-02 10:00, signed by Ann Example as commissioning lead")
}

// As known to Bo when he paired the first lamp, nobody had paired another.
func TestAPackAsKnownToOne(t *testing.T) {
	j := small(t)
	var bo events.Key
	for _, m := range j.Now().Members {
		if m.Name == "Bo" {
			bo = m.Key
		}
	}
	m := projection.Moment{Known: projection.Known{Member: bo, At: events.Some(tale.T("08:21"))}}
	d := handover.Compose(handover.NewSource(j.History(), m, nil))
	require.Contains(t, text(d), "As known to: Bo at 2026-03-02 08:21")
	require.NotContains(t, text(d), "SN1-2")
}

func TestTheNewestSignatureHandsOver(t *testing.T) {
	j := small(t)
	j.Lead.Say("11:00", events.WorkSigned{Of: events.Floor("1"), Scope: "floor 1", Signer: "Bo Example", As: "owner"})
	require.Contains(t, text(j.document()), "Handed over: 2026-03-02 10:00, signed by Ann Example", "a floor is not the site")
	j.Lead.Say("12:00", events.WorkSigned{Of: events.Site(), Scope: "all", Signer: "Bo Example", As: "owner"})
	require.Contains(t, text(j.document()), "Handed over: 2026-03-02 12:00, signed by Bo Example as owner\n")
}

func TestAPairingThatWasWithdrawnIsNoAct(t *testing.T) {
	j := small(t)
	wrong := j.Lead.Say("10:10", events.DevicePaired{Device: "1-4", Hub: "H1"})
	require.Contains(t, part(t, j.document(), "people"), "paired on H1: 1-1..1-5")
	j.Lead.Say("10:11", events.EventVoided{Event: wrong.Ref(), Why: events.DidNotHappen})
	require.Contains(t, part(t, j.document(), "people"), "paired on H1: 1-1..1-3, 1-5")
}

func TestALostHubIsFoundByItsCircuit(t *testing.T) {
	j := small(t)
	j.Lead.Say("10:10", events.HubLost{Hub: "H1", Why: "no light on it"})
	j.Lead.Say("10:11", events.PowerOff{Of: events.Circuit("C1")})
	d := j.document()
	require.Contains(t, row(t, d, "electrician", "Circuit C1: what to look at", "H1")[3], "lost since 2026-03-02 10:10, lead: no light on it")
	require.Contains(t, part(t, d, "electrician"), "It was entered as off: 2026-03-02 10:11, lead. That is an entry, not isolation.")
	require.Equal(t, "H1", row(t, d, "summary", "What is not finished at this moment", "Hubs that are not ready")[2])
}
