package main

import (
	"fmt"
	"strings"

	"pairwalk/projection/spectrum"
	"pairwalk/syncd/member"
)

type channelsCmd struct {
	momentFlags
	Move  bool `help:"Let hubs move too that have devices paired: it says what each move costs."`
	Apart bool `help:"No two hubs that hear each other may share a channel."`
}

func (channelsCmd) Help() string {
	return "Example: pairwalk channels --move\n\n" +
		"Gives every hub the mesh channel on which its devices and its neighbours disturb each other least, by the places of the devices and the Wi-Fi that was surveyed. " +
		"Choose channels before pairing: a later change needs a fresh push. The usual channel serves most sites. " +
		"Which channels may be planned is a setting: allowed_channels; so are region and usual_channel."
}

func (c *channelsCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		doc, err := m.Channels(moment, spectrum.Options{Move: c.Move, Apart: c.Apart})
		if err != nil {
			return err
		}
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.channels(doc)
		return nil
	})
}

func (a *app) channels(doc member.ChannelsAnswer) {
	a.printf("as of %s, as known to %s\n", short(doc.Moment.When), doc.Moment.Known)
	for _, n := range doc.Notes {
		a.println(a.dim("note: " + n))
	}
	if len(doc.Hubs) == 0 {
		a.println("No hub with mesh radio is on the schedule yet.")
		return
	}
	a.println()
	t := table{head: []string{"hub", "now", "plan", "disturbed now", "by plan", "why"}}
	for _, h := range doc.Hubs {
		t.add(h.ID, channel(h.Now), channel(h.Plan), thousandths(h.NowCost), thousandths(h.Cost), h.Why)
	}
	a.table(&t)
	for _, h := range doc.Hubs {
		if h.Now != h.Plan && len(h.Moves) > 0 {
			a.printf("\nmoving %s from %s to %d costs: %s\n", h.ID, fromChannel(h.Now), h.Plan, strings.Join(h.Moves, "; "))
		}
	}
	a.printf("\ndisturbed devices, expected: %s by this plan, %s as it is now", thousandths(doc.Cost), thousandths(doc.NowCost))
	if doc.Exact {
		a.println("; no plan is better.")
	} else {
		a.printf("; no plan gets below %s.\n", thousandths(doc.LowerBound))
	}
	if doc.Fewest > 1 {
		a.printf("Were no two hubs to share a channel that hear each other, it would take %d channels.\n", doc.Fewest)
	}
	a.bars(doc)
}

func fromChannel(n int) string {
	if n == 0 {
		return "a channel that nobody logged"
	}
	return fmt.Sprint(n)
}

func channel(n int) string {
	if n == 0 {
		return "-"
	}
	return fmt.Sprint(n)
}

// thousandths writes a count kept in thousandths with one digit.
func thousandths(n int64) string { return fmt.Sprintf("%.1f", float64(n)/1000) }

// bars draws how much of a hub's system each channel would disturb.
func (a *app) bars(doc member.ChannelsAnswer) {
	most := int64(0)
	for _, h := range doc.Hubs {
		for _, w := range h.Wifi {
			most = max(most, w.Disturbed)
		}
	}
	if most == 0 {
		return
	}
	a.printf("\nWi-Fi on each channel, from %c (none) to %c (%s devices disturbed); the planned channel in brackets\n", levels[0], levels[len(levels)-1], thousandths(most))
	head := "        "
	for _, w := range doc.Hubs[0].Wifi {
		head += fmt.Sprintf("%3d ", w.Channel)
	}
	a.println(strings.TrimRight(head, " "))
	for _, h := range doc.Hubs {
		line := fmt.Sprintf("%-8s", h.ID)
		for _, w := range h.Wifi {
			c := levels[int(w.Disturbed*int64(len(levels)-1)/most)]
			if w.Disturbed > 0 && c == levels[0] {
				c = levels[1]
			}
			if w.Channel == h.Plan {
				line += fmt.Sprintf(" [%c]", c)
			} else {
				line += fmt.Sprintf("  %c ", c)
			}
		}
		a.println(strings.TrimRight(line, " "))
	}
}

// levels are what bars are drawn with, from nothing to the most.
var levels = []rune(".:-=+*#@")
