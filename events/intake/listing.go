package intake

import "pairwalk/events"

// Listing is what a site's schedule says now, and what was logged of the kinds
// that a links sheet and a survey bring. The zero value is a site with nothing on
// it.
type Listing struct {
	Hubs    map[events.HubID]events.HubListed
	Devices map[events.Tag]events.DeviceListed
	Floors  map[events.FloorID]events.FloorListed
	Rooms   map[events.RoomID]events.RoomListed
	Walls   map[string]events.WallListed
	Touched map[events.Tag]bool // tags that something was done to in the field
	Links   []Logged[events.LinkMeasured]
	Surveys []Logged[events.WifiSurveyed]
}

// Logged is an entry that is in the log already.
type Logged[P events.Payload] struct {
	Payload P
	When    events.Maybe[events.Interval] // as it was told; unknown where it was logged as now
}
