package member_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"

	"pairwalk/projection"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

// drawn is a note that somebody drew a number for.
func drawn(n byte, text string) member.Entry {
	return member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: text}, Once: member.Once{9: n}}
}

// notes counts the notes of a log by their text.
func (d *device) notes() map[string]int {
	out := map[string]int{}
	for _, x := range d.History(projection.Moment{}, events.Subject{}) {
		if p, ok := x.Event.Payload.(events.NoteAdded); ok {
			out[p.Text]++
		}
	}
	return out
}

func TestAskedTwiceIsRecordedOnce(t *testing.T) {
	x, ada, ben := pairOf(t)
	both := []member.Entry{drawn(1, "a"), drawn(2, "b")}
	first, err := ada.Record(t.Context(), both...)
	require.NoError(t, err)
	require.Equal(t, bytes.Repeat([]byte{0}, 9), first[0].ID.Entropy()[:9])
	require.Equal(t, byte(1), first[0].ID.Entropy()[9], "it is the random half of the id")
	x.pass(time.Hour)
	again := func() []events.Event {
		evs, err := ada.Record(t.Context(), both...)
		require.NoError(t, err)
		return evs
	}
	require.Equal(t, first, again())
	got, ok := ada.Repeated(both...)
	require.True(t, ok)
	require.Equal(t, first, got)
	ada.reopen()
	require.Equal(t, first, again(), "the log itself remembers")
	require.Equal(t, map[string]int{"a": 1, "b": 1}, ada.notes())

	_, ok = ada.Repeated(drawn(3, "a"))
	require.False(t, ok)
	_, ok = ada.Repeated(both[0], drawn(3, "c"))
	require.False(t, ok)
	_, ok = ada.Repeated()
	require.False(t, ok)
	_, ok = ada.Repeated(member.Entry{Payload: both[0].Payload})
	require.False(t, ok, "nobody drew for it")
	for range 2 {
		_, err = ada.Record(t.Context(), member.Entry{Payload: both[0].Payload})
		require.NoError(t, err)
	}
	require.Equal(t, 3, ada.notes()["a"])

	_, err = ben.Record(t.Context(), drawn(7, "of ben"))
	require.NoError(t, err)
	ada.takes(ben.bundle())
	_, ok = ada.Repeated(drawn(7, "of ben"))
	require.False(t, ok, "another's number is no matter")
	_, err = ada.Record(t.Context(), drawn(7, "of ada"))
	require.NoError(t, err)
	require.Equal(t, []int{1, 1}, []int{ada.notes()["of ben"], ada.notes()["of ada"]})
}

// slow is a folder in which a write takes a while, in which others come by.
type slow struct{ *journal.MemFS }

type slowFile struct{ journal.File }

func (s slow) Append(name string) (journal.File, error) {
	f, err := s.MemFS.Append(name)
	return slowFile{f}, err
}

func (f slowFile) Sync() error {
	for range 2_000 {
		runtime.Gosched()
	}
	return f.File.Sync()
}

func TestAskedByManyAtOnceIsRecordedOnce(t *testing.T) {
	x, ada, _ := pairOf(t)
	require.NoError(t, ada.Close())
	m, err := member.NewHome(slow{ada.fs}, member.World{Now: ada.stamp, Rand: x.rand, MadeUp: true}).Open("")
	require.NoError(t, err)
	ada.Member = m
	var all sync.WaitGroup
	refs := make([]events.Ref, 20)
	for i := range refs {
		all.Go(func() {
			evs, err := ada.Record(t.Context(), drawn(1, "a"))
			if err == nil {
				refs[i] = evs[0].Ref()
			}
		})
	}
	all.Wait()
	for _, r := range refs {
		require.Equal(t, refs[0], r)
		require.False(t, r.IsZero())
	}
	require.Equal(t, map[string]int{"a": 1}, ada.notes())
}

