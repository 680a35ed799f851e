package intake

import (
	"fmt"

	"pairwalk/events"
)

// scheduleWhole looks for rows of a schedule that can't all be true.
func scheduleWhole(in *reading) {
	in.tagsAndHubs()
	in.tagsAndWas()
	in.roomShapes()
}

// complain notes a problem found after the row was read.
func (in *reading) complain(number int, column, wrong, right string) {
	r := row{reading: in, number: number}
	r.wrong(column, wrong, right)
}

// tagsAndHubs refuses one name for a device and a hub: a measured link knows
// its ends by name alone.
func (in *reading) tagsAndHubs() {
	hubs := map[events.HubID]int{}
	for _, r := range in.rows {
		if d, ok := r.Payload.(events.DeviceListed); ok && hubs[d.Hub] == 0 {
			hubs[d.Hub] = r.Number
		}
	}
	for _, r := range in.rows {
		d, ok := r.Payload.(events.DeviceListed)
		if number := hubs[events.HubID(d.Device)]; ok && number > 0 {
			in.complain(r.Number, "tag", fmt.Sprintf("%q is a hub on row %d", d.Device, number), "a hub's own row is of kind hub; give a device another name")
		}
	}
}

// tagsAndWas refuses a former tag that the same file lists: two devices would
// swap names, and swap again when the file is imported again.
func (in *reading) tagsAndWas() {
	for _, r := range in.rows {
		if number, listed := in.first["tag:"+string(r.Was)]; listed && r.Was != "" {
			in.complain(r.Number, "was", fmt.Sprintf("%q is listed on row %d", r.Was, number), "a tag that was given up can't be used again in the same file")
		}
	}
}

// roomShapes refuses two geometries for one room.
func (in *reading) roomShapes() {
	shapes := map[events.RoomID]Row{}
	for _, r := range in.rows {
		d, ok := r.Payload.(events.DeviceListed)
		if !ok || d.Room == "" || d.Geometry == "" {
			continue
		}
		first, known := shapes[d.Room]
		if !known {
			shapes[d.Room] = r
			continue
		}
		if g := first.Payload.(events.DeviceListed).Geometry; g != d.Geometry {
			in.complain(r.Number, "geometry", fmt.Sprintf("%q, but room %s is %q on row %d", d.Geometry, d.Room, g, first.Number), "a room has one geometry")
		}
	}
}
