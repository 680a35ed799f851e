package intake

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// survey is a list of Wi-Fi access points as heard at places.
var survey = layout{
	kind: Survey,
	columns: []column{
		{name: "floor", also: "storey,level", need: true},
		{name: "x", need: true, unit: true},
		{name: "y", need: true, unit: true},
		{name: "channel", also: "wifi channel,chan", need: true},
		{name: "width_mhz", also: "width,bandwidth,bandwidth mhz,channel width"},
		{name: "rssi_dbm", also: "rssi,dbm,signal,signal dbm,signal strength", need: true},
		{name: "when", also: "time,at,surveyed"},
	},
	row:   surveyRow,
	whole: surveyWhole,
	differs: func(s Sheet, site Listing, d *Diff) {
		entries(s, d, site.Surveys, sameSurvey)
	},
}

// The width of a channel where nobody says, and those of 2.4 GHz Wi-Fi in MHz:
// 22 with the older modulation (IEEE 802.11-2020 §15 and §16; value from memory).
const usualWidth = 20

var wifiWidths = []string{"20", "22", "40"}

// heardMost is how many access points a survey holds.
const heardMost = 500

// spot is where a row of a survey was taken.
type spot struct {
	floor events.FloorID
	place events.XY
}

func (s spot) String() string { return fmt.Sprintf("spot:%q %v", s.floor, s.place) }

func surveyRow(r *row) events.Payload {
	p := events.WifiSurveyed{Floor: r.onFloor()}
	x, y := r.length("x", -gridMost, gridMost), r.length("y", -gridMost, gridMost)
	for i, v := range []events.Maybe[int64]{x, y} {
		if !v.Known {
			r.wrong([]string{"x", "y"}[i], "is empty", "write where it was heard")
		}
	}
	known := p.Floor != "" && x.Known && y.Known
	if known {
		p.Place = events.XY{X: x.Value, Y: y.Value}
		r.near(events.Point{X: x.Value, Y: y.Value}, "x", "y")
	}
	rssi := r.dBm("rssi_dbm")
	if !rssi.Known {
		r.wrong("rssi_dbm", "is empty", "write dBm, such as -71")
	}
	p.Heard = []events.AccessPoint{{Channel: r.wifiChannel("channel"), Width: r.wifiWidth("width_mhz"), RSSI: rssi.Value}}
	r.whenTold()
	if key := (spot{p.Floor, p.Place}).String(); r.bad && known && r.first[key] == 0 {
		r.first[key] = r.number
	}
	return p
}

func (r *row) wifiWidth(column string) int {
	cell := r.cell(column)
	if cell == "" {
		return usualWidth
	}
	if !slices.Contains(wifiWidths, cell) {
		r.wrong(column, fmt.Sprintf("%q is not a width of 2.4 GHz Wi-Fi", clip(cell)), "write one of "+strings.Join(wifiWidths, ", ")+", or nothing for "+wifiWidths[0])
	}
	return int(r.whole(column, 1, 320).Value)
}

// surveyWhole makes one survey of the rows of one place and time. A row without
// a time goes with the one above it of its place. A place with a bad row is not
// taken at all: it would seem quieter than it is.
func surveyWhole(in *reading) {
	var out []Row
	last := map[spot]int{} // the survey of a place that was last added to
	byTime := map[string]int{}
	spoilt := map[spot]bool{}
	for _, r := range in.rows {
		p := r.Payload.(events.WifiSurveyed)
		at := spot{p.Floor, p.Place}
		if bad := in.first[at.String()]; bad > 0 {
			if !spoilt[at] {
				in.notes = append(in.notes, Problem{Row: r.Number, Wrong: fmt.Sprintf("is not taken, nor is the rest of its place: row %d of the same place is bad", bad)})
			}
			spoilt[at] = true
			continue
		}
		i, ok := last[at]
		if r.When.Known {
			i, ok = byTime[at.String()+r.timeKey()]
		}
		if !ok {
			i = len(out)
			out = append(out, r)
			byTime[at.String()+r.timeKey()] = i
		} else if in.roomFor(out[i], r) {
			q := out[i].Payload.(events.WifiSurveyed)
			q.Heard = slices.Concat(q.Heard, p.Heard)
			out[i].Payload = q
		}
		last[at] = i
	}
	in.rows = out
}

// roomFor complains where a survey has as many access points as it holds.
func (in *reading) roomFor(of, r Row) bool {
	if len(of.Payload.(events.WifiSurveyed).Heard) < heardMost {
		return true
	}
	in.complain(r.Number, "", fmt.Sprintf("is one more than the %d access points that the survey from row %d holds", heardMost, of.Number), "leave the weakest out")
	return false
}

// timeKey tells apart times of rows.
func (r Row) timeKey() string {
	if !r.When.Known {
		return ""
	}
	return fmt.Sprint(r.When.Value)
}

// sameSurvey is alike for surveys that heard the same at the same place.
func sameSurvey(p events.WifiSurveyed) string {
	heard := slices.Clone(p.Heard)
	slices.SortFunc(heard, func(a, b events.AccessPoint) int {
		return slices.Compare([]int{a.Channel, a.Width, a.RSSI}, []int{b.Channel, b.Width, b.RSSI})
	})
	return fmt.Sprintf("%s %v", spot{p.Floor, p.Place}, heard)
}
