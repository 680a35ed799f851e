package events

import "fmt"

// FloorListed puts a floor on the schedule.
type FloorListed struct {
	said
	Floor     FloorID
	Level     int
	Elevation Maybe[int64] // mm above the site's datum; else level × 3.5 m
}

func (FloorListed) Kind() Kind            { return "floor.listed" }
func (p FloorListed) Subjects() []Subject { return []Subject{Floor(p.Floor)} }
func (p FloorListed) String() string {
	return fmt.Sprintf("listed floor %s (level %d)", p.Floor, p.Level)
}

func (p *FloorListed) fields(w *walk) {
	text(w, "floor", &p.Floor, named)
	num(w, "level", &p.Level, -99, 999)
	numMaybe(w, "elevation_mm", &p.Elevation, -mmMax, mmMax)
}

// RoomListed puts a room on the schedule.
type RoomListed struct {
	said
	Room     RoomID
	Floor    FloorID
	Geometry string // rooms of one geometry are alike for sampling tests
	Note     string
}

func (RoomListed) Kind() Kind            { return "room.listed" }
func (p RoomListed) Subjects() []Subject { return []Subject{Room(p.Room)} }
func (p RoomListed) String() string {
	return words("listed room", string(p.Room), optional("on floor ", p.Floor))
}

func (p *RoomListed) fields(w *walk) {
	text(w, "room", &p.Room, named)
	textOpt(w, "floor", &p.Floor, named)
	textOpt(w, "geometry", &p.Geometry, named)
	textOpt(w, "note", &p.Note, prose)
}

// HubListed puts a hub on the schedule.
type HubListed struct {
	said
	Hub     HubID
	Radio   Radio // "" for a hub that speaks both
	Floor   FloorID
	Room    RoomID
	Place   Maybe[Point]
	Circuit CircuitID
	Note    string
}

func (HubListed) Kind() Kind            { return "hub.listed" }
func (p HubListed) Subjects() []Subject { return []Subject{Hub(p.Hub)} }
func (p HubListed) String() string      { return words("listed hub", string(p.Hub)) }

func (p *HubListed) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	textOpt(w, "radio", &p.Radio, oneOf(Radios...))
	textOpt(w, "floor", &p.Floor, named)
	textOpt(w, "room", &p.Room, named)
	place(w, "place", &p.Place)
	textOpt(w, "circuit", &p.Circuit, named)
	textOpt(w, "note", &p.Note, prose)
}

// DeviceListed puts a device on the schedule; a later one for the same tag
// replaces the row.
type DeviceListed struct {
	said
	Device         Tag
	Is             DeviceKind
	Hub            HubID
	Radio          Radio
	Power          Power
	Floor          FloorID
	Room           RoomID
	Place          Maybe[Point]
	Circuit        CircuitID
	Emergency      bool
	Maker          string
	Model          string
	Type           string
	WarrantyStart  string // 2026-03-31
	WarrantyMonths int
	Geometry       string
	Note           string
}

func (DeviceListed) Kind() Kind            { return "device.listed" }
func (p DeviceListed) Subjects() []Subject { return []Subject{Device(p.Device), Hub(p.Hub)} }
func (p DeviceListed) String() string {
	s := fmt.Sprintf("listed %s: %s on %s", p.Device, p.Is, p.Hub)
	if p.Emergency {
		s += " (emergency)"
	}
	return s
}

func (p *DeviceListed) fields(w *walk) {
	text(w, "device", &p.Device, named)
	text(w, "is", &p.Is, oneOf(DeviceKinds...))
	text(w, "hub", &p.Hub, named)
	text(w, "radio", &p.Radio, oneOf(Radios...))
	text(w, "power", &p.Power, oneOf(Powers...))
	textOpt(w, "floor", &p.Floor, named)
	textOpt(w, "room", &p.Room, named)
	place(w, "place", &p.Place)
	textOpt(w, "circuit", &p.Circuit, named)
	flag(w, "emergency", &p.Emergency)
	textOpt(w, "maker", &p.Maker, line)
	textOpt(w, "model", &p.Model, line)
	textOpt(w, "type", &p.Type, line)
	textOpt(w, "warranty_start", &p.WarrantyStart, isDate)
	numOpt(w, "warranty_months", &p.WarrantyMonths, 1, 1200)
	textOpt(w, "geometry", &p.Geometry, named)
	textOpt(w, "note", &p.Note, prose)
}

// WallListed puts a wall on the plan: a line through points on one floor.
type WallListed struct {
	said
	Wall      string
	Floor     FloorID
	Material  string
	Thickness int64 // mm
	Line      []XY
}

