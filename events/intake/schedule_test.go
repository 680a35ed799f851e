package intake_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// Each file has one bad row, or two that can't both be true, and says so.
func TestEveryBadRowIsNamed(t *testing.T) {
	const bare = "tag,kind,hub\n"
	long := strings.Repeat("x", 65)
	for _, tt := range []struct {
		name, file string
		want       []string
	}{
		{"a kind misspelt", bare + "2-101,dimer,H1\n", []string{`row 2, column kind: "dimer" is not a kind of device; did you mean dimmer? (dimmer, switch, driver, wall-control, sensor, relay, wired-remote, standalone, portable, hub)`}},
		{"a kind that is none", bare + "2-101,teapot,H1\n", []string{`row 2, column kind: "teapot" is not a kind of device; write one of dimmer, switch, driver, wall-control, sensor, relay, wired-remote, standalone, portable, hub`}},
		{"no tag", bare + ",dimmer,H1\n", []string{`row 2, column tag: is empty; give the position a name of its own, such as 2-114`}},
		{"no hub", bare + "2-101,dimmer,\n", []string{`row 2, column hub: is empty; write the hub that it belongs to, such as H1`}},
		{"one tag twice", bare + "2-101,dimmer,H1\n2-102,dimmer,H1\n2-101,driver,H1\n", []string{`row 4, column tag: "2-101" is on row 2 already; give each its own row and name`}},
		{"too many cells", bare + "2-101,dimmer,H1,oops\n", []string{`row 2: has 4 cells, but the header row only 3; a cell with the separator in it belongs in quotation marks`}},
		{"a stray quote", bare + "2-101,5\" dimmer,H1\n2-102,dimmer,H1\n", []string{`row 2: a quotation mark is out of place; put quotation marks around the whole cell, and write each one inside it twice ("")`}},
		{"a quote never closed", bare + "2-101,dimmer,H1\n2-102,\"dimmer,H1\n", []string{`row 3: a quotation mark is out of place; put quotation marks around the whole cell, and write each one inside it twice ("")`}},
		{"not UTF-8", bare + "2-101,dimmer,H1\nB\xfcro,dimmer,H1\n", []string{`row 3, column tag: is not UTF-8 text; save the sheet as CSV in UTF-8`}},
		{"a formula", bare + "=A1,dimmer,H1\n", []string{`row 2, column tag: "=A1" is a formula; save the sheet with values in place of formulas`}},
		{"a line break in a tag", bare + "\"2-\n101\",dimmer,H1\n", []string{"row 2, column tag: \"2-\\n101\" has a line break or another control character in it; write it on one line"}},
		{"a tag too long", bare + long + ",dimmer,H1\n", []string{"row 2, column tag: is 65 characters long; the most is 64"}},
		{"the file's own heading is named", "Position,Sort,Controller\n2-101,dimer,H1\n", []string{`row 2, column Sort: "dimer" is not a kind of device; did you mean dimmer? (dimmer, switch, driver, wall-control, sensor, relay, wired-remote, standalone, portable, hub)`}},
		{"a radio that is none", "tag,kind,hub,radio\n2-101,dimmer,H1,mash\n", []string{`row 2, column radio: "mash" is not a radio; did you mean mesh? (mesh, star, both)`}},
		{"both radios in a device", "tag,kind,hub,radio\n2-101,dimmer,H1,both\n", []string{`row 2, column radio: only a hub speaks both radios; write mesh or star`}},
		{"a power that is none", "tag,kind,hub,power\n2-101,dimmer,H1,solar\n", []string{`row 2, column power: "solar" is not a way to feed a device; write one of mains, battery`}},
		{"perhaps an emergency", "tag,kind,hub,emergency\n2-101,driver,H1,maybe\n", []string{`row 2, column emergency: "maybe" is not yes or no; write one of yes, no`}},
		{"a date of another country", "tag,kind,hub,warranty_start\n2-101,driver,H1,31.3.2026\n", []string{`row 2, column warranty_start: "31.3.2026" is not a date; write it like 2026-03-31`}},
		{"a date that is none", "tag,kind,hub,warranty_start\n2-101,driver,H1,2026-02-30\n", []string{`row 2, column warranty_start: "2026-02-30" is not a date; write it like 2026-03-31`}},
		{"a date in antiquity", "tag,kind,hub,warranty_start\n2-101,driver,H1,0206-03-31\n", []string{`row 2, column warranty_start: "0206-03-31" is not a date; write it like 2026-03-31`}},
		{"a warranty below nothing", "tag,kind,hub,warranty_months\n2-101,driver,H1,-3\n", []string{`row 2, column warranty_months: "-3" is not a whole number from 1 to 1200`}},
		{"half a place", "tag,kind,hub,x_m,y_m\n2-101,driver,H1,3.5,\n", []string{`row 2, column y_m: is missing, and x_m is not; a place takes both, or neither`}},
		{"a column of the place lacks", "tag,kind,hub,y_m\n2-101,driver,H1,3.5\n", []string{`row 2, column x_m: is missing, and y_m is not; a place takes both, or neither`}},
		{"a length in words", "tag,kind,hub,x_m,y_m\n2-101,driver,H1,3m,4\n", []string{`row 2, column x_m: "3m" is not a number: write it like 12.5, without a unit and without signs between thousands`}},
		{"perhaps thousands", "tag,kind,hub,x_m,y_m\n2-101,driver,H1,\"1,234\",4\n", []string{`row 2, column x_m: "1,234" may be a fraction or thousands: write 1234 or 1.2340`}},
		{"thousands for sure", "tag,kind,hub,x_m,y_m\n2-101,driver,H1,\"1,234.5\",4\n", []string{`row 2, column x_m: "1,234.5" is not a number: write it like 12.5, without a unit and without signs between thousands`}},
		{"perhaps thousands of mm", "tag;kind;hub;x_mm;y_mm\n2-101;driver;H1;1.234;4\n", []string{`row 2, column x_mm: "1.234" may be a fraction or thousands: write 1234 or 1.2340`}},
		{"deep under the sea", "tag,kind,hub,x_m,y_m,z_m\n2-101,driver,H1,1,1,-2700\n", []string{`row 2, column z_m: "-2700" is not between -1000 m and 10000 m; is the unit in the column's heading right?`}},
		{"mm called m", "tag,kind,hub,x_m,y_m,z_m\n2-101,driver,H1,3.5,1,0\n2-102,driver,H1,7200,1,0\n", []string{`row 3, column x_m: is 7196.5 m from the place on row 2; is the unit in the column's heading right?`}},
		{"mm called m, southward", "tag,kind,hub,x_m,y_m,z_m\n2-101,driver,H1,3.5,7200,0\n2-102,driver,H1,3.5,1,0\n", []string{`row 3, column y_m: is 7199 m from the place on row 2; is the unit in the column's heading right?`}},
		{"a floor nobody knows the height of", "tag,kind,hub,floor,x_m,y_m\n2-101,driver,H1,2,3.5,1\n", []string{`row 2, column z_m: is empty, and how high floor "2" lies is not known; import a floors sheet first, or write z_m`}},
		{"renamed to itself", "tag,kind,hub,was\n2-101,driver,H1,2-101\n", []string{`row 2, column was: "2-101" is the tag it has now; leave it empty unless the tag has changed`}},
		{"one tag given up twice", "tag,kind,hub,was\n2-101,driver,H1,2-1\n2-102,driver,H1,2-1\n", []string{`row 3, column was: "2-1" is on row 2 already; give each its own row and name`}},
		{"two devices swap names", "tag,kind,hub,was\n2-101,driver,H1,2-102\n2-102,driver,H1,2-101\n", []string{
			`row 2, column was: "2-102" is listed on row 3; a tag that was given up can't be used again in the same file`,
			`row 3, column was: "2-101" is listed on row 2; a tag that was given up can't be used again in the same file`,
		}},
		{"a hub of another hub", bare + "H1,hub,H2\n", []string{`row 2, column hub: "H2" is another hub than the tag "H1"; leave it empty, or write the tag again`}},
		{"a hub renamed", "tag,kind,hub,was\nH2,hub,,H1\n", []string{`row 2, column was: a hub can't be renamed from "H1"; list it under its new name, and strike the old one when its devices have moved`}},
		{"a hub listed twice", bare + "H1,hub,\nH1,hub,\n", []string{`row 3, column tag: "H1" is on row 2 already; give each its own row and name`}},
		{"a device called like a hub", bare + "2-101,dimmer,H1\nH1,dimmer,H2\n", []string{`row 3, column tag: "H1" is a hub on row 2; a hub's own row is of kind hub; give a device another name`}},
		{"a room of two shapes", "tag,kind,hub,room,geometry\n2-101,dimmer,H1,204,cell\n2-102,dimmer,H1,204,open\n", []string{`row 3, column geometry: "open", but room 204 is "cell" on row 2; a room has one geometry`}},
		{"all that is wrong, by row", bare + "2-101,dimer,\n,relay,H1\n", []string{
			`row 2, column kind: "dimer" is not a kind of device; did you mean dimmer? (dimmer, switch, driver, wall-control, sensor, relay, wired-remote, standalone, portable, hub)`,
			`row 2, column hub: is empty; write the hub that it belongs to, such as H1`,
			`row 3, column tag: is empty; give the position a name of its own, such as 2-114`,
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sheet := read(t, tt.file)
			require.Equal(t, tt.want, texts(sheet.Problems))
			bad := map[int]bool{}
			for _, p := range sheet.Problems {
				bad[p.Row] = true
			}
			for _, r := range sheet.Rows {
				require.False(t, bad[r.Number], "row %d has a problem and was taken", r.Number)
			}
		})
	}
}

