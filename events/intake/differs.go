package intake

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"pairwalk/events"
)

// compare adds a row's thing, amends it, or counts it as the same.
func compare[T events.Payload](d *Diff, number int, of events.Subject, before T, listed bool, row T, facets []facet[T], has func(string) bool) {
	if !listed {
		d.Adds = append(d.Adds, Add{number, row})
		return
	}
	after, changed := amend(before, row, facets, has)
	if len(changed) == 0 {
		d.Same++
		return
	}
	d.Amends = append(d.Amends, Amend{number, of, after, changed})
}

// strike suggests to strike what is listed and not named, in natural order; it
// keeps still where some row could not be read well enough to say what it names.
func strike[K ~string, V any](s Sheet, d *Diff, listed map[K]V, named func(K) bool, of func(K) events.Subject, payload func(K) events.Payload, touched map[K]bool) {
	for _, k := range slices.SortedFunc(maps.Keys(listed), events.ByName[K]) {
		if !s.blind && !named(k) {
			d.Strikes = append(d.Strikes, Strike{of(k), payload(k), touched[k]})
		}
	}
}

func floorsDiff(s Sheet, site Listing, d *Diff) {
	for _, r := range s.Rows {
		f := r.Payload.(events.FloorListed)
		before, listed := site.Floors[f.Floor]
		compare(d, r.Number, events.Floor(f.Floor), before, listed, f, floorFacets, s.has)
	}
	strike(s, d, site.Floors, func(f events.FloorID) bool { return s.named[events.Floor(f)] }, events.Floor,
		func(f events.FloorID) events.Payload { return events.FloorStruck{Floor: f, Why: struckWhy} }, nil)
}

func scheduleDiff(s Sheet, site Listing, d *Diff) {
	s.diffRooms(site, d)
	s.diffHubs(site, d)
	s.diffDevices(site, d)
	strike(s, d, site.Devices, s.namesDevice, events.Device,
		func(t events.Tag) events.Payload { return events.DeviceStruck{Device: t, Why: struckWhy} }, site.Touched)
	strike(s, d, site.Hubs, func(h events.HubID) bool { return s.named[events.Hub(h)] }, events.Hub,
		func(h events.HubID) events.Payload { return events.HubStruck{Hub: h, Why: struckWhy} }, nil)
	if s.has("room") {
		strike(s, d, site.Rooms, func(r events.RoomID) bool { return s.named[events.Room(r)] }, events.Room,
			func(r events.RoomID) events.Payload { return events.RoomStruck{Room: r, Why: struckWhy} }, nil)
	}
	s.suggestRenames(site, d)
}

func (s Sheet) namesDevice(t events.Tag) bool { return s.named[events.Device(t)] }

// diffRooms lists every room that the schedule names. A room that rows put on
// several floors, such as a stairwell, is listed on none.
func (s Sheet) diffRooms(site Listing, d *Diff) {
	rooms := map[events.RoomID]*events.RoomListed{}
	first := map[events.RoomID]int{}
	var order []events.RoomID
	for _, r := range s.Rows {
		room, floor, geometry := roomOf(r.Payload)
		if room == "" {
			continue
		}
		m, known := rooms[room]
		if !known {
			m = &events.RoomListed{Room: room, Floor: floor}
			rooms[room], first[room], order = m, r.Number, append(order, room)
		}
		if m.Floor != floor {
			m.Floor = ""
		}
		m.Geometry = cmp.Or(m.Geometry, geometry)
	}
	for _, room := range order {
		before, listed := site.Rooms[room]
		compare(d, first[room], events.Room(room), before, listed, *rooms[room], roomFacets, s.has)
	}
}

func roomOf(p events.Payload) (events.RoomID, events.FloorID, string) {
	switch p := p.(type) {
	case events.DeviceListed:
		return p.Room, p.Floor, p.Geometry
	case events.HubListed:
		return p.Room, p.Floor, ""
	}
	return "", "", ""
}