// XY is a point of the plan in mm.
type XY struct{ X, Y int64 }

func (WallListed) Kind() Kind            { return "wall.listed" }
func (p WallListed) Subjects() []Subject { return []Subject{wall(p.Wall), Floor(p.Floor)} }
func (p WallListed) String() string {
	return fmt.Sprintf("listed wall %s on floor %s: %s", p.Wall, p.Floor, p.Material)
}

func (p *WallListed) fields(w *walk) {
	text(w, "wall", &p.Wall, named)
	text(w, "floor", &p.Floor, named)
	text(w, "material", &p.Material, named)
	num(w, "thickness_mm", &p.Thickness, 1, 10_000)
	list(w, "line", &p.Line, func(q *XY) { xy(w, q) })
	if w.err == nil && len(p.Line) < 2 {
		w.fail("line: a wall has two points or more")
	}
}

func xy(w *walk, q *XY) {
	w.lit("[")
	numValue(w, "x", &q.X, -mmMax, mmMax)
	w.lit(",")
	numValue(w, "y", &q.Y, -mmMax, mmMax)
	w.lit("]")
}

// FloorStruck takes a floor off the schedule.
type FloorStruck struct {
	said
	Floor FloorID
	Why   string
}

func (FloorStruck) Kind() Kind            { return "floor.struck" }
func (p FloorStruck) Subjects() []Subject { return []Subject{Floor(p.Floor)} }
func (p FloorStruck) String() string {
	return words("struck floor", string(p.Floor), optional("- ", p.Why))
}

func (p *FloorStruck) fields(w *walk) {
	text(w, "floor", &p.Floor, named)
	textOpt(w, "why", &p.Why, line)
}

// RoomStruck takes a room off the schedule.
type RoomStruck struct {
	said
	Room RoomID
	Why  string
}

func (RoomStruck) Kind() Kind            { return "room.struck" }
func (p RoomStruck) Subjects() []Subject { return []Subject{Room(p.Room)} }
func (p RoomStruck) String() string {
	return words("struck room", string(p.Room), optional("- ", p.Why))
}

func (p *RoomStruck) fields(w *walk) {
	text(w, "room", &p.Room, named)
	textOpt(w, "why", &p.Why, line)
}

// HubStruck takes a hub off the schedule.
type HubStruck struct {
	said
	Hub HubID
	Why string
}

func (HubStruck) Kind() Kind            { return "hub.struck" }
func (p HubStruck) Subjects() []Subject { return []Subject{Hub(p.Hub)} }
func (p HubStruck) String() string      { return words("struck hub", string(p.Hub), optional("- ", p.Why)) }

func (p *HubStruck) fields(w *walk) {
	text(w, "hub", &p.Hub, named)
	textOpt(w, "why", &p.Why, line)
}

// DeviceStruck takes a device off the schedule. What happened to it stays.
type DeviceStruck struct {
	said
	Device Tag
	Why    string
}

func (DeviceStruck) Kind() Kind            { return "device.struck" }
func (p DeviceStruck) Subjects() []Subject { return []Subject{Device(p.Device)} }
func (p DeviceStruck) String() string {
	return words("struck", string(p.Device), optional("- ", p.Why))
}

func (p *DeviceStruck) fields(w *walk) {
	text(w, "device", &p.Device, named)
	textOpt(w, "why", &p.Why, line)
}

// WallStruck takes a wall off the plan.
type WallStruck struct {
	said
	Wall string
	Why  string
}

func (WallStruck) Kind() Kind            { return "wall.struck" }
func (p WallStruck) Subjects() []Subject { return []Subject{wall(p.Wall)} }
func (p WallStruck) String() string      { return words("struck wall", p.Wall, optional("- ", p.Why)) }

func (p *WallStruck) fields(w *walk) {
	text(w, "wall", &p.Wall, named)
	textOpt(w, "why", &p.Why, line)
}

// DeviceRenamed says the position called From is called To from now on, with
// all its history.
type DeviceRenamed struct {
	said
	From Tag
	To   Tag
}

func (DeviceRenamed) Kind() Kind            { return "device.renamed" }
func (p DeviceRenamed) Subjects() []Subject { return devices(p.To, p.From) }
func (p DeviceRenamed) String() string      { return fmt.Sprintf("renamed %s to %s", p.From, p.To) }

func (p *DeviceRenamed) fields(w *walk) {
	text(w, "from", &p.From, named)
	text(w, "to", &p.To, named)
	if w.err == nil && p.From == p.To {
		w.fail("to: is the same as from")
	}
}