func TestAllOfARow(t *testing.T) {
	sheet := good(t, `tag,kind,hub,radio,floor,room,x_ft,y_mm,z_m,circuit,power,emergency,was,maker,model,type,warranty_start,warranty_months,geometry,note
2-101,Driver,H1,Star,2,204,10,-3500,7.25,C3-7,Battery,Yes,2-99,Hollow Lane,HL-1,ceiling,2026-03-31,60,cell,"left, by the door"
H1,hub,,both,0,001,0,0,-1.5,C1-1,,,,,,,,,,riser
`)
	require.Equal(t, intake.Row{Number: 2, Was: "2-99", Payload: events.DeviceListed{
		Device: "2-101", Is: events.Driver, Hub: "H1", Radio: events.Star, Power: events.Battery, Floor: "2", Room: "204",
		Place: events.Some(events.Point{X: 3048, Y: -3500, Z: 7250}), Circuit: "C3-7", Emergency: true,
		Maker: "Hollow Lane", Model: "HL-1", Type: "ceiling", WarrantyStart: "2026-03-31", WarrantyMonths: 60, Geometry: "cell", Note: "left, by the door",
	}}, sheet.Rows[0])
	require.Equal(t, intake.Row{Number: 3, Payload: events.HubListed{
		Hub: "H1", Floor: "0", Room: "001", Place: events.Some(events.Point{Z: -1500}), Circuit: "C1-1", Note: "riser",
	}}, sheet.Rows[1])
}