// TestANumberIsKnownInEveryFeedOfItsMember: a device that was restored goes on in a
// new feed, and knows what it said in the old one once a colleague brings it back.
func TestANumberIsKnownInEveryFeedOfItsMember(t *testing.T) {
	_, ada, ben := pairOf(t)
	backup := ben.fs.Clone()
	first, err := ben.Record(t.Context(), drawn(1, "a"))
	require.NoError(t, err)
	ada.takes(ben.bundle())
	require.NoError(t, ben.Close())
	ben.Member, ben.fs = nil, backup
	m, err := ben.home().Open("")
	require.NoError(t, err)
	ben.Member = m
	ben.takes(ada.bundle())
	ben.log(events.NoteAdded{Of: events.Site(), Text: "in a new feed"})
	ben.reopen()
	again, err := ben.Record(t.Context(), drawn(1, "a"))
	require.NoError(t, err)
	require.Equal(t, first[0].Ref(), again[0].Ref())
	require.Equal(t, 1, ben.notes()["a"])
}

// What was refused was not recorded, and may be asked for again.
func TestARefusedEntryLeavesItsNumberFree(t *testing.T) {
	_, ada, _ := pairOf(t)
	bad := drawn(1, "")
	_, err := ada.Record(t.Context(), drawn(2, "good"), bad)
	require.Error(t, err)
	require.Empty(t, ada.notes())
	_, ok := ada.Repeated(drawn(2, "good"))
	require.False(t, ok)
	_, err = ada.Record(t.Context(), drawn(2, "good"), drawn(1, "mended"))
	require.NoError(t, err)
	require.Equal(t, map[string]int{"good": 1, "mended": 1}, ada.notes())
}

// TestHalfAWriteIsCompleted: a power cut left some of the lines on disk that nobody
// was told of. Whoever asks again gets the rest recorded, and nothing twice.
func TestHalfAWriteIsCompleted(t *testing.T) {
	halves := 0
	for keep := 0; keep < 1200; keep += 100 {
		_, ada, _ := pairOf(t)
		entries := []member.Entry{drawn(1, "a"), drawn(2, "b")}
		before := ada.fs.Clone()
		_, err := ada.Record(t.Context(), entries...)
		require.NoError(t, err)
		own := ada.feedFile()
		was, err := before.Read(own)
		require.NoError(t, err)
		now, err := ada.fs.Read(own)
		require.NoError(t, err)
		before.Put(own, now[:min(len(now), len(was)+keep)])
		require.NoError(t, ada.Close())
		ada.fs = before
		m, err := ada.home().Open("")
		require.NoError(t, err)
		ada.Member = m
		if n := ada.notes(); n["a"] == 1 && n["b"] == 0 {
			halves++
		}
		evs, err := ada.Record(t.Context(), entries...)
		require.NoError(t, err)
		require.Equal(t, map[string]int{"a": 1, "b": 1}, ada.notes(), "with %d bytes of them on disk", keep)
		require.Equal(t, []events.Payload{entries[0].Payload, entries[1].Payload}, []events.Payload{evs[0].Payload, evs[1].Payload})
	}
	require.Positive(t, halves)
}

func TestTheDoerOfAContext(t *testing.T) {
	_, ada, _ := pairOf(t)
	ctx := member.WithDoer(t.Context(), "Ilse")
	evs, err := ada.Record(ctx, member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "a"}}, member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "b"}, By: "Tomo"})
	require.NoError(t, err)
	require.Equal(t, []string{"Ilse", "Tomo"}, []string{evs[0].By(), evs[1].By()})
	voided, err := ada.Void(ctx, evs[0].Ref(), events.DidNotHappen, "")
	require.NoError(t, err)
	require.Equal(t, "Ilse", voided.By())
	require.Empty(t, ada.log(events.NoteAdded{Of: events.Site(), Text: "c"})[0].By())
	entries := []member.Entry{{Payload: events.NoteAdded{Of: events.Site(), Text: "d"}}}
	_, err = ada.Record(ctx, entries...)
	require.NoError(t, err)
	require.Empty(t, entries[0].By, "what was given is left alone")
	_, err = ada.Record(member.WithDoer(t.Context(), "two\nlines"), entries...)
	require.Error(t, err)
}

