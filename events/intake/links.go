package intake

import (
	"fmt"
	"math/big"
	"strings"

	"pairwalk/events"
)

// links is a list of measured links: how well b heard a.
var links = layout{
	kind: Links,
	columns: []column{
		{name: "a", also: "from,sender,transmitter,tx", need: true},
		{name: "b", also: "to,receiver,rx,heard by", need: true},
		{name: "rssi_dbm", also: "rssi,dbm,signal,signal dbm,signal strength"},
		{name: "pdr", also: "prr,delivered,delivery ratio,packet delivery ratio,pdr percent"},
		{name: "lqi", also: "link quality,link quality indicator"},
		{name: "when", also: "time,at,measured"},
	},
	row:   linkRow,
	whole: func(*reading) {},
	differs: func(s Sheet, site Listing, d *Diff) {
		entries(s, d, site.Links, func(p events.LinkMeasured) string { return fmt.Sprintf("%+v", p) })
	},
}

func linkRow(r *row) events.Payload {
	p := events.LinkMeasured{
		A: r.end("a"), B: r.end("b"),
		RSSI: r.dBm("rssi_dbm"), PDR: r.delivered("pdr"), LQI: r.whole("lqi", 0, lqiMost),
	}
	r.whenTold()
	if p.A == p.B && p.A != "" {
		r.wrong("b", fmt.Sprintf("%q is the same as a", p.B), "write the one that sent as a, and the one that heard it as b")
	}
	if r.cell("rssi_dbm")+r.cell("pdr")+r.cell("lqi") == "" {
		r.wrong("", "says nothing of the link", "write at least one of rssi_dbm, pdr and lqi")
	}
	return p
}

// end reads an end of a link: a device or a hub.
func (r *row) end(column string) events.Tag {
	tag := needName[events.Tag](r, column, "write the tag of a device, or a hub")
	_, device := r.opt.Site.Devices[tag]
	_, hub := r.opt.Site.Hubs[events.HubID(tag)]
	if tag != "" && !device && !hub {
		right := r.suggest(string(tag), "list it in the schedule first")
		r.wrong(column, fmt.Sprintf("%q is neither a device on the schedule nor a hub", tag), right)
	}
	return tag
}

// whenTold reads the time of a row, if it tells one.
func (r *row) whenTold() {
	if r.cell("when") != "" {
		r.when()
	}
}

// What a measurement may say. RSSI: IEEE 802.15.4-2020 §6.16.2.8 counts from
// -174 to +80 dBm; LQI: an octet, IEEE 802.15.4-2006 §6.9.8.
const (
	rssiLeast = -174
	rssiMost  = 80
	lqiMost   = 255
	// rssiOdd is stronger than any radio of this trade sends (common practice,
	// no source): most likely a minus was left out.
	rssiOdd = 20
)

// dBm reads a level to the nearest dBm; unknown where the cell is empty.
func (r *row) dBm(column string) events.Maybe[int] {
	cell := r.cell(column)
	if cell == "" {
		return events.Maybe[int]{}
	}
	v, err := number(cell, r.comma(column), true)
	if err != nil {
		r.wrong(column, err.Error(), "write dBm, such as -71")
		return events.Maybe[int]{}
	}
	n := round(v)
	if n < rssiLeast || n > rssiMost {
		r.wrong(column, fmt.Sprintf("%q is not between %d and %d dBm", clip(cell), rssiLeast, rssiMost), "write dBm, such as -71")
		return events.Maybe[int]{}
	}
	if n > rssiOdd {
		r.note(column, fmt.Sprintf("%d dBm is more than a radio sends; was a minus left out?", n))
	}
	return events.Some(int(n))
}

// delivered reads which share of packets came through, in millionths: 0.93 or
// 93 %. Under a heading that says percent, 93 is 93 %.
func (r *row) delivered(column string) events.Maybe[int64] {
	none := events.Maybe[int64]{}
	cell, percent := strings.CutSuffix(r.cell(column), "%")
	if cell == "" && !percent {
		return none
	}
	if h := r.headings[column].text; strings.Contains(h, "%") || strings.Contains(squash(h), "percent") {
		percent = !strings.HasSuffix(r.held(column).Text, "%") || r.held(column).Is != InNumber
	}
	v, err := number(tidy(cell), r.comma(column), false)
	if err != nil {
		r.wrong(column, err.Error(), "write 0.93 or 93 %")
		return none
	}
	one := big.NewRat(1, 1)
	if percent {
		v.Mul(v, big.NewRat(1, 100))
	} else if v.Cmp(one) > 0 {
		right := "write 0.93 or 93 %"
		if v.Cmp(big.NewRat(100, 1)) <= 0 {
			right = fmt.Sprintf("write %s %% if that is meant, or a share such as 0.93", tidy(cell))
		}
		r.wrong(column, fmt.Sprintf("%q is more than 1", clip(r.cell(column))), right)
		return none
	}
	if v.Sign() < 0 || v.Cmp(one) > 0 {
		r.wrong(column, fmt.Sprintf("%q is not between 0 and 1, or 0 %% and 100 %%", clip(r.cell(column))), "write 0.93 or 93 %")
		return none
	}
	return events.Some(round(v.Mul(v, big.NewRat(1_000_000, 1))))
}