func TestKindsAndWhatTheyRunOn(t *testing.T) {
	for _, tt := range []struct {
		kind string
		is   events.DeviceKind
		on   events.Power
	}{
		{"dimmer", events.Dimmer, events.Mains},
		{"switch", events.Switch, events.Mains},
		{"driver", events.Driver, events.Mains},
		{"Luminaire", events.Driver, events.Mains},
		{"wall-control", events.WallControl, events.Mains},
		{"Wall Control", events.WallControl, events.Mains},
		{"portable", events.WallControl, events.Battery},
		{"sensor", events.Sensor, events.Battery},
		{"occupancy_sensor", events.Sensor, events.Battery},
		{"relay", events.Relay, events.Mains},
		{"wired remote", events.WiredRemote, events.Mains},
		{"Stand-alone", events.Standalone, events.Mains},
	} {
		t.Run(tt.kind, func(t *testing.T) {
			d := device(t, good(t, "tag,kind,hub\n2-101,"+tt.kind+",H1\n"), 0)
			require.Equal(t, []any{tt.is, tt.on, events.Mesh}, []any{d.Is, d.Power, d.Radio})
		})
	}
	for _, k := range events.DeviceKinds {
		require.Equal(t, k, device(t, good(t, "tag,kind,hub\n2-101,"+string(k)+",H1\n"), 0).Is)
	}
}

