package intake

import "pairwalk/events"

// floors is the list of floors.
var floors = layout{
	kind: Floors,
	columns: []column{
		{name: "floor", also: "storey,floor name", need: true},
		{name: "level", also: "floor number,number", need: true},
		{name: "elevation", also: "height,datum", unit: true},
	},
	row:     floorRow,
	whole:   func(*reading) {},
	differs: floorsDiff,
}

func floorRow(r *row) events.Payload {
	p := events.FloorListed{Floor: needName[events.FloorID](r, "floor", "write its name as the schedule does, such as B1")}
	level := r.whole("level", -99, 999)
	if !level.Known {
		r.wrong("level", "is empty", "write 0 for the ground floor, 1 for the one above, -1 for the one below")
	}
	p.Level = level.Value
	p.Elevation = r.length("elevation", deepest, highest)
	r.about(events.Floor(p.Floor))
	r.unique("floor", "floor", string(p.Floor))
	return p
}
