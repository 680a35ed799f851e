package projection

import (
	"slices"
	"time"

	"pairwalk/events"
)

// Site is the facts of a site at a moment. Its lists are in a fixed order: names
// in natural order (2-9 before 2-10), entries in record order.
type Site struct {
	ID       events.SiteID
	Name     string
	Zone     string
	Practice bool
	Opened   Cause
	Root     events.Key
	Moment   Moment // as asked, with When filled in
	Heads    map[events.FeedID]events.Head
	Settings Settings

	Members  []Member
	Floors   []events.FloorListed
	Rooms    []events.RoomListed
	Walls    []events.WallListed
	Hubs     []Hub
	Devices  []Device
	Circuits []Circuit
	Faults   []*Fault
	Holds    []Hold
	Checks   []Check
	Exports  []*Export
	Links    []Link
	Surveys  []Survey
	Drawings []Drawing
	Plans    []Plan
	Photos   []Photo
	Notes    []Note
	Signed   []Signature

	Comparisons []Comparison // those of clocks that count

	Conflicts     []Conflict
	Resolved      []Resolution
	Anomalies     []Anomaly
	Quarantined   []Doubt
	NotUnderstood []*events.Event
	Entries       int // in view

	// Gaps are the feeds of which lines are missing here that others follow, each
	// with the first line that follows one.
	Gaps map[events.FeedID]events.Seq

	hubs    map[events.HubID]int
	devices map[events.Tag]int
	members map[events.Key]int
	zone    *time.Location // nil where nobody looked it up
}

// Hub finds a hub.
func (s *Site) Hub(id events.HubID) (*Hub, bool) {
	i, ok := s.hubs[id]
	if !ok {
		return nil, false
	}
	return &s.Hubs[i], true
}

// Device finds a device by its tag at this moment.
func (s *Site) Device(t events.Tag) (*Device, bool) {
	i, ok := s.devices[t]
	if !ok {
		return nil, false
	}
	return &s.Devices[i], true
}

// DeviceIndex is where a device is in the list.
func (s *Site) DeviceIndex(t events.Tag) (int, bool) {
	i, ok := s.devices[t]
	return i, ok
}

// Within says whether a device belongs to a subject: to its room or floor, to a
// circuit that feeds it as scheduled or learned, to the hub that it is scheduled on
// or paired to; or is the subject.
func (s *Site) Within(d *Device, of events.Subject) bool {
	switch of.Class {
	case events.OfDevice:
		return string(d.Device) == of.ID
	case events.OfRoom:
		return string(d.Room) == of.ID
	case events.OfFloor:
		return string(d.Floor) == of.ID
	case events.OfHub:
		return string(d.Hub) == of.ID || d.Paired != nil && string(d.Paired.Hub) == of.ID
	case events.OfCircuit:
		i := slices.IndexFunc(s.Circuits, func(c Circuit) bool { return string(c.ID) == of.ID })
		return i >= 0 && slices.Contains(s.Circuits[i].Feeds, d.Device)
	}
	return false
}

// Member finds a member by key.
func (s *Site) Member(k events.Key) (*Member, bool) {
	i, ok := s.members[k]
	if !ok {
		return nil, false
	}
	return &s.Members[i], true
}

// MemberName is a member's name, made unique by the start of the key where two
// share one; the short key of somebody who has not joined.
func (s *Site) MemberName(k events.Key) string {
	m, ok := s.Member(k)
	if !ok {
		return k.Short()
	}
	for i := range s.Members {
		if s.Members[i].Name == m.Name && s.Members[i].Key != k {
			return m.Name + "~" + k.Short()[:4]
		}
	}
	return m.Name
}

// DoneBy names who did what an entry tells: its doer, else who recorded it.
func (s *Site) DoneBy(e *events.Event) string {
	if e.By() != "" {
		return e.By()
	}
	return s.MemberName(e.Member())
}

// Location is the site's time zone; UTC where it is not known. "Local" is no place:
// it would be another zone on every machine.
func (s *Site) Location() *time.Location {
	if s.zone != nil {
		return s.zone
	}
	if loc, err := time.LoadLocation(s.Zone); err == nil && s.Zone != "" && s.Zone != "Local" {
		return loc
	}
	return time.UTC
}

// Doubt is an entry that is kept and not folded, and why.
type Doubt struct {
	Cause
	Why string
}

// Anomaly is an entry that makes no sense where it stands.
type Anomaly struct {
	Cause
	Why     string
	Subject events.Subject
	Others  []events.Ref // other entries it clashes with
}

// Circuit is a supply circuit, as scheduled and as learned from what went dark.
type Circuit struct {
	ID      events.CircuitID
	Feeds   []events.Tag // scheduled on it and fed from the mains, or seen to go dark with it
	Learned []events.Tag // of those, the ones only seen to
	Off     *Cause       // the entry that switched it off, nil while on
}

// Fault is found trouble.
type Fault struct {
	Of       events.Subject
	Symptom  string
	Severity events.Severity
	Trade    string
	Owner    string
	Action   string
	Found    Cause
	Assigned *Cause
	Cleared  *Cause // nil while open
	Reopened *Cause
	Steps    []*Cause // all that was said of it, from its finding on

	at int // the place in fold.table of the device it is on, none if it is on none that is known
}

// Open says whether the fault stands.
func (f Fault) Open() bool { return f.Cleared == nil }

// Hold is somebody's word that nobody touches a subject. It is not a lockout.
type Hold struct {
	Of     events.Subject
	Why    string
	Who    string
	Placed Cause
}

// Check is the result of a functional test.
type Check struct {
	events.CheckDone
	Done Cause
}

// Export is a file of records for the office, and when it was merged.
type Export struct {
	ID       string
	Heads    map[events.FeedID]events.Head
	Exported Cause
	Merged   []Merge
}

// Merge is the office's word that an export is in the design file; Hub is empty
// for the whole site.
type Merge struct {
	Cause
	Hub events.HubID
}

// Covers says whether the export held an entry.
func (x Export) Covers(ref events.Ref) bool {
	head := x.Heads[ref.Feed]
	return head.Seq > ref.Seq || head.Seq == ref.Seq && head.Hash.Short() == ref.Hash
}

// MergedFor lists when the export was merged for a hub.
func (x Export) MergedFor(hub events.HubID) []Cause {
	var out []Cause
	for _, m := range x.Merged {
		if m.Hub == "" || m.Hub == hub {
			out = append(out, m.Cause)
		}
	}
	return out
}

// Link is a measured link, A to B.
type Link struct {
	events.LinkMeasured
	Measured Cause
}

// Survey is Wi-Fi heard at a place.
type Survey struct {
	events.WifiSurveyed
	Done Cause
}

// Drawing is a picture under a floor.
type Drawing struct {
	events.DrawingPlaced
	Placed Cause
}

// Photo is a picture of a subject. Whether this device holds it is not a fact.
type Photo struct {
	events.PhotoAdded
	Added Cause
}

// Note is a remark.
type Note struct {
	events.NoteAdded
	Noted Cause
}

// Signature is somebody's name under a scope of work.
type Signature struct {
	events.WorkSigned
	Signed Cause
}

// Plan is a functional test that a room is to pass.
type Plan struct {
	events.TestPlanned
	Planned Cause
}

// Comparison is a measured difference between two members' clocks.
type Comparison struct {
	events.ClockCompared
	Compared Cause
}
