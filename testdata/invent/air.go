package invent

import (
	"fmt"
	"math"
	"strconv"

	"pairwalk/events"
)

// What radio really does at the works, which nobody there knows: it is a little
// kinder than the published average. Decibels.
const (
	lossAt10m  = 67.0 // ITU-R P.1238-10, office, 2440 MHz: 69.7
	lossDecade = 27.0 // 30
	lossSlab   = 12.5 // 14
	shadowing  = 3.5  // one standard deviation, from link to link
	antennas   = -6.0 // of both ends
	shelves    = 19.0 // steel shelving that is on no plan
)

// probe is a link that two people walked on the day before the job, one with a
// sending and one with a receiving test radio. Share is what arrived of a
// thousand packets, empty where nobody counted; LQI is as the test radio gave it.
type probe struct {
	a, b    events.Tag
	behind  float64 // dB that no plan tells of
	share   string
	quality string
	when    string
}

// probes are near and far ones, some through a slab; 1-122 to 1-132 goes through
// the shelving of the store on floor 1.
var probes = []probe{
	{a: "H1", b: "B1-103", quality: "255", when: "2026-03-02 14:05"},
	{a: "H1", b: "B1-114", share: "1", quality: "251", when: "2026-03-02 14:08"},
	{a: "H1", b: "B1-128", when: "2026-03-02 14:12"},
	{a: "H1", b: "B1-110", share: "0.998", when: "2026-03-02 14:16"},
	{a: "H1", b: "0-106", when: "2026-03-02 14:25"},
	{a: "H1", b: "0-118", share: "0.997", when: "2026-03-02 14:28"},
	{a: "H2", b: "0-160", quality: "248", when: "2026-03-02 14:40"},
	{a: "H2", b: "1-140", when: "2026-03-02 14:52"},
	{a: "1-122", b: "1-132", behind: shelves, share: "0.87", quality: "96", when: "2026-03-02 15:01"},
	{a: "1-162", b: "1-180", share: "0.999", when: "2026-03-02 15:07"},
	{a: "H4", b: "3-146", quality: "255", when: "2026-03-02 15:20"},
	{a: "H4", b: "3-152", share: "1", when: "2026-03-02 15:23"},
	{a: "3-152", b: "H4", share: "0.999", when: "2026-03-02 15:24"},
}

// links are the probes' levels, by the truth above.
func links(site []events.Payload) File {
	at := map[events.Tag]events.Point{}
	for _, p := range site {
		switch p := p.(type) {
		case events.HubListed:
			at[events.Tag(p.Hub)] = p.Place.Value
		case events.DeviceListed:
			at[p.Device] = p.Place.Value
		}
	}
	chance := dice(2026, 11)
	f := File{Header: []string{"a", "b", "rssi_dbm", "pdr", "lqi", "when"}}
	for _, p := range probes {
		a, b := at[p.a], at[p.b]
		metres := math.Sqrt(float64((a.X-b.X)*(a.X-b.X)+(a.Y-b.Y)*(a.Y-b.Y)+(a.Z-b.Z)*(a.Z-b.Z))) / 1000
		slabs := math.Abs(math.Floor(float64(a.Z)/storey) - math.Floor(float64(b.Z)/storey))
		loss := lossAt10m + lossDecade*math.Log10(metres/10) + lossSlab*slabs + shadowing*chance.NormFloat64() + p.behind
		f.Rows = append(f.Rows, []string{string(p.a), string(p.b), strconv.Itoa(int(math.Round(antennas - loss))), p.share, p.quality, p.when})
	}
	return f
}

// heard is the Wi-Fi at a place.
type heard struct {
	floor events.FloorID
	x, y  float64
	aps   []accessPoint
}

type accessPoint struct{ channel, width, level int }

// surveyed is what was heard, strongest where its access point is near. The
// house's own Wi-Fi is on 1, 6 and 11, which leaves mesh channels 15, 20, 25 and
// 26 free (radio.Clear), and 25 is the usual one. But the studio in the wing has
// its bridge on 13, as is allowed where the works are; that covers 23 to 26, the
// louder the nearer to the wing. And behind the cellar wall is a neighbour with a
// channel of 40 MHz, 6 and the ones beside it, which leaves 24 to 26 there. So no
// channel is free everywhere, and the usual one for all is wrong twice: the hubs
// disturb each other, and Wi-Fi three of them.
var surveyed = []heard{
	{"B1", 3, 3.5, []accessPoint{{6, 40, -52}, {1, 20, -78}, {11, 20, -83}}},
	{"B1", 21, 4, []accessPoint{{6, 40, -60}, {1, 20, -74}, {11, 20, -80}}},
	{"B1", 30, 22, []accessPoint{{6, 40, -71}, {1, 20, -86}}},
	{"0", 6, 3.5, []accessPoint{{1, 20, -49}, {6, 20, -70}, {6, 40, -68}, {13, 20, -77}}},
	{"0", 33, 3.5, []accessPoint{{6, 20, -47}, {1, 20, -68}, {11, 20, -72}, {13, 20, -58}}},
	{"0", 57, 3.5, []accessPoint{{11, 20, -55}, {6, 20, -69}, {13, 20, -49}}},
	{"1", 6, 3.5, []accessPoint{{11, 20, -51}, {1, 20, -66}, {13, 20, -74}}},
	{"1", 33, 3.5, []accessPoint{{1, 20, -50}, {6, 20, -67}, {11, 20, -70}, {13, 20, -56}}},
	{"1", 57, 3.5, []accessPoint{{6, 20, -53}, {1, 20, -71}, {13, 20, -45}}},
	{"3", 15, 3.5, []accessPoint{{6, 20, -48}, {11, 20, -69}, {13, 20, -66}}},
	{"3", 33, 3.5, []accessPoint{{11, 20, -54}, {6, 20, -63}, {1, 20, -74}, {13, 20, -52}}},
	{"3", 48, 4, []accessPoint{{1, 20, -57}, {11, 20, -65}, {13, 20, -44}}},
	{"3", 57, 18, []accessPoint{{1, 20, -70}, {13, 20, -38}}},
}

func survey() File {
	f := File{Header: []string{"floor", "x_m", "y_m", "channel", "width_mhz", "rssi_dbm"}}
	for _, h := range surveyed {
		for _, ap := range h.aps {
			f.Rows = append(f.Rows, []string{
				string(h.floor), fmt.Sprintf("%.1f", h.x), fmt.Sprintf("%.1f", h.y),
				strconv.Itoa(ap.channel), strconv.Itoa(ap.width), strconv.Itoa(ap.level),
			})
		}
	}
	return f
}
