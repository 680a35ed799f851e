package intake_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
)

// surveys reads a survey with no problem in it.
func surveys(t *testing.T, file string, opt intake.Options) []events.WifiSurveyed {
	t.Helper()
	var out []events.WifiSurveyed
	for _, r := range good(t, file, opt).Rows {
		p := r.Payload.(events.WifiSurveyed)
		_, err := events.EncodeBody(p)
		require.NoError(t, err)
		out = append(out, p)
	}
	return out
}

func TestThePlacesOfASurvey(t *testing.T) {
	ap := func(channel, width, rssi int) events.AccessPoint {
		return events.AccessPoint{Channel: channel, Width: width, RSSI: rssi}
	}
	const head = "floor,x_m,y_m,channel,width_mhz,rssi_dbm\n"
	for _, tt := range []struct {
		name, file string
		want       []events.WifiSurveyed
	}{
		{"one access point", head + "2,3,4,6,20,-50\n", []events.WifiSurveyed{{Floor: "2", Place: events.XY{X: 3000, Y: 4000}, Heard: []events.AccessPoint{ap(6, 20, -50)}}}},
		{"several at a place, with another in between", head + "2,3,4,6,,-50\n2,9,9,11,22,-60\n2,3.0,\"4,0\",1,40,-70\n", []events.WifiSurveyed{
			{Floor: "2", Place: events.XY{X: 3000, Y: 4000}, Heard: []events.AccessPoint{ap(6, 20, -50), ap(1, 40, -70)}},
			{Floor: "2", Place: events.XY{X: 9000, Y: 9000}, Heard: []events.AccessPoint{ap(11, 22, -60)}}}},
		{"the same place on two floors is two", head + "2,3,4,6,,-50\nB1,3,4,6,,-50\n", []events.WifiSurveyed{
			{Floor: "2", Place: events.XY{X: 3000, Y: 4000}, Heard: []events.AccessPoint{ap(6, 20, -50)}},
			{Floor: "B1", Place: events.XY{X: 3000, Y: 4000}, Heard: []events.AccessPoint{ap(6, 20, -50)}}}},
		{"two alike are two", head + "2,3,4,6,,-50\n2,3,4,6,,-50\n", []events.WifiSurveyed{{Floor: "2", Place: events.XY{X: 3000, Y: 4000}, Heard: []events.AccessPoint{ap(6, 20, -50), ap(6, 20, -50)}}}},
		{"no width column, and feet", "level,x_ft,y_ft,chan,signal (dBm)\n2,10,0,13,-50\n", []events.WifiSurveyed{{Floor: "2", Place: events.XY{X: 3048}, Heard: []events.AccessPoint{ap(13, 20, -50)}}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			require.Equal(t, tt.want, surveys(t, tt.file, onTwoFloors()))
		})
	}
}

// Rows without a time go with the one above them of their place.
func TestASurveyIsOfOnePlaceAndTime(t *testing.T) {
	opt := onTwoFloors()
	opt.Day, opt.Now = at(t, "2026-03-02T00:00:00Z"), at(t, "2026-03-03T08:00:00Z")
	sheet := good(t, "floor,x_m,y_m,channel,rssi_dbm,when\n2,1,1,1,-51,10:00\n2,1,1,2,-52,\n2,2,2,3,-53,10:10\n2,1,1,4,-54,\n2,1,1,5,-55,11:00\n2,1,1,6,-56,\n2,1,1,7,-57,10:00\n", opt)
	var got []string
	for _, r := range sheet.Rows {
		var channels []int
		for _, a := range r.Payload.(events.WifiSurveyed).Heard {
			channels = append(channels, a.Channel)
		}
		got = append(got, fmt.Sprintf("row %d at %s: %v", r.Number, r.When.Value.Middle().Time().Format(time.TimeOnly), channels))
	}
	require.Equal(t, []string{"row 2 at 10:00:00: [1 2 4 7]", "row 4 at 10:10:00: [3]", "row 6 at 11:00:00: [5 6]"}, got)
}

func TestBadRowsOfASurvey(t *testing.T) {
	for _, tt := range []struct {
		name, region, row string // floor, x_m, y_m, channel, width_mhz, rssi_dbm
		want              string
	}{
		{"no floor", "", ",3,4,6,,-50", "row 2, column floor: is empty; write its name as the floors sheet does, such as B1"},
		{"an unknown floor", "", "3,3,4,6,,-50", `row 2, column floor: "3" is not a floor of the site; the site's floors are 2, B1`},
		{"no x", "", "2,,4,6,,-50", "row 2, column x_m: is empty; write where it was heard"},
		{"no y", "", "2,3,,6,,-50", "row 2, column y_m: is empty; write where it was heard"},
		{"no channel", "", "2,3,4,,,-50", "row 2, column channel: is empty; write the channel, 1 to 14"},
		{"no level", "", "2,3,4,6,,", "row 2, column rssi_dbm: is empty; write dBm, such as -71"},
		{"no such level", "", "2,3,4,6,,-500", `row 2, column rssi_dbm: "-500" is not between -174 and 80 dBm; write dBm, such as -71`},
		{"channel 0", "", "2,3,4,0,,-50", `row 2, column channel: "0" is not a whole number from 1 to 233`},
		{"a channel of another band", "", "2,3,4,36,,-50", "row 2, column channel: 36 is not a channel of 2.4 GHz Wi-Fi, which are 1 to 14; leave out what is on other bands: it doesn't disturb the mesh"},
		{"a mesh channel in a region", "EU", "2,3,4,15,,-50", "row 2, column channel: 15 is not a channel of 2.4 GHz Wi-Fi, which are 1 to 14; leave out what is on other bands: it doesn't disturb the mesh"},
		{"12 in the US", "US", "2,3,4,12,,-50", "row 2, column channel: 12 is not a channel of 2.4 GHz Wi-Fi in region US, which are 1 to 11; is the setting region right?"},
		{"14 in Europe", "eu", "2,3,4,14,,-50", "row 2, column channel: 14 is not a channel of 2.4 GHz Wi-Fi in region EU, which are 1 to 13; is the setting region right?"},
		{"a wide channel of another band", "", "2,3,4,6,80,-50", `row 2, column width_mhz: "80" is not a width of 2.4 GHz Wi-Fi; write one of 20, 22, 40, or nothing for 20`},
		{"a place far away", "", "2,300,9999999,6,,-50", `row 2, column y_m: "9999999" is not between -1000000 m and 1000000 m; is the unit in the column's heading right?`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			opt := onTwoFloors()
			opt.Region = tt.region
			sheet := read(t, "floor,x_m,y_m,channel,width_mhz,rssi_dbm\n"+tt.row+"\n", opt)
			require.Equal(t, []string{tt.want}, texts(sheet.Problems))
			require.Empty(t, sheet.Rows)
		})
	}
}

