package handover

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// office lists every detail of the schedule that nobody gave. It stays empty
// everywhere in the pack: nothing is made up.
func (c *composer) office() Part {
	t := Table{
		Caption: "What is missing",
		Columns: []Column{{"What", 3, false}, {"How many", 1, true}, {"Of which", 8, false}},
		None:    "Nothing that this pack could use is missing.",
	}
	add := func(what string, n int, which string) {
		if n > 0 {
			t.Rows = append(t.Rows, []string{what, fmt.Sprint(n), which})
		}
	}
	c.missingOfDevices(add)
	c.missingOfHubs(add)
	c.missingOfRooms(add)
	c.missingOfPeople(add)
	return Part{
		ID: "office", Title: "Ask the office",
		Lead:   "These details are not in the log, so they are left empty in this pack. The office or the supplier may have them.",
		Blocks: []Block{t},
	}
}

type adder func(what string, n int, which string)

func (c *composer) missingOfDevices(add adder) {
	for _, x := range []struct {
		what    string
		missing func(d *projection.Device) bool
	}{
		{"Maker", func(d *projection.Device) bool { return d.Maker == "" }},
		{"Model", func(d *projection.Device) bool { return d.Model == "" }},
		{"Type", func(d *projection.Device) bool { return d.Type == "" }},
		{"Start of warranty", func(d *projection.Device) bool { return d.WarrantyStart == "" }},
		{"Months of warranty", func(d *projection.Device) bool { return d.WarrantyMonths == 0 }},
		{"Serial", func(d *projection.Device) bool { return d.Serial == "" }},
		{"Kind", func(d *projection.Device) bool { return d.Is == "" }},
		{"Hub", func(d *projection.Device) bool { return hubOf(d) == "" && d.Is.Pairs() }},
		{"Radio", func(d *projection.Device) bool { return d.Radio == "" && d.Is.Pairs() }},
		{"Floor", func(d *projection.Device) bool { return c.floorOf[d.Device] == "" }},
		{"Room", func(d *projection.Device) bool { return d.Room == "" }},
		{"Place on the plan", func(d *projection.Device) bool { return !d.Place.Known }},
		{"Circuit of what runs on no battery, as far as known", func(d *projection.Device) bool { return d.Power != events.Battery && len(c.circuits(d)) == 0 }},
		{"Geometry of the space of a sensor", func(d *projection.Device) bool {
			return d.Is == events.Sensor && d.Geometry == "" && !c.hasGeometry(d.Room)
		}},
		{"A row on the schedule: found in the field", func(d *projection.Device) bool { return d.Row == nil }},
	} {
		tags := c.devicesThat(func(d *projection.Device) bool { return d.Struck == nil && x.missing(d) })
		add(x.what, len(tags), c.tags(tags))
	}
}

func (c *composer) hasGeometry(id events.RoomID) bool {
	for _, r := range c.site.Rooms {
		if r.Room == id {
			return r.Geometry != ""
		}
	}
	return false
}

func (c *composer) missingOfHubs(add adder) {
	for _, x := range []struct {
		what    string
		missing func(h *projection.Hub) bool
	}{
		{"Floor of a hub", func(h *projection.Hub) bool { return c.hubFloor[h.Hub] == "" }},
		{"Room of a hub", func(h *projection.Hub) bool { return h.Room == "" }},
		{"Place of a hub on the plan", func(h *projection.Hub) bool { return !h.Place.Known }},
		{"Circuit of a hub", func(h *projection.Hub) bool { return h.Circuit == "" }},
		{"Channel of a hub", func(h *projection.Hub) bool { return len(h.Channels) == 0 }},
		{"Program of a hub", func(h *projection.Hub) bool { return h.Program == "" }},
	} {
		var ids []string
		for i := range c.site.Hubs {
			if h := &c.site.Hubs[i]; h.Struck == nil && x.missing(h) {
				ids = append(ids, said(h.Hub))
			}
		}
		add(x.what, len(ids), strings.Join(ids, ", "))
	}
}

func (c *composer) missingOfRooms(add adder) {
	listed := map[events.FloorID]bool{}
	var flat, unlisted, nowhere []string
	for _, f := range c.site.Floors {
		listed[f.Floor] = true
		if !f.Elevation.Known {
			flat = append(flat, said(f.Floor))
		}
	}
	for _, f := range c.floors {
		if f.ID != "" && !listed[f.ID] {
			unlisted = append(unlisted, said(f.ID))
		}
	}
	rooms := map[events.RoomID]bool{}
	for _, r := range c.site.Rooms {
		rooms[r.Room] = true
		if r.Floor == "" {
			nowhere = append(nowhere, said(r.Room))
		}
	}
	var named []string
	for i := range c.site.Devices {
		if d := &c.site.Devices[i]; d.Struck == nil && d.Room != "" && !rooms[d.Room] {
			named = append(named, said(d.Room))
		}
	}
	named = unique(named)
	add("Elevation of a floor", len(flat), strings.Join(flat, ", "))
	add("Level and elevation of a floor that no list of floors has", len(unlisted), strings.Join(unlisted, ", "))
	add("Floor of a room", len(nowhere), strings.Join(nowhere, ", "))
	add("A row for a room that devices name", len(named), strings.Join(named, ", "))
}

func (c *composer) missingOfPeople(add adder) {
	var names []string
	for i := range c.site.Members {
		if m := &c.site.Members[i]; !strings.Contains(m.Contact, "@") {
			names = append(names, said(c.site.MemberName(m.Key)))
		}
	}
	add("E-mail address of a member", len(names), strings.Join(names, ", "))
}
