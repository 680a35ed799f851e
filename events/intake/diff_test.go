package intake_test

import (
	"fmt"
	"maps"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// apply is what a site has after these entries; it holds nothing to account.
func apply(site intake.Listing, entries []events.Payload) intake.Listing {
	after := intake.Listing{
		Hubs: map[events.HubID]events.HubListed{}, Devices: map[events.Tag]events.DeviceListed{},
		Floors: map[events.FloorID]events.FloorListed{}, Rooms: map[events.RoomID]events.RoomListed{},
		Walls: map[string]events.WallListed{}, Touched: site.Touched,
	}
	maps.Copy(after.Hubs, site.Hubs)
	maps.Copy(after.Devices, site.Devices)
	maps.Copy(after.Floors, site.Floors)
	maps.Copy(after.Rooms, site.Rooms)
	maps.Copy(after.Walls, site.Walls)
	for _, p := range entries {
		switch p := p.(type) {
		case events.HubListed:
			after.Hubs[p.Hub] = p
		case events.DeviceListed:
			after.Devices[p.Device] = p
		case events.FloorListed:
			after.Floors[p.Floor] = p
		case events.RoomListed:
			after.Rooms[p.Room] = p
		case events.WallListed:
			after.Walls[p.Wall] = p
		case events.WallStruck:
			delete(after.Walls, p.Wall)
		case events.DeviceRenamed:
			d := after.Devices[p.From]
			delete(after.Devices, p.From)
			d.Device = p.To
			after.Devices[p.To] = d
		case events.HubStruck:
			delete(after.Hubs, p.Hub)
		case events.DeviceStruck:
			delete(after.Devices, p.Device)
		case events.FloorStruck:
			delete(after.Floors, p.Floor)
		case events.RoomStruck:
			delete(after.Rooms, p.Room)
		}
	}
	return after
}

// imported is what a site has after these files, with nothing suggested taken.
func imported(t *testing.T, files ...string) intake.Listing {
	t.Helper()
	site := intake.Listing{}
	for _, f := range files {
		site = apply(site, good(t, f, intake.Options{Site: site}).Diff(site).Payloads(intake.Accept{}))
	}
	return site
}

// Each story imports a file into what the ones before it made.
func TestImportingAgain(t *testing.T) {
	const floors = "floor,level\n2,2\n3,3\n"
	const full = "tag,kind,hub,floor,room,x_m,y_m,circuit,power,emergency,warranty_months,geometry,note\n" +
		"2-101,dimmer,H1,2,204,1,1,C1-1,battery,yes,60,cell,by the door\n"
	for _, tt := range []struct {
		name   string
		before []string
		file   string
		want   []string
	}{
		{"a first bare list lists its hubs too", nil,
			"tag,kind,hub\n2-101,dimmer,H1\n2-102,sensor,H2\n", []string{
				"add: hub H1 (row 2)", "add: hub H2 (row 3)", "add: 2-101: dimmer on H1 (row 2)", "add: 2-102: sensor on H2 (row 3)", "0 the same"}},
		{"rooms come with their floor", []string{floors},
			full, []string{"add: room 204 on floor 2 (row 2)", "add: hub H1 (row 2)", "add: 2-101: dimmer on H1 (emergency) (row 2)", "0 the same"}},
		{"the same file again is nothing", []string{floors, full},
			full, []string{"2 the same"}},
		{"the same floors again are nothing", []string{floors},
			floors, []string{"2 the same"}},
		{"a column that is not there erases nothing", []string{floors, full},
			"tag,kind,hub\n2-101,dimmer,H1\n", []string{"1 the same"}},
		{"an empty cell of one that is there does", []string{floors, full},
			"tag,kind,hub,circuit,emergency\n2-101,dimmer,H1,,\n", []string{
				`amend: 2-101: circuit "", was "C1-1"; emergency "", was "yes" (row 2)`, "0 the same"}},
		{"old and new of each column", []string{floors, full},
			"tag,kind,hub,x_m,y_m,warranty_months\n2-101,driver,H2,1.5,1,24\n", []string{
				"add: hub H2 (row 2)",
				`amend: 2-101: kind "driver", was "dimmer"; hub "H2", was "H1"; place "1.5 m, 1 m", was "1 m, 1 m"; warranty_months "24", was "60" (row 2)`,
				"strike? H1: no row names it", "0 the same"}},
		{"a new floor takes its height along", []string{floors, full},
			"tag,kind,hub,floor,x_m,y_m\n2-101,dimmer,H1,3,1,1\n", []string{
				`amend: 2-101: floor "3", was "2"; height "10.5 m", was "7 m" (row 2)`, "0 the same"}},
		{"a height once told stays", []string{floors, "tag,kind,hub,floor,x_m,y_m,z_m\n2-101,dimmer,H1,2,1,1,9.7\n"},
			"tag,kind,hub,floor,x_m,y_m\n2-101,dimmer,H1,2,1,1\n", []string{"1 the same"}},
		{"power follows the kind", []string{"tag,kind,hub\n2-101,dimmer,H1\n"},
			"tag,kind,hub\n2-101,sensor,H1\n", []string{`amend: 2-101: kind "sensor", was "dimmer"; power "battery", was "mains" (row 2)`, "0 the same"}},
		{"unless it was told", []string{"tag,kind,hub,power\n2-101,dimmer,H1,battery\n"},
			"tag,kind,hub\n2-101,switch,H1\n", []string{`amend: 2-101: kind "switch", was "dimmer" (row 2)`, "0 the same"}},
		{"or the new kind says how it is fed", []string{"tag,kind,hub,power\n2-101,sensor,H1,mains\n"},
			"tag,kind,hub\n2-101,portable,H1\n", []string{`amend: 2-101: kind "wall-control", was "sensor"; power "battery", was "mains" (row 2)`, "0 the same"}},
		{"a portable stays one", []string{"tag,kind,hub\n2-101,portable,H1\n"},
			"tag,kind,hub\n2-101,portable,H1\n", []string{"1 the same"}},
		{"what no row names is suggested for striking", []string{floors, full},
			"tag,kind,hub,room\n2-102,dimmer,H2,205\n", []string{
				"add: room 205 (row 2)", "add: hub H2 (row 2)", "add: 2-102: dimmer on H2 (row 2)",
				"strike? 2-101: no row names it", "strike? H1: no row names it", "strike? room 204: no row names it", "0 the same"}},
		{"but no room by a file that tells no rooms", []string{floors, full},
			"tag,kind,hub\n2-101,dimmer,H1\n", []string{"1 the same"}},
		{"floors too", []string{floors},
			"floor,level,elevation_m\n2,2,7.2\nroof,4,\n", []string{
				"add: floor roof (level 4) (row 3)", `amend: floor 2: elevation "7.2 m", was "" (row 2)`, "strike? floor 3: no row names it", "0 the same"}},
		{"a stairwell is on no floor", []string{floors},
			"tag,kind,hub,floor,room\n2-101,driver,H1,2,stair\n3-101,driver,H1,3,stair\n", []string{
				"add: room stair (row 2)", "add: hub H1 (row 2)", "add: 2-101: driver on H1 (row 2)", "add: 3-101: driver on H1 (row 3)", "0 the same"}},
		{"a hub's own row amends it, and a device's never", []string{"tag,kind,hub,note\nH1,hub,,riser\n2-101,dimmer,H1,\n"},
			"tag,kind,hub,note\n2-101,dimmer,H1,\n", []string{"1 the same"}},
		{"hub rows are compared", []string{"tag,kind,hub,note\nH1,hub,,riser\n"},
			"tag,kind,hub,note,circuit\nH1,hub,,roof,C1-1\n", []string{`amend: H1: circuit "C1-1", was ""; note "roof", was "riser" (row 2)`, "0 the same"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			site := imported(t, tt.before...)
			diff := good(t, tt.file, intake.Options{Site: site}).Diff(site)
			require.Equal(t, tt.want, strings.Split(strings.TrimSpace(diff.String()), "\n"))
		})
	}
}

func TestRenames(t *testing.T) {
	const list = "tag,kind,hub,room,circuit\n2-101,dimmer,H1,204,C1\n2-102,dimmer,H1,204,C1\n2-103,sensor,H1,205,C2\n"
	for _, tt := range []struct {
		name, file string
		lines      []string
		accepted   []events.Payload // devices and renames
	}{
		{"told by the file",
			"tag,kind,hub,room,circuit,was\n2-101,dimmer,H1,204,C1,\n2-102,dimmer,H1,204,C1,\n2-203,sensor,H1,205,C2,2-103\n",
			[]string{"rename: 2-103 to 2-203; keeps its field history (row 4)"},
			[]events.Payload{events.DeviceRenamed{From: "2-103", To: "2-203"}}},
		{"told by the file, and moved",
			"tag,kind,hub,circuit,was\n2-101,dimmer,H1,C1,\n2-102,dimmer,H1,C1,\n2-203,sensor,H1,C3,2-103\n",
			[]string{`amend: 2-203: circuit "C3", was "C2" (row 4)`, "rename: 2-103 to 2-203; keeps its field history (row 4)"},
			[]events.Payload{
				events.DeviceRenamed{From: "2-103", To: "2-203"},
				events.DeviceListed{Device: "2-203", Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Battery, Room: "205", Circuit: "C3"},
			}},
		{"alike in all but the tag",
			"tag,kind,hub,room,circuit\n2-101,dimmer,H1,204,C1\n2-102,dimmer,H1,204,C1\n2-203,sensor,H1,205,C2\n",
			[]string{"add: 2-203: sensor on H1 (row 4)", "rename? 2-103 to 2-203: alike in all but the tag; keeps its field history (row 4)", "strike? 2-103: no row names it, and it has field history"},
			[]events.Payload{events.DeviceRenamed{From: "2-103", To: "2-203"}}},
		{"same room, kind and hub",
			"tag,kind,hub,room,circuit\n2-101,dimmer,H1,204,C1\n2-202,dimmer,H1,204,C9\n2-103,sensor,H1,205,C2\n",
			[]string{"add: 2-202: dimmer on H1 (row 3)", "rename? 2-102 to 2-202: same room, kind and hub (row 3)", "strike? 2-102: no row names it"},
			[]events.Payload{
				events.DeviceRenamed{From: "2-102", To: "2-202"},
				events.DeviceListed{Device: "2-202", Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Room: "204", Circuit: "C9"},
			}},
		{"a bare list keeps what it doesn't tell",
			"tag,kind,hub\n2-101,dimmer,H1\n2-102,dimmer,H1\n2-203,sensor,H1\n",
			[]string{"add: 2-203: sensor on H1 (row 4)", "rename? 2-103 to 2-203: alike in all but the tag; keeps its field history (row 4)", "strike? 2-103: no row names it, and it has field history"},
			[]events.Payload{events.DeviceRenamed{From: "2-103", To: "2-203"}}},
		{"two that look alike are not guessed at",
			"tag,kind,hub,room,circuit\n2-201,dimmer,H1,204,C1\n2-202,dimmer,H1,204,C1\n2-103,sensor,H1,205,C2\n",
			[]string{"add: 2-201: dimmer on H1 (row 2)", "add: 2-202: dimmer on H1 (row 3)", "strike? 2-101: no row names it", "strike? 2-102: no row names it"},
			[]events.Payload{
				events.DeviceListed{Device: "2-201", Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Room: "204", Circuit: "C1"},
				events.DeviceListed{Device: "2-202", Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Room: "204", Circuit: "C1"},
				events.DeviceStruck{Device: "2-101", Why: "not in the imported schedule"},
				events.DeviceStruck{Device: "2-102", Why: "not in the imported schedule"},
			}},
		{"told once, it is done", // the column was still there when the file is imported again
			"tag,kind,hub,room,circuit,was\n2-101,dimmer,H1,204,C1,2-001\n2-102,dimmer,H1,204,C1,\n2-103,sensor,H1,205,C2,2-003\n", []string{}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			site := imported(t, list)
			site.Touched = map[events.Tag]bool{"2-103": true}
			diff := good(t, tt.file).Diff(site)
			lines := strings.Split(strings.TrimSpace(diff.String()), "\n")
			require.Equal(t, tt.lines, lines[:len(lines)-1], "all lines but the count of the same")

			entries := diff.Payloads(intake.Accept{Renames: true, Strikes: true})
			require.Equal(t, tt.accepted, entries)
			require.True(t, good(t, tt.file).Diff(apply(site, entries)).Empty(), "all is done")
		})
	}
}