// Channels by region: IEEE 802.11-2020 Annex E has 1 to 14; the bands of the
// regions were seen in printouts of the Linux wireless regulatory database.
func TestTheChannelsOfARegion(t *testing.T) {
	for region, last := range map[string]int{"": 14, "JP": 14, "EU": 13, "US": 11, "Elsewhere": 14} {
		t.Run(region, func(t *testing.T) {
			opt := intake.Options{Region: region}
			for channel := 1; channel <= 14; channel++ {
				sheet := read(t, fmt.Sprintf("floor,x_m,y_m,channel,rssi_dbm\n2,1,1,%d,-50\n", channel), opt)
				require.Equal(t, channel > last, len(sheet.Problems) > 0, "channel %d", channel)
			}
		})
	}
}

func TestALoudAccessPointIsSaid(t *testing.T) {
	sheet := good(t, "floor,x_m,y_m,channel,rssi_dbm\n2,1,1,6,50\n")
	require.Equal(t, []string{"row 2, column rssi_dbm: 50 dBm is more than a radio sends; was a minus left out?"}, texts(sheet.Notes))
}

// A place that is taken without one of its rows would seem quieter than it is.
func TestABadRowSpoilsItsPlace(t *testing.T) {
	sheet := read(t, "floor,x_m,y_m,channel,rssi_dbm\n2,1,1,6,-50\n2,1,1,6,loud\n2,1,1,1,-60\n2,5,5,11,-70\n2,,5,11,-70\n")
	require.Equal(t, []string{
		`row 3, column rssi_dbm: "loud" is not a number: write it like 12.5, without a unit and without signs between thousands; write dBm, such as -71`,
		"row 6, column x_m: is empty; write where it was heard",
	}, texts(sheet.Problems))
	require.Equal(t, []string{"row 2: is not taken, nor is the rest of its place: row 3 of the same place is bad"}, texts(sheet.Notes))
	require.Len(t, sheet.Rows, 1)
	require.Equal(t, 5, sheet.Rows[0].Number)
}

func TestASurveyHoldsSoManyAccessPoints(t *testing.T) {
	file := "floor,x_m,y_m,channel,rssi_dbm\n" + strings.Repeat("2,1,1,6,-50\n", 500)
	require.Len(t, surveys(t, file, intake.Options{})[0].Heard, 500)
	sheet := read(t, file+"2,1,1,6,-50\n")
	require.Equal(t, []string{"row 502: is one more than the 500 access points that the survey from row 2 holds; leave the weakest out"}, texts(sheet.Problems))
}

func TestSurveysAreLoggedOnce(t *testing.T) {
	const first = "floor,x_m,y_m,channel,rssi_dbm,when\n2,1,1,6,-50,10:00\n2,1,1,1,-60,10:00\n2,5,5,11,-70,\n"
	for _, tt := range []struct {
		name, file string
		want       []string
	}{
		{"the same file", first, []string{"2 the same, 1 of them without a time: write when, if they were measured again"}},
		{"its rows in another order", "floor,x_m,y_m,channel,rssi_dbm,when\n2,1,1,1,-60,10:00\n2,1,1,6,-50,10:00\n", []string{"1 the same"}},
		{"one access point more", "floor,x_m,y_m,channel,rssi_dbm\n2,5,5,11,-70\n2,5,5,1,-70\n", []string{"log: surveyed Wi-Fi on floor 2: 2 heard (row 2)", "0 the same"}},
		{"another width", "floor,x_m,y_m,channel,width_mhz,rssi_dbm\n2,5,5,11,22,-70\n", []string{"log: surveyed Wi-Fi on floor 2: 1 heard (row 2)", "0 the same"}},
		{"another floor", "floor,x_m,y_m,channel,rssi_dbm\nB1,5,5,11,-70\n", []string{"log: surveyed Wi-Fi on floor B1: 1 heard (row 2)", "0 the same"}},
		{"another time", "floor,x_m,y_m,channel,rssi_dbm,when\n2,5,5,11,-70,10:00\n", []string{"log: surveyed Wi-Fi on floor 2: 1 heard (row 2)", "0 the same"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			opt := onTwoFloors()
			opt.Day, opt.Now = at(t, "2026-03-02T00:00:00Z"), at(t, "2026-03-03T08:00:00Z")
			before := good(t, first, opt).Diff(opt.Site)
			require.Len(t, before.Entries, 2)
			opt.Site = logged(opt.Site, before)
			require.Equal(t, tt.want, strings.Split(strings.TrimSpace(good(t, tt.file, opt).Diff(opt.Site).String()), "\n"))
		})
	}
}
