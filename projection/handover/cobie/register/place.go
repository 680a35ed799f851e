package register

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// listings are the entries that last listed floors and rooms.
type listings struct {
	floors map[events.FloorID]*projection.Cause
	rooms  map[events.RoomID]*projection.Cause
}

func listed(h *projection.History, m projection.Moment) listings {
	l := listings{map[events.FloorID]*projection.Cause{}, map[events.RoomID]*projection.Cause{}}
	for _, told := range h.Told(m) {
		if told.Withdrawn != "" || told.Quarantined != "" {
			continue
		}
		switch p := told.Event.Payload.(type) {
		case events.FloorListed:
			l.floors[p.Floor] = &told.Cause
		case events.RoomListed:
			l.rooms[p.Room] = &told.Cause
		}
	}
	return l
}

// practice is said where people look, on a site that is made up.
const practice = "practice site: everything in it is made up"

func (r *register) facility() {
	t := r.tables["Facility"]
	name := t.names.give(r.site.Name)
	row := cells{
		"SiteName":                  r.site.Name,
		"LinearUnits":               "meters",
		"ExternalProjectObject":     notApplicable,
		"ExternalProjectIdentifier": notApplicable,
		"ExternalSiteObject":        "site",
		"ExternalSiteIdentifier":    string(r.site.ID),
	}
	if r.site.Practice {
		row["Description"] = practice
	}
	t.add(name, r.fromAs(&r.site.Opened, row, "ExternalSystem", "ExternalFacilityObject", "ExternalFacilityIdentifier"))
}

// spot is where the schedule puts something, and by which entry.
type spot struct {
	floor events.FloorID
	room  events.RoomID
	by    *projection.Cause
}

// spots are where all devices and hubs are, in their order.
func (r *register) spots() []spot {
	var out []spot
	for i := range r.site.Hubs {
		if h := &r.site.Hubs[i]; h.Struck == nil {
			out = append(out, spot{h.Floor, h.Room, h.Row})
		}
	}
	for i := range r.site.Devices {
		if d := &r.site.Devices[i]; d.Struck == nil {
			out = append(out, spot{d.Floor, d.Room, rowOf(d)})
		}
	}
	return out
}

func (r *register) floorRows() {
	t := r.tables["Floor"]
	r.floors = map[events.FloorID]string{"": ""}
	add := func(id events.FloorID, by *projection.Cause, row cells) {
		if _, there := r.floors[id]; there {
			return
		}
		r.floors[id] = t.names.give(string(id))
		row["Category"] = "Floor"
		t.add(r.floors[id], r.from(by, row))
	}
	for _, f := range r.site.Floors {
		add(f.Floor, r.lists.floors[f.Floor], cells{"Description": fmt.Sprintf("level %d", f.Level), "Elevation": metres(f.Elevation)})
	}
	named := map[events.FloorID]*projection.Cause{}
	var order []events.FloorID
	note := func(id events.FloorID, by *projection.Cause) {
		if _, there := named[id]; !there {
			order = append(order, id)
		}
		named[id] = first(named[id], by)
	}
	for _, room := range r.site.Rooms {
		note(room.Floor, r.lists.rooms[room.Room])
	}
	for _, s := range r.spots() {
		note(s.floor, s.by)
	}
	for _, id := range order {
		add(id, named[id], cells{})
	}
}

func (r *register) spaceRows() {
	t := r.tables["Space"]
	r.spaces = map[events.RoomID]string{"": ""}
	add := func(p events.RoomListed, by *projection.Cause) {
		if _, there := r.spaces[p.Room]; there {
			return
		}
		key := t.names.give(string(p.Room))
		r.spaces[p.Room] = key
		t.add(key, r.from(by, cells{
			"Category": p.Geometry, "FloorName": r.floors[p.Floor], "RoomTag": string(p.Room),
			"Description": words("; ", p.Geometry, p.Note),
		}))
		if p.Geometry != "" {
			t.ask("Category", key, ownWords, false)
		}
	}
	for _, room := range r.site.Rooms {
		add(room, r.lists.rooms[room.Room])
	}
	var order []events.RoomID
	named := map[events.RoomID]spot{}
	for _, s := range r.spots() {
		was, there := named[s.room]
		switch {
		case !there:
			order = append(order, s.room)
		case was.floor != s.floor:
			s.floor = "" // it spans several, or they contradict each other
		}
		s.by = first(was.by, s.by)
		named[s.room] = s
	}
	for _, id := range order {
		add(events.RoomListed{Room: id, Floor: named[id].floor}, named[id].by)
	}
}