// diffHubs lists the hubs that have a row, and adds those that devices name and
// nobody has listed yet.
func (s Sheet) diffHubs(site Listing, d *Diff) {
	own := map[events.HubID]bool{}
	for _, r := range s.Rows {
		if h, ok := r.Payload.(events.HubListed); ok {
			own[h.Hub] = true
			before, listed := site.Hubs[h.Hub]
			compare(d, r.Number, events.Hub(h.Hub), before, listed, h, hubFacets, s.has)
		}
	}
	for _, r := range s.Rows {
		p, ok := r.Payload.(events.DeviceListed)
		if _, listed := site.Hubs[p.Hub]; ok && !own[p.Hub] && !listed {
			own[p.Hub] = true
			d.Adds = append(d.Adds, Add{r.Number, events.HubListed{Hub: p.Hub}})
		}
	}
}

// diffDevices lists the devices, under a new tag where the column was says so.
func (s Sheet) diffDevices(site Listing, d *Diff) {
	for _, r := range s.Rows {
		p, ok := r.Payload.(events.DeviceListed)
		if !ok {
			continue
		}
		before, listed := site.Devices[p.Device]
		if old, renamed := site.Devices[r.Was]; renamed && r.Was != "" {
			if listed {
				d.Problems = append(d.Problems, Problem{r.Number, "was",
					fmt.Sprintf("%s and %s are both on the site's schedule", r.Was, p.Device), "leave was empty, or strike one of them first"})
				continue
			}
			d.Renames = append(d.Renames, Rename{Row: r.Number, From: r.Was, To: p.Device, touched: site.Touched[r.Was]})
			before, listed = old, true
		}
		compare(d, r.Number, events.Device(p.Device), before, listed, p, deviceFacets, s.has)
	}
}

// suggestRenames looks for a device to strike and a device to add that look like
// the same position: alike in every column of the file, or else in room, kind
// and hub; and no other struck or added device is so.
func (s Sheet) suggestRenames(site Listing, d *Diff) {
	used := map[events.Tag]bool{}
	alike := func(p events.DeviceListed) string {
		key := ""
		for _, f := range deviceFacets {
			if s.has(f.column) {
				key += fmt.Sprintf("%q ", f.show(p))
			}
		}
		return key
	}
	s.pair(site, d, used, "alike in all but the tag", alike)
	if s.has("room") {
		s.pair(site, d, used, "same room, kind and hub", func(p events.DeviceListed) string {
			if p.Room == "" {
				return ""
			}
			return fmt.Sprintf("%q %q %q", p.Room, p.Is, p.Hub)
		})
	}
}

// pair suggests to rename where a key belongs to one struck and one added device
// alone.
func (s Sheet) pair(site Listing, d *Diff, used map[events.Tag]bool, why string, key func(events.DeviceListed) string) {
	struck, added := map[string][]events.Tag{}, map[string][]Add{}
	for _, x := range d.Strikes {
		if t, ok := x.Of.Tag(); ok && !used[t] {
			k := key(site.Devices[t])
			struck[k] = append(struck[k], t)
		}
	}
	for _, a := range d.Adds {
		if p, ok := a.Payload.(events.DeviceListed); ok && !used[p.Device] {
			added[key(p)] = append(added[key(p)], a)
		}
	}
	for _, k := range slices.Sorted(maps.Keys(added)) {
		if k == "" || len(added[k]) != 1 || len(struck[k]) != 1 {
			continue
		}
		from, row := struck[k][0], added[k][0].Payload.(events.DeviceListed)
		used[from], used[row.Device] = true, true
		r := Rename{Row: added[k][0].Row, From: from, To: row.Device, Suggested: true, Why: why, touched: site.Touched[from]}
		if after, changed := amend(site.Devices[from], row, deviceFacets, s.has); len(changed) > 0 {
			r.amended = []events.Payload{after}
		}
		d.Renames = append(d.Renames, r)
	}
}
