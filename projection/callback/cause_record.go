package callback

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/walk"
)

// advise fills in what to check, what to mind, and how to record the outcome.
func (x *inquiry) advise(c *Cause) {
	s := adviceOf[c.Kind]
	d, _ := x.site.Device(c.Devices[0])
	hub := string(homeOf(d))
	plain := numbered(len(c.Devices), "{it}", c.Subject.Words(), "{them}", someOf(c.Devices), "{one}", string(c.Devices[0]), "{hub}", hub, "{what}", c.what)
	for _, step := range s.check {
		c.Check = append(c.Check, plain.Replace(step))
	}
	c.Cautions = slices.Clone(s.cautions)
	x.record(c, s.record)
	if egress := x.emergency(c); len(egress) > 0 {
		c.afterTheAuthority(egress)
	}
}

// emergency lists the devices of a cause, or the one it is about, that light the
// way out.
func (x *inquiry) emergency(c *Cause) []events.Tag {
	var out []events.Tag
	about, _ := c.Subject.Tag()
	for _, t := range append(slices.Clone(c.Devices), about) {
		if d, ok := x.site.Device(t); ok && d.Emergency && !slices.Contains(out, d.Device) {
			out = append(out, d.Device)
		}
	}
	return out
}

// touching are the steps and commands that change a device.
var touching = []string{"pair", "push", "reset", "have it listed", "else pair", "if it is the scheduled one", "log paired", "log unpaired", "log pushed", "settle "}

// afterTheAuthority puts the authority's word before anything that changes an
// emergency device, and offers no command that says it was done.
func (c *Cause) afterTheAuthority(egress []events.Tag) {
	if !slices.Contains(c.Cautions, walk.CautionEmergency) {
		c.Cautions = append([]string{walk.CautionEmergency}, c.Cautions...)
	}
	touches := func(step string) bool {
		return slices.ContainsFunc(touching, func(w string) bool { return strings.HasPrefix(step, w) }) || strings.Contains(step, "pair it") || strings.Contains(step, "push to")
	}
	if !slices.ContainsFunc(c.Check, touches) {
		return
	}
	for i, step := range c.Check {
		if touches(step) {
			c.Check[i] = "once the authority has said so: " + step
		}
	}
	ask := fmt.Sprintf("ask the authority having jurisdiction before anything is paired, pushed, dimmed or disabled: %s %s emergency lighting", someOf(egress), isAre(len(egress)))
	c.Check = append([]string{ask}, c.Check...)
	c.Record = slices.DeleteFunc(c.Record, func(line string) bool { return touches(strings.TrimPrefix(line, "pairwalk ")) })
	c.Record = append([]string{fmt.Sprintf("pairwalk log note %s 'WHAT THE AUTHORITY SAID'", quoted(string(egress[0])))}, c.Record...)
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// record fills in command lines with what the log knows; what it can't know is left
// in capitals.
func (x *inquiry) record(c *Cause, lines []string) {
	d, _ := x.site.Device(c.Devices[0])
	dark := c.main.Event.Kind() == (events.PowerOff{}).Kind()
	if c.Kind == ByMissed && d.Paired == nil {
		lines = append([]string{"log paired {them}"}, lines...)
	}
	restore := "log power-on"
	if !dark {
		restore = "log paired"
	}
	if c.Kind == ByPathRouter && dark {
		lines = []string{"log power-on {it}", "log heard {them}"}
	}
	id := c.main.Event.ID.String()
	typed := strings.NewReplacer(append(x.known(c, d), "{it}", argument(c.Subject), "{them}", quoted(tagList(c.Devices)), "{one}", quoted(string(c.Devices[0])),
		"{hub}", quoted(string(homeOf(d))), "{entry}", id[len(id)-6:], "{restore}", restore)...)
	for _, line := range lines {
		c.Record = append(c.Record, "pairwalk "+typed.Replace(line))
	}
	if c.Kind != BySingle {
		c.Record = append(c.Record, fmt.Sprintf("pairwalk void %s --why did-not-happen   (if that entry is wrong)", id[len(id)-6:]))
	}
}

// known is what the log knows of what command lines ask for.
func (x *inquiry) known(c *Cause, d *projection.Device) []string {
	program, test, trade, ends := "PROGRAM", "TEST", "TRADE", quoted(string(c.Devices[0]))+" OTHER"
	if h, ok := x.site.Hub(homeOf(d)); ok && h.Program != "" {
		program = quoted(string(h.Program))
	}
	switch p := c.main.Event.Payload.(type) {
	case events.CheckDone:
		test = quoted(string(p.Test))
	case events.FaultFound:
		if p.Trade != "" {
			trade = quoted(p.Trade)
		}
	case events.LinkMeasured:
		ends = quoted(string(p.A)) + " " + quoted(string(p.B))
	}
	return []string{"{program}", program, "{test}", test, "{trade}", trade, "{ends}", ends}
}