func TestMarksAreOfWhatIsNew(t *testing.T) {
	_, ada, ben := pairOf(t)
	ada.log(events.DevicePaired{Device: "1-003", Hub: "H1", Serial: "S3"}) // before H1 is ready, which is odd
	ada.log(events.DeviceUnpaired{Device: "1-009", Why: "was never paired"})
	marksOf := func(ps ...events.Payload) member.Marks {
		before := ada.Now()
		evs := ada.log(ps...)
		return member.MarksOf(before, ada.Now(), evs)
	}
	require.Equal(t, member.Marks{}, marksOf(events.NoteAdded{Of: events.Site(), Text: "x"}), "what was odd before is not said again")
	odd := marksOf(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})
	require.NotEmpty(t, odd.Flagged)
	require.Contains(t, fmt.Sprint(odd.Flagged), "1-001")
	require.NotContains(t, fmt.Sprint(odd.Flagged), "1-003")
	require.Contains(t, fmt.Sprint(marksOf(events.DeviceUnpaired{Device: "1-008", Why: "x"}).Flagged), "1-008")
	require.Equal(t, []string{walk.CautionPower}, marksOf(events.PowerOff{Of: events.Circuit("C1")}, events.PowerOff{Of: events.Circuit("C2")}).Cautions, "said once")
	require.Equal(t, []string{walk.CautionHold}, marksOf(events.HoldPlaced{Of: events.Device("1-001"), Why: "wet"}).Cautions)

	clash := marksOf(events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S1"})
	key := ""
	for _, c := range member.AllConflicts(ada.Now()) {
		if c.Kind == projection.SerialTwice {
			key = c.Why
		}
	}
	require.NotEmpty(t, key)
	require.Contains(t, clash.Flagged, key, "a conflict that it brought")
	require.NotContains(t, marksOf(events.NoteAdded{Of: events.Site(), Text: "x"}).Flagged, key)

	ada.takes(ben.bundle())
	who, err := ada.Person("ben")
	require.NoError(t, err)
	_, err = ada.Revoke(t.Context(), who, member.Revoking{Why: "phone lost"})
	require.NoError(t, err)
	ben.takes(ada.bundle())
	was := ben.Now()
	doubted := member.MarksOf(was, ben.Now(), ben.log(events.NoteAdded{Of: events.Site(), Text: "x"}))
	require.Empty(t, doubted.Doubted, "the facts from before do not know it")
	evs := ben.log(events.NoteAdded{Of: events.Site(), Text: "y"}, events.NoteAdded{Of: events.Site(), Text: "z"})
	require.Len(t, member.MarksOf(was, ben.Now(), evs).Doubted, 1)
	require.Empty(t, member.MarksOf(was, ben.Now(), nil).Doubted)
}

func TestLayoutIsWhereThingsAre(t *testing.T) {
	_, ada, _ := pairOf(t)
	ada.log(
		events.FloorListed{Floor: "3", Level: 3, Elevation: events.Some(int64(11_000))}, events.FloorListed{Floor: "roof", Level: 9},
		events.RoomListed{Room: "3.1", Floor: "3"},
		events.WallListed{Wall: "W1", Floor: "3", Material: "brick", Thickness: 380, Line: []events.XY{{X: 1, Y: 2}, {X: -3, Y: 4}}},
		events.DrawingPlaced{Floor: "3", Picture: events.Picture{SHA256: fmt.Sprintf("%064x", 1), Bytes: 9, Type: "image/png"}, Corner: events.XY{X: 5, Y: -6}, Pixel: 7, Turn: -8},
		events.HubListed{Hub: "H3", Floor: "3", Room: "3.1", Place: events.Some(events.Point{X: 1, Y: 2, Z: 3})},
		events.HubListed{Hub: "H5", Floor: "5"},
		events.DeviceListed{Device: "3-1", Is: "dimmer", Hub: "H3", Radio: events.Mesh, Power: events.Mains, Floor: "B2", Room: "B2.1", Circuit: "C9", Emergency: true},
		events.DeviceListed{Device: "3-2", Is: "sensor", Hub: "H3", Radio: events.Mesh, Power: events.Battery, Floor: "3", Place: events.Some(events.Point{X: -1})},
		events.DevicePlaced{Device: "3-2", Place: events.Point{X: 10, Y: 20, Z: 30}, Accuracy: 300},
		events.DeviceStruck{Device: "3-2"},
	)
	a := member.LayoutOf(ada.Now())
	require.Equal(t, []member.LayoutFloor{{"B2", -2, -7_000}, {"3", 3, 11_000}, {"5", 5, 17_500}, {"roof", 9, 31_500}}, a.Floors, "in the order they lie on each other")
	require.Equal(t, []member.LayoutRoom{{"3.1", "3"}}, a.Rooms)
	require.Equal(t, []member.LayoutWall{{"3", "brick", 380, [][2]int64{{1, 2}, {-3, 4}}}}, a.Walls)
	require.Equal(t, []member.LayoutDrawing{{"3", fmt.Sprintf("%064x", 1), "image/png", [2]int64{5, -6}, 7, -8}}, a.Drawings)
	require.Equal(t, []member.LayoutHub{{"H1", "", "", nil}, {"H2", "", "", nil}, {"H3", "3", "3.1", &[3]int64{1, 2, 3}}, {"H5", "5", "", nil}}, a.Hubs)
	require.Len(t, a.Devices, 22)
	byTag := map[string]member.LayoutDevice{}
	for _, d := range a.Devices {
		byTag[d.Tag] = d
	}
	require.Equal(t, member.LayoutDevice{Tag: "3-1", Hub: "H3", Kind: "dimmer", Radio: "mesh", Router: true, Floor: "B2", Room: "B2.1", Circuit: "C9", Emergency: true}, byTag["3-1"])
	require.Equal(t, member.LayoutDevice{Tag: "3-2", Hub: "H3", Kind: "sensor", Radio: "mesh", Floor: "3", Struck: true, Place: &[3]int64{10, 20, 30}, Accuracy: 300}, byTag["3-2"])

	b, err := json.Marshal(member.LayoutOf(&projection.Site{}))
	require.NoError(t, err)
	require.JSONEq(t, `{"v":1,"floors":[],"rooms":[],"walls":[],"drawings":[],"hubs":[],"devices":[]}`, string(b))
}