func TestLengthsAreKeptToTheMillimetre(t *testing.T) {
	for _, tt := range []struct {
		header, cell string
		want         int64
	}{
		{"x_m", "12.5", 12_500}, {"x_m", "12,5", 12_500}, {"x_m", "-0.0005", -1}, {"x_m", "0.0004", 0}, {"x_m", "+3", 3_000},
		{"x_m", "0,123", 123}, {"x_m", "1234,5", 1_234_500}, {"x_m", "1.234", 1_234}, {"x_m", "−2.5", -2_500},
		{"x_mm", "12.5", 13}, {"x_mm", "1234", 1_234}, {"x_mm", "0.4", 0}, {"x_ft", "1", 305}, {"x_ft", "10", 3_048}, {"x_ft", "2.5", 762},
	} {
		t.Run(tt.header+" "+tt.cell, func(t *testing.T) {
			d := device(t, good(t, "tag,kind,hub,y_m,"+tt.header+"\n2-101,dimmer,H1,0,\""+tt.cell+"\"\n"), 0)
			require.Equal(t, tt.want, d.Place.Value.X)
		})
	}
	d := device(t, good(t, "tag;kind;hub;y_m;x_m\n2-101;dimmer;H1;0;1,234\n"), 0)
	require.Equal(t, int64(1_234), d.Place.Value.X, "with semicolons a comma is the decimal sign")
}

func TestWithoutAHeightADeviceLiesOnItsFloor(t *testing.T) {
	site := intake.Listing{
		Floors: map[events.FloorID]events.FloorListed{
			"2": {Floor: "2", Level: 2},
			"3": {Floor: "3", Level: 3, Elevation: events.Some(int64(11_000))},
		},
		Devices: map[events.Tag]events.DeviceListed{"3-101": {Device: "3-101", Floor: "3"}},
	}
	opt := intake.Options{Site: site}
	sheet := good(t, "tag,kind,hub,floor,x_m,y_m\n2-101,dimmer,H1,2,1,1\n3-101,dimmer,H1,3,1,1\nX,dimmer,H1,,1,1\n", opt)
	for i, want := range []int64{7_000, 11_000, 0} {
		require.Equal(t, want, device(t, sheet, i).Place.Value.Z)
	}
	sheet = good(t, "tag,kind,hub,x_m,y_m\n3-101,dimmer,H1,1,1\n", opt)
	require.Equal(t, int64(11_000), device(t, sheet, 0).Place.Value.Z, "a file without floors trusts the site's")
}

func TestWhatAHubHasNoPlaceForIsSaid(t *testing.T) {
	sheet := good(t, "tag,kind,hub,maker,z_m\nH1,hub,,Hollow Lane,\n2-101,dimmer,H1,,2.7\n")
	require.Equal(t, []string{
		"row 2, column maker: is not taken: it is for devices, and this is a hub",
		"row 3, column z_m: is not taken without x_m and y_m",
	}, texts(sheet.Notes))
}

func TestFloors(t *testing.T) {
	sheet := good(t, "floor,level,elevation_m\nB1,-1,\"-3,2\"\nground,0,\n")
	require.Equal(t, []intake.Row{
		{Number: 2, Payload: events.FloorListed{Floor: "B1", Level: -1, Elevation: events.Some(int64(-3_200))}},
		{Number: 3, Payload: events.FloorListed{Floor: "ground"}},
	}, sheet.Rows)

	sheet = read(t, "floor,level,elevation_m\n,1,0\n2,,0\n3,third,0\n4,4,high\n5,500,90000\n4,4,\n6,1000,\n")
	require.Equal(t, []string{
		"row 2, column floor: is empty; write its name as the schedule does, such as B1",
		"row 3, column level: is empty; write 0 for the ground floor, 1 for the one above, -1 for the one below",
		`row 4, column level: "third" is not a whole number from -99 to 999`,
		`row 5, column elevation_m: "high" is not a number: write it like 12.5, without a unit and without signs between thousands`,
		`row 6, column elevation_m: "90000" is not between -1000 m and 10000 m; is the unit in the column's heading right?`,
		`row 7, column floor: "4" is on row 5 already; give each its own row and name`,
		`row 8, column level: "1000" is not a whole number from -99 to 999`,
	}, texts(sheet.Problems))
}
