package handover

import (
	"fmt"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/settle"
	"pairwalk/projection/storey"
	"pairwalk/projection/walk"
)

// Compose writes what a pack says.
func Compose(src Source) Document {
	c := newComposer(src)
	return Document{
		Title:    "Handover pack",
		Under:    said(c.site.Name),
		Facts:    c.cover(),
		Practice: c.site.Practice,
		Foot:     c.foot(),
		Parts: []Part{
			c.summary(),
			c.cautions(),
			c.floorPart(),
			c.devicePart(),
			c.hubPart(),
			c.networkPart(),
			c.testPart(),
			c.faultPart(),
			c.caretaker(),
			c.electrician(),
			c.inspector(),
			c.office(),
			c.people(),
			c.record(),
		},
	}
}

// composer writes one document.
type composer struct {
	Source
	site      *projection.Site
	zone      *time.Location
	ranges    events.Ranges
	told      []projection.Told
	conflicts []projection.Conflict
	points    []mesh.SinglePoint
	floorOf   map[events.Tag]events.FloorID
	hubFloor  map[events.HubID]events.FloorID
	floors    []floor // from the lowest up, those in use and those listed
	learned   map[events.Tag][]events.CircuitID
}

func newComposer(src Source) *composer {
	s := src.Site
	c := &composer{
		Source:    src,
		site:      s,
		zone:      s.Location(),
		told:      src.History.Told(src.Moment),
		conflicts: append(append([]projection.Conflict(nil), s.Conflicts...), settle.Breaches(s)...),
		points:    src.Net.SinglePoints(),
		hubFloor:  map[events.HubID]events.FloorID{},
		learned:   map[events.Tag][]events.CircuitID{},
	}
	tags := make([]events.Tag, len(s.Devices))
	for i := range s.Devices {
		tags[i] = s.Devices[i].Device
	}
	c.ranges = events.RangesOf(tags)
	c.gatherFloors(storey.Of(s))
	for _, x := range s.Circuits {
		for _, t := range x.Learned {
			c.learned[t] = append(c.learned[t], x.ID)
		}
	}
	return c
}

// cover is what the pack is about, and as of when.
func (c *composer) cover() [][2]string {
	s := c.site
	kind := "a real job"
	if s.Practice {
		kind = "practice: everybody and everything in it is made up"
	}
	return [][2]string{
		{"Site", said(s.Name)},
		{"Kind", kind},
		{"As of", c.moment()},
		{"Time zone", c.zoneWords()},
		{"As known to", c.knower()},
		{"Made from", count(s.Entries, "entry") + " of the log, up to the heads below"},
		{"Handed over", c.handedOver()},
		{"Heads", c.shortHeads()},
		{"Site's name in the log", string(s.ID)},
		{"Edition", "pack of version " + said(c.Version)},
	}
}

func (c *composer) moment() string {
	return c.site.Moment.When.Value.Time().In(c.zone).Format("2006-01-02 15:04:05")
}

func (c *composer) zoneWords() string {
	if c.zone == time.UTC && c.site.Zone != "UTC" {
		return "UTC, since the site's own zone is not known"
	}
	return said(c.site.Zone) + "; at that moment UTC" + c.site.Moment.When.Value.Time().In(c.zone).Format("-07:00")
}

func (c *composer) knower() string {
	k := c.Moment.Known
	if k.Everything() {
		return "the log in this pack, and to nothing else; how far it reaches for each member stands in READ-ME-FIRST.txt"
	}
	words := said(c.site.MemberName(k.Member))
	if k.At.Known {
		words += " at " + c.at(k.At.Value)
	}
	return words
}

// handedOver is the newest signature for the whole site.
func (c *composer) handedOver() string {
	if s, ok := c.signedOver(); ok {
		return c.when(s.Signed) + ", signed by " + said(s.Signer) + asRole(s.As)
	}
	return "not yet: nobody has signed for the whole site"
}

func (c *composer) signedOver() (projection.Signature, bool) {
	var last projection.Signature
	for _, s := range c.site.Signed {
		if s.Of == events.Site() && (last.Signed.IsZero() || s.Signed.After(last.Signed)) {
			last = s
		}
	}
	return last, !last.Signed.IsZero()
}

func asRole(role string) string {
	if role == "" {
		return ""
	}
	return " as " + said(role)
}

func (c *composer) shortHeads() string {
	var out []string
	for _, f := range c.feeds() {
		h := c.site.Heads[f]
		out = append(out, fmt.Sprintf("%s %s to %d", said(c.site.MemberName(f.Key())), f.Short(), h.Seq))
	}
	return strings.Join(out, "; ")
}

func (c *composer) foot() string {
	return join(" · ", said(c.site.Name), "as of "+c.moment(), walk.CautionPermit)
}

func (c *composer) cautions() Part {
	p := Part{ID: "cautions", Title: "Cautions", Lead: "Read these before anybody works on what this pack describes."}
	for _, words := range []string{
		walk.CautionMains, walk.CautionEmergency, walk.CautionPower, walk.CautionHold, walk.CautionPush, walk.CautionHeight, walk.CautionPermit,
	} {
		p.Blocks = append(p.Blocks, Caution{words})
	}
	if tags := c.emergency(); len(tags) > 0 {
		p.Blocks = append(p.Blocks, Text{"Marked as emergency or egress lighting: " + c.tags(tags) + "."})
	} else {
		p.Blocks = append(p.Blocks, Text{"The schedule marks nothing as emergency or egress lighting. That does not show that there is none."})
	}
	return p
}

func (c *composer) emergency() []events.Tag {
	return c.devicesThat(func(d *projection.Device) bool { return d.Emergency && d.Struck == nil })
}

// devicesThat lists the positions of which something holds.
func (c *composer) devicesThat(holds func(d *projection.Device) bool) []events.Tag {
	var out []events.Tag
	for i := range c.site.Devices {
		if d := &c.site.Devices[i]; holds(d) {
			out = append(out, d.Device)
		}
	}
	return out
}
