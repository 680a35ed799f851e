package handover

import (
	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// networkPart says what breaks the network, and where it has no second way.
func (c *composer) networkPart() Part {
	points := Table{
		Caption: "Single points of failure, the worst first",
		Columns: []Column{{"If this goes", 2, false}, {"Hub", 1, false}, {"These lose every sure way", 4, false}, {"These lose power with it", 4, false}, {"Of those, only seen to", 2, false}},
		None:    "None is known. Only devices with a sure path are judged; where a way is known by observation alone, nobody knows what carries it.",
	}
	for _, p := range c.points {
		points.Rows = append(points.Rows, []string{c.subject(p.Of), said(p.Hub), c.tags(p.Strands), c.tags(p.Dark), c.tags(p.Learned)})
	}
	islands := Table{
		Caption: "Islands: paired devices with no sure way home",
		Columns: []Column{{"Hub", 1, false}, {"Devices", 4, false}, {"How sure", 1, false}, {"Why", 4, false}},
		None:    "None is known.",
	}
	for _, x := range c.Net.Islands() {
		sure := "doubtful"
		if x.Sure {
			sure = "sure"
		}
		islands.Rows = append(islands.Rows, []string{said(x.Hub), c.tags(x.Devices), sure, sentence(x.Why)})
	}
	return Part{
		ID: "network", Title: "Network", Lead: "What a single failure takes down, and who has no second way home.",
		Blocks: []Block{points, islands, c.secondWays()},
	}
}

// secondWays lists, by hub, who has but one way home, and of whom that is not known.
func (c *composer) secondWays() Table {
	t := Table{
		Caption: "Second ways",
		Columns: []Column{{"Hub", 1, false}, {"No second way beside the first", 4, false}, {"Not known whether there is one", 4, false}},
		None:    "No devices are paired.",
	}
	for i := range c.site.Hubs {
		id := c.site.Hubs[i].Hub
		one := c.reaching(id, func(r mesh.Reach) bool { return r.Disjoint.Known && !r.Disjoint.Value })
		unknown := c.reaching(id, func(r mesh.Reach) bool { return r.Answer != mesh.No && !r.Disjoint.Known })
		if len(one)+len(unknown) > 0 {
			t.Rows = append(t.Rows, []string{said(id), c.meshTags(one), c.tags(unknown)})
		} else if all := c.reaching(id, func(mesh.Reach) bool { return true }); len(all) > 0 {
			t.Rows = append(t.Rows, []string{said(id), "none", ""})
		}
	}
	return t
}

func (c *composer) meshTags(tags []events.Tag) string {
	if len(tags) == 0 {
		return "none"
	}
	return c.tags(tags)
}

func (c *composer) reaching(hub events.HubID, holds func(r mesh.Reach) bool) []events.Tag {
	return c.devicesThat(func(d *projection.Device) bool {
		r, ok := c.Net.Reach(d.Device)
		return ok && r.Hub == hub && holds(r)
	})
}
