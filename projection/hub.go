package projection

import (
	"slices"

	"pairwalk/events"
)

// Hub is the facts of one hub.
type Hub struct {
	events.HubListed
	Row    *Cause // nil for a hub only heard of
	Struck *Cause

	Ready    *Cause // nil while not ready
	Lost     *Cause // nil unless lost since it was last ready
	LostWhy  string
	Channels map[events.Radio]Channel
	Program  events.Program // the program it holds, "" none
	Loaded   *Cause
	Lists    []events.Tag // what that program lists, in byte order; nil for all
	Programs []Load       // every program it was loaded with, oldest first

	Pairings []Pairing // every one ever said here, also withdrawn and quarantined
	Pushes   []Push    // done and failed, oldest first
	Power    []PowerChange
	Asked    []Asking
	Assigned map[events.Key]Cause // members put on it
	Active   map[events.Key]Cause // each member's last piece of work on it
}

// Channel is the channel of one radio of a hub.
type Channel struct {
	Number  int
	Set     Cause
	Changed *Cause // the change that no push has followed yet, with devices paired before it
}

// Load is one program put on a hub; Lists is in byte order, and nil for all.
type Load struct {
	Cause
	Program events.Program
	Lists   []events.Tag
}

// Holds says whether the program lists a device.
func (l Load) Holds(t events.Tag) bool {
	_, listed := slices.BinarySearch(l.Lists, t)
	return listed || l.Lists == nil
}

// PowerChange is power lost or back at a mesh router of the hub, or its circuit.
type PowerChange struct {
	Cause
	Of events.Subject
	On bool
}

// Asking is a colleague's spoken answer about a hub.
type Asking struct {
	Cause
	Member  events.Key
	Last    events.Maybe[events.Interval] // by the asker's clock; unknown: none
	Through events.Instant                // by the asker's clock
}

// Holding says whether the program on the hub lists a device.
func (h *Hub) Holding(t events.Tag) bool {
	return h.Program != "" && Load{Lists: h.Lists}.Holds(t)
}

// LastPush is the last push that was done.
func (h *Hub) LastPush() (Push, bool) {
	for i := len(h.Pushes) - 1; i >= 0; i-- {
		if h.Pushes[i].Failed == "" {
			return h.Pushes[i], true
		}
	}
	return Push{}, false
}
