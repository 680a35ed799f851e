package mesh

import (
	"strconv"

	"pairwalk/events"
)

// joined joins what is not empty.
func joined(by string, parts ...string) string {
	out := ""
	for _, p := range parts {
		if out != "" && p != "" {
			out += by
		}
		out += p
	}
	return out
}

// whyObserved says what an observation rests on, and what is known of the path.
func (n *Net) whyObserved(r *Reach, f *field, v int32, said string) string {
	if r.Path != nil {
		return said + "; likely " + n.through(r)
	}
	if lack := f.lack(n.g, v); lack != "" {
		return said + "; " + lack + ", so no path is drawn"
	}
	return said + "; by the links known here it has no path, so none is drawn"
}

// whyJudged says what an answer by the graph rests on.
func (n *Net) whyJudged(r *Reach, f *field, v int32) string {
	if r.Path != nil && f.sure.reaches(v) {
		return n.through(r)
	}
	if r.Path != nil {
		return "a path is possible, not sure: " + n.through(r)
	}
	if r.Answer == No {
		return f.alone(n.g, v)
	}
	if lack := f.lack(n.g, v); lack != "" {
		return lack
	}
	return "no path is known; places are missing of " + count(f.unknown, "router") + " of " + string(r.Hub) + " that may carry it"
}

// lack says what is missing to predict a device's links, "" if nothing is.
func (f *field) lack(g *Ground, v int32) string {
	switch {
	case v == 0:
		return "it was not on " + string(f.hub.Hub) + " when the ground was surveyed"
	case f.w.dumb[bandOf(f.w.node(g, v).star)]:
		return string(f.hub.Hub) + " is scheduled without its radio"
	case !f.w.node(g, v).placed:
		return "no place is known of it"
	case !f.w.node(g, 0).placed:
		return "no place is known of " + string(f.hub.Hub)
	}
	return ""
}

// alone says why a device surely has no path.
func (f *field) alone(g *Ground, v int32) string {
	if f.w.node(g, v).star {
		return "too far from " + string(f.hub.Hub) + ", or too much between"
	}
	near := 0
	for _, h := range f.w.any.Halves(v) {
		near += boolInt(f.up[h.To] && f.relays[h.To])
	}
	if near > 0 {
		return "no link, not even a doubtful one, leads on to " + string(f.hub.Hub) + " from its island"
	}
	return "neither " + string(f.hub.Hub) + " nor a paired router of it is near enough"
}

// through tells a path and its weakest link: "through 2-110 and 2-104; weakest
// link 2-114–2-110, margin 12–18 dB". It writes into one buffer, since there are
// thousands of paths.
func (n *Net) through(r *Reach) string {
	b := n.ink[:0]
	if between := r.Path[1 : len(r.Path)-1]; len(between) == 0 {
		b = append(append(b, "straight to "...), r.Path[1]...)
		b = append(b, "; "...)
	} else {
		b = appendTags(append(b, "through "...), between)
		b = append(append(b, "; weakest link "...), r.Weakest.A...)
		b = append(append(b, "–"...), r.Weakest.B...)
		b = append(b, ", "...)
	}
	if r.Weakest.Measured != nil {
		b = append(append(b, "measured "...), n.clock.at(r.Weakest.Measured.At)...)
		b = append(b, ", "...)
	}
	b = append(appendSpan(append(b, "margin "...), r.Weakest.Margin), " dB"...)
	n.ink = b
	return string(b)
}

// appendTags lists tags: all of up to three, else the first two and how many more.
func appendTags(b []byte, list []events.Tag) []byte {
	shown := len(list)
	if shown > 3 {
		shown = 2
	}
	for i, t := range list[:shown] {
		switch {
		case i == 0:
		case i == len(list)-1:
			b = append(b, " and "...)
		default:
			b = append(b, ", "...)
		}
		b = append(b, t...)
	}
	if more := len(list) - shown; more > 0 {
		b = append(strconv.AppendInt(append(b, " and "...), int64(more), 10), " more"...)
	}
	return b
}

// appendSpan writes a range of centi-dB in whole decibels.
func appendSpan(b []byte, r Range) []byte {
	lo, hi := whole(r.Lo), whole(r.Hi)
	b = strconv.AppendInt(b, lo, 10)
	if lo < 0 {
		b = append(b, " to "...)
	} else {
		b = append(b, "–"...)
	}
	return strconv.AppendInt(b, hi, 10)
}

// whole rounds centi-dB to decibels, halves up.
func whole(c int64) int64 { return floorDiv(c+50, 100) }

// count writes a number with its noun.
func count(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return strconv.Itoa(n) + " " + noun
}