func TestNothingSuggestedIsDoneUnasked(t *testing.T) {
	site := imported(t, "tag,kind,hub\n2-101,dimmer,H1\n")
	diff := good(t, "tag,kind,hub\n2-201,dimmer,H1\n").Diff(site)
	require.Len(t, diff.Renames, 1)
	require.Len(t, diff.Strikes, 1)
	require.Equal(t, []events.Payload{
		events.DeviceListed{Device: "2-201", Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains},
	}, diff.Payloads(intake.Accept{}))
}

func TestARenameOverAnotherDeviceIsAProblem(t *testing.T) {
	site := imported(t, "tag,kind,hub\n2-101,dimmer,H1\n2-102,dimmer,H1\n")
	diff := good(t, "tag,kind,hub,was\n2-102,dimmer,H1,2-101\n").Diff(site)
	require.Equal(t, []string{"row 2, column was: 2-101 and 2-102 are both on the site's schedule; leave was empty, or strike one of them first"}, texts(diff.Problems))
	require.Empty(t, diff.Payloads(intake.Accept{Strikes: true, Renames: true}))
}

// A row that is wrong still says that its device is on the schedule; one that
// can't be read may be any device.
func TestABadRowStrikesNothing(t *testing.T) {
	site := imported(t, "tag,kind,hub\n2-101,dimmer,H1\n2-102,dimmer,H1\n2-103,dimmer,H2\n")
	for _, tt := range []struct {
		name, row string
		strikes   int
	}{
		{"a bad kind names its tag", "2-102,dimer,H1", 2}, // 2-103 and H2
		{"no tag", ",dimmer,H1", 0},
		{"a stray quote", "2-1\"02,dimmer,H1", 0},
		{"not UTF-8", "2-102\xff,dimmer,H1", 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet := read(t, "tag,kind,hub\n2-101,dimmer,H1\n"+tt.row+"\n")
			require.NotEmpty(t, sheet.Problems)
			require.Len(t, sheet.Diff(site).Strikes, tt.strikes)
		})
	}
}