func TestACourseIsWrittenShort(t *testing.T) {
	x, ada, _ := pairOf(t)
	tag := func(i int) events.Tag { return events.Tag(fmt.Sprintf("1-%03d", i)) }
	ada.log(events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"})
	x.pass(time.Minute)
	at := x.time
	ada.log(events.DeviceFitted{Device: tag(1), Serial: "S1"}, events.DevicePaired{Device: tag(2), Hub: "H1", Serial: "S2"}, events.DevicePaired{Device: tag(10), Hub: "H1", Serial: "S3"},
		events.DeviceSkipped{Device: tag(3), Why: "no-access"}, events.DeviceRefused{Device: tag(4), Why: "no-answer"}, events.HoldPlaced{Of: events.Device(tag(5)), Why: "wet"},
		events.PowerOff{Of: events.Device(tag(6))}, events.FaultFound{Of: events.Device(tag(7)), Symptom: "hums", Severity: events.Minor}, events.DeviceStruck{Device: tag(8)})
	note := ada.log(events.FaultFound{Of: events.Device(tag(9)), Symptom: "not so", Severity: events.Minor})[0]
	_, err := ada.Void(t.Context(), note.Ref(), events.DidNotHappen, "")
	require.NoError(t, err)
	x.pass(time.Minute)
	ada.log(events.DeviceFitted{Device: tag(9), Serial: "S9"}) // after the last mark
	a := ada.Course(projection.Known{})
	b, err := json.Marshal(a)
	require.NoError(t, err)
	var doc struct {
		Devices []string
		Turns   [][]any
		Marks   []struct{ Kind string }
	}
	require.NoError(t, json.Unmarshal(b, &doc))
	last := map[string]string{}
	for _, turn := range doc.Turns {
		require.Len(t, turn, 5)
		if turn[0].(float64) == float64(at) {
			last[doc.Devices[int(turn[1].(float64))]] = fmt.Sprintf("%v %.0f %v", turn[2], turn[3], turn[4])
		}
	}
	settles := at.Add(ada.Now().Settings.Span(events.SettleMinutes, time.Minute))
	require.Equal(t, map[string]string{
		"1-001": "1 0 ", "1-002": fmt.Sprintf("2 %d ", settles), "1-010": "2 0 ", "1-003": "0 0 k", "1-004": "0 0 r",
		"1-005": "0 0 h", "1-006": "0 0 d", "1-007": "0 0 f", "1-008": "0 0 s",
	}, last)
	kinds := []string{}
	for _, m := range doc.Marks {
		kinds = append(kinds, m.Kind)
	}
	require.Equal(t, []string{"hub.ready", "hold.placed", "power.off", "fault.found"}, kinds, "in order, and none that was withdrawn")
	require.Equal(t, x.time, a.To)
	require.Less(t, a.From, at)
	require.Equal(t, "everything", a.Known)
	require.NotEqual(t, "everything", ada.Course(projection.Known{Member: ada.Key()}).Known)
}

// TestACourseOfRandomWork holds a course against the facts of each moment.
func TestACourseOfRandomWork(t *testing.T) {
	_, ada, ben := pairOf(t)
	r := rand.New(rand.NewPCG(5, 6))
	ada.works(r, 150)
	ben.works(r, 150)
	ada.takes(ben.bundle())
	a := ada.Course(projection.Known{})
	for range 50 {
		at := a.Turns[r.IntN(len(a.Turns))].At + events.Instant(r.IntN(3)-1)
		drawn := map[string]projection.State{}
		for _, turn := range a.Turns {
			if turn.At <= at {
				drawn[a.Devices[turn.Device]] = turn.Look.At(at)
			}
		}
		want := map[string]projection.State{}
		for _, d := range ada.At(projection.At(at)).Devices {
			want[string(d.Device)] = d.State
		}
		require.Equal(t, want, drawn, "at %s", at)
	}
}

func TestEntriesAreChosen(t *testing.T) {
	_, ada, ben := pairOf(t)
	ada.log(events.HubReady{Hub: "H1"})
	one := ada.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})[0]
	two, err := ben.Record(t.Context(), member.Entry{Payload: events.DeviceSkipped{Device: "1-002", Why: "no-access", Note: "Locked"}, By: "Tomo"})
	require.NoError(t, err)
	ada.takes(ben.bundle())
	s := ada.Now()
	all := ada.History(projection.Moment{}, events.Subject{})
	for name, c := range map[string]struct {
		choice member.Choice
		want   []string
	}{
		"a kind":               {member.Choice{Kinds: []string{"device.paired"}}, []string{"device.paired"}},
		"a family":             {member.Choice{Kinds: []string{"hub"}}, []string{"hub.listed", "hub.listed", "hub.ready"}},
		"half a family":        {member.Choice{Kinds: []string{"hu"}}, nil},
		"kinds":                {member.Choice{Kinds: []string{"device.skipped", "hub.ready"}}, []string{"hub.ready", "device.skipped"}},
		"a ref":                {member.Choice{Refs: []string{one.Ref().String()}}, []string{"device.paired"}},
		"an id":                {member.Choice{Refs: []string{two[0].ID.String()}}, []string{"device.skipped"}},
		"half an id":           {member.Choice{Refs: []string{two[0].ID.String()[:20]}}, nil},
		"a member and a kind":  {member.Choice{Member: "ben", Kinds: []string{"device"}}, []string{"device.skipped"}},
		"a name in other case": {member.Choice{Member: "Ben", Kinds: []string{"device"}}, nil},
		"who did it":           {member.Choice{Text: "tomo"}, []string{"device.skipped"}},
		"what it says":         {member.Choice{Text: "PAIRED 1-001"}, []string{"device.paired"}},
		"its id as text":       {member.Choice{Text: one.ID.String()[5:]}, []string{"device.paired"}},
		"all at once":          {member.Choice{Member: "ada", Kinds: []string{"device"}, Refs: []string{one.Ref().String()}, Text: "s1"}, []string{"device.paired"}},
		"nothing fits all":     {member.Choice{Member: "ben", Refs: []string{one.Ref().String()}}, nil},
	} {
		var got []string
		for _, x := range member.Chosen(s, all, c.choice) {
			got = append(got, string(x.Event.Kind()))
		}
		require.Equal(t, c.want, got, name)
	}
	require.Equal(t, all, member.Chosen(s, all, member.Choice{}))
}

