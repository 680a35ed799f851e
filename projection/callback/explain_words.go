package callback

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// unseen is what no log knows.
const unseen = "It can't see a lamp or driver that died, a fuse or breaker nobody wrote down, a wall switch, furniture, or a setting changed at the hub itself. " +
	"First on site: is there power at the panel and at the fitting's supply, as a qualified person finds it? Does the hub answer? Does the hub hear the device? Then log what you find."

// verdict is the whole in a sentence or two. Where nothing that happened explains
// it, it says what came and went, since when devices were heard, and what the log
// can't see.
func (x *inquiry) verdict(e *Explanation) string {
	if e.Open {
		return strings.Join(slices.Concat([]string{x.nearest(e)}, x.cameBack(), x.lastHeard(), []string{unseen}), " ")
	}
	words := fmt.Sprintf("Likeliest: %s.", e.Causes[0].what)
	if n := len(e.Causes) - 1; n > 0 {
		words += fmt.Sprintf(" %s besides.", counted(n, "other cause"))
	}
	if len(e.Left) > 0 {
		words += fmt.Sprintf(" Nothing is known that would explain %s.", someOf(e.Left))
	}
	return words
}

// nearest says that nothing explains it, and what comes nearest.
func (x *inquiry) nearest(e *Explanation) string {
	switch {
	case e.Nothing:
		return "The log knows of nothing that would explain it."
	case e.Causes[0].Kind == BySingle:
		return "The log knows of nothing that is wrong now, but " + e.Causes[0].what + "."
	}
	return fmt.Sprintf("The log knows of nothing that would explain it well. What comes nearest: %s.", e.Causes[0].what)
}

// cameBack tells what took power or the way home of a device in the time asked
// about, and is back. The newest few are looked at: each takes the log to be folded
// twice.
func (x *inquiry) cameBack() []string {
	const few = 6
	var out []string
	all := x.passing()
	for _, p := range all[max(0, len(all)-few):] {
		var hit []events.Tag
		for _, d := range x.devices {
			if x.touches(p.of, p.off, d) {
				hit = append(hit, d.Device)
			}
		}
		if len(hit) > 0 {
			out = append(out, sentence(fmt.Sprintf("%s was off from %s to %s, and took power or the way home of %s until then", p.of.Words(), x.clock(p.off.At), x.clock(p.on.At), someOf(hit))))
		}
	}
	return out
}

// lastHeard tells by when devices were heard in the time asked about.
func (x *inquiry) lastHeard() []string {
	const few = 3
	var out []string
	for _, d := range x.devices {
		if d.Heard != nil && d.Heard.At > x.From.Value && len(out) < few {
			out = append(out, fmt.Sprintf("%s was last heard %s.", d.Device, x.clock(d.Heard.At)))
		}
	}
	return out
}

// notes lists what was noted in the time asked about on the subject, its devices
// and their rooms, the newest first.
func (x *inquiry) notes() []Evidence {
	about := map[events.Subject]bool{x.About: true}
	for _, d := range x.devices {
		about[events.Device(d.Device)] = true
		about[events.Room(d.Room)] = d.Room != ""
	}
	var kept []*projection.Note
	for i := range x.site.Notes {
		if n := &x.site.Notes[i]; about[n.Of] && n.Noted.At >= x.From.Value {
			kept = append(kept, n)
		}
	}
	slices.SortStableFunc(kept, func(a, b *projection.Note) int {
		return boolInt(b.Noted.After(a.Noted)) - boolInt(a.Noted.After(b.Noted))
	})
	var out []Evidence
	for _, n := range kept {
		out = append(out, x.evidence(n.Noted, ""))
	}
	return out
}
