package intake

import "pairwalk/events"

// Listing is what a site's schedule says now. The zero value is a site with
// nothing on it.
type Listing struct {
	Hubs    map[events.HubID]events.HubListed
	Devices map[events.Tag]events.DeviceListed
	Floors  map[events.FloorID]events.FloorListed
	Rooms   map[events.RoomID]events.RoomListed
	Touched map[events.Tag]bool // tags that something was done to in the field
}