func TestWhatIsKnown(t *testing.T) {
	_, ada, ben := pairOf(t)
	stranger := events.Key("5vesrrri2hbmn2xjam4jawmvmeuvsjz2lrr7snrwyfdbjlehg7iq")
	listing := events.DeviceListed{Device: "9-1", Is: "dimmer", Hub: "H1", Radio: events.Mesh, Power: events.Mains}
	for name, c := range map[string]struct {
		ps    []events.Payload
		known bool
	}{
		"nothing":                    {nil, true},
		"a device":                   {[]events.Payload{events.DevicePaired{Device: "1-001", Hub: "H1"}}, true},
		"no such device":             {[]events.Payload{events.DevicePaired{Device: "9-1", Hub: "H1"}}, false},
		"no such hub":                {[]events.Payload{events.DevicePaired{Device: "1-001", Hub: "H9"}}, false},
		"listed before":              {[]events.Payload{listing, events.DevicePaired{Device: "9-1", Hub: "H1"}}, true},
		"listed after":               {[]events.Payload{events.DevicePaired{Device: "9-1", Hub: "H1"}, listing}, false},
		"a hub listed before":        {[]events.Payload{events.HubListed{Hub: "H9"}, events.HubReady{Hub: "H9"}}, true},
		"a link to a hub":            {[]events.Payload{events.LinkMeasured{A: "1-001", B: "H1", RSSI: events.Some(-60)}}, true},
		"a link to nothing":          {[]events.Payload{events.LinkMeasured{A: "1-001", B: "9-1", RSSI: events.Some(-60)}}, false},
		"the site":                   {[]events.Payload{events.NoteAdded{Of: events.Site(), Text: "x"}}, true},
		"a room nobody listed":       {[]events.Payload{events.NoteAdded{Of: events.Room("9.9"), Text: "x"}}, true},
		"a member":                   {[]events.Payload{events.HubAssigned{Hub: "H1", Member: ben.Key()}}, true},
		"no such member":             {[]events.Payload{events.HubAssigned{Hub: "H1", Member: stranger}}, false},
		"one of those missed":        {[]events.Payload{events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"1-001", "9-1"}}}, false},
		"a circuit nobody has named": {[]events.Payload{events.PowerOff{Of: events.Circuit("C77")}}, true},
		"a new name":                 {[]events.Payload{events.DeviceRenamed{From: "1-001", To: "1-100"}}, true},
		"a new name of nothing":      {[]events.Payload{events.DeviceRenamed{From: "9-1", To: "1-100"}}, false},
		"renamed before":             {[]events.Payload{events.DeviceRenamed{From: "1-001", To: "1-100"}, events.DeviceSkipped{Device: "1-100", Why: "no-access"}}, true},
		"listed on no such hub":      {[]events.Payload{events.DeviceListed{Device: "9-1", Is: "dimmer", Hub: "H9", Radio: events.Mesh, Power: events.Mains}}, false},
		"power off at nothing":       {[]events.Payload{events.PowerOff{Of: events.Device("9-1")}}, false},
		"one of those dark":          {[]events.Payload{events.PowerOff{Of: events.Circuit("C1"), Dark: []events.Tag{"9-1"}}}, false},
		"power on at nothing":        {[]events.Payload{events.PowerOn{Of: events.Device("9-1")}}, false},
		"the second of two":          {[]events.Payload{events.NoteAdded{Of: events.Site(), Text: "x"}, events.HubReady{Hub: "H9"}}, false},
	} {
		err := ada.Known(c.ps...)
		if c.known {
			require.NoError(t, err, name)
			continue
		}
		require.ErrorIs(t, err, member.ErrUnknown, name)
	}
	require.ErrorContains(t, ada.Known(events.HubReady{Hub: "H9"}), "H9")
}

// A hub is told with the devices that are on it, and with no other's.
func TestDevicesAreCountedByTheirHub(t *testing.T) {
	home, err := lodged.Of(invent.Job{Seed: 1, Members: 4, Count: 1_500, Size: invent.Size{Seed: 1, Devices: 48, Hubs: 3, Floors: 3}}).In(t.TempDir(), "Ann")
	require.NoError(t, err)
	m, err := home.Open("")
	require.NoError(t, err)
	defer func() { require.NoError(t, m.Close()) }()
	s := m.Now()
	require.Greater(t, len(s.Hubs), 1)
	for _, x := range member.HubsOf(s) {
		var listed, paired, pushed int
		for _, d := range s.Devices {
			if string(d.Hub) == x.ID && d.Row != nil && d.Struck == nil {
				listed++
			}
			if d.Paired != nil && string(d.Paired.Hub) == x.ID {
				paired++
				if d.State == projection.Pushed {
					pushed++
				}
			}
		}
		require.Equal(t, []int{listed, paired, pushed}, []int{x.Listed, x.Paired, x.Pushed}, x.ID)
		require.Equal(t, x, *m.Show(projection.Moment{}, events.Hub(events.HubID(x.ID))).Hub)
	}
}