func TestEntriesComeInAnOrderThatMakesSense(t *testing.T) {
	site := imported(t, "tag,kind,hub,room\n2-101,dimmer,H1,201\n2-102,relay,H9,202\n")
	diff := good(t, "tag,kind,hub,room,was\n2-103,sensor,H2,203,\n2-104,dimmer,H2,203,2-101\n").Diff(site)
	var kinds []events.Kind
	for _, p := range diff.Payloads(intake.Accept{Strikes: true}) {
		kinds = append(kinds, p.Kind())
	}
	require.Equal(t, []events.Kind{
		"room.listed", "hub.listed", "device.renamed", "device.listed", "device.listed",
		"device.struck", "hub.struck", "hub.struck", "room.struck", "room.struck",
	}, kinds)
}

// Whatever a site has and whatever file comes, once its diff is applied there is
// nothing left to do.
func TestADiffIsDoneInOneGo(t *testing.T) {
	sheetOf := func(t *rapid.T, label string) string {
		optional := []string{"radio", "room", "circuit", "power", "emergency", "note", "was", "z_m"}
		header := []string{"tag", "kind", "hub", "x_m", "y_m"}
		for _, c := range optional {
			if rapid.Bool().Draw(t, label+" has "+c) {
				header = append(header, c)
			}
		}
		cells := map[string][]string{
			"kind": {"dimmer", "sensor", "portable", "wall-control"}, "hub": {"H1", "H2"}, "x_m": {"1", "2"}, "y_m": {"1", "3"},
			"radio": {"", "star"}, "room": {"", "201", "202"}, "circuit": {"", "C1"}, "power": {"", "mains", "battery"},
			"emergency": {"", "yes"}, "note": {"", "hm"}, "was": {"", "2-1", "2-2", "2-3"}, "z_m": {"", "2.5"},
		}
		var b strings.Builder
		fmt.Fprintln(&b, strings.Join(header, ","))
		for i := range rapid.IntRange(1, 5).Draw(t, label+" rows") {
			fmt.Fprintf(&b, "2-%d", i+rapid.IntRange(0, 3).Draw(t, "tag"))
			for _, c := range header[1:] {
				b.WriteString("," + rapid.SampledFrom(cells[c]).Draw(t, c))
			}
			b.WriteString("\n")
		}
		return b.String()
	}
	rapid.Check(t, func(t *rapid.T) {
		site := intake.Listing{}
		for _, label := range []string{"first", "second"} {
			file := sheetOf(t, label)
			accept := intake.Accept{Strikes: true, Renames: rapid.Bool().Draw(t, label+" renames")}
			sheet, err := intake.Read(strings.NewReader(file), intake.Options{Site: site})
			require.NoError(t, err)
			diff := sheet.Diff(site)
			if len(diff.Problems) > 0 {
				return
			}
			site = apply(site, diff.Payloads(accept))
			again := sheet.Diff(site)
			require.True(t, again.Empty(), "of\n%s\nis left\n%s", file, again)
		}
	})
}
