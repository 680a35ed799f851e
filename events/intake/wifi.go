package intake

import (
	"fmt"
	"strings"
)

// wifiMost is the last channel of 2.4 GHz Wi-Fi: IEEE 802.11-2020, Annex E.
const wifiMost = 14

// wifiRegions says which is the last 2.4 GHz Wi-Fi channel of a region. Channel
// n of 20 MHz lies around 2407 + 5n MHz, and 14 around 2484; the bands are
// 2400–2472 MHz in the US, 2402–2482 MHz in Europe, and 2402–2482 and 2474–2494
// MHz in Japan (seen in printouts and copies of the Linux wireless regulatory
// database).
var wifiRegions = map[string]int{"US": 11, "EU": 13, "JP": 14}

// wifiChannel reads a channel of 2.4 GHz Wi-Fi that the site's region uses.
func (r *row) wifiChannel(column string) int {
	cell := r.cell(column)
	if cell == "" {
		r.wrong(column, "is empty", fmt.Sprintf("write the channel, 1 to %d", wifiMost))
		return 0
	}
	n := r.whole(column, 1, 233)
	region := strings.ToUpper(r.opt.Region)
	most, ok := wifiRegions[region]
	switch {
	case !n.Known:
	case n.Value > wifiMost:
		r.wrong(column, fmt.Sprintf("%d is not a channel of 2.4 GHz Wi-Fi, which are 1 to %d", n.Value, wifiMost), "leave out what is on other bands: it doesn't disturb the mesh")
	case ok && n.Value > most:
		r.wrong(column, fmt.Sprintf("%d is not a channel of 2.4 GHz Wi-Fi in region %s, which are 1 to %d", n.Value, region, most), "is the setting region right?")
	}
	return n.Value
}
