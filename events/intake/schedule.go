package intake

import (
	"fmt"

	"pairwalk/events"
)

// schedule is the list of devices and hubs.
var schedule = layout{
	kind: Schedule,
	columns: []column{
		{name: "tag", also: "position,mark,device,device tag", need: true},
		{name: "kind", also: "device kind,sort", need: true},
		{name: "hub", also: "controller", need: true},
		{name: "radio", also: "network"},
		{name: "floor", also: "storey,level"},
		{name: "room", also: "space,room name"},
		{name: "x", unit: true},
		{name: "y", unit: true},
		{name: "z", also: "height", unit: true},
		{name: "circuit", also: "breaker,supply circuit"},
		{name: "power", also: "supply,power supply"},
		{name: "emergency", also: "egress,emergency lighting"},
		{name: "was", also: "old tag,former tag,renamed from"},
		{name: "maker", also: "make,manufacturer"},
		{name: "model", also: "model number"},
		{name: "type", also: "device type"},
		{name: "warranty_start", also: "warranty from"},
		{name: "warranty_months", also: "warranty,months of warranty"},
		{name: "geometry", also: "room geometry"},
		{name: "note", also: "notes,remark,remarks,comment,comments"},
	},
	row:     scheduleRow,
	whole:   scheduleWhole,
	differs: scheduleDiff,
}

// The words of a schedule. "portable" is a wall-control that runs on a battery;
// where the kind says nothing of it, a wall-control is fed from the mains.
const (
	kindHub      = "hub"
	kindPortable = "portable"
	radioBoth    = "both"
	yes          = "yes"
)

var (
	kindWords = wordList{"a kind of device", [][]string{
		{string(events.Dimmer)},
		{string(events.Switch)},
		{string(events.Driver), "fitting", "luminaire", "light fitting"},
		{string(events.WallControl), "keypad"},
		{string(events.Sensor), "occupancy sensor", "presence sensor", "motion sensor", "daylight sensor"},
		{string(events.Relay)},
		{string(events.WiredRemote)},
		{string(events.Standalone)},
		{kindPortable, "portable control", "portable wall control"},
		{kindHub, "controller"},
	}}
	radioWords = wordList{"a radio", [][]string{{string(events.Mesh)}, {string(events.Star)}, {radioBoth, "mesh and star"}}}
	powerWords = wordList{"a way to feed a device", [][]string{{string(events.Mains), "wired"}, {string(events.Battery), "batteries"}}}
	yesNo      = wordList{"yes or no", [][]string{{yes, "y", "true", "1", "x", "emergency"}, {"no", "n", "false", "0", "none"}}}
)

// What a coordinate may be: eastings and northings of a national grid fit, and
// places more than siteMost apart on one site don't.
const (
	gridMost     = 1_000_000_000 // mm
	siteMost     = 5_000_000
	deepest      = -1_000_000
	highest      = 10_000_000
	levelHeight  = 3500 // mm from level to level, where a floor's elevation is not told (common practice, no source)
	warrantyMost = 1200 // months
)

func scheduleRow(r *row) events.Payload {
	tag := needName[events.Tag](r, "tag", "give the position a name of its own, such as 2-114")
	kind := r.word("kind", kindWords)
	if r.cell("kind") == "" {
		r.wrong("kind", "is empty", kindWords.right(""))
	}
	if kind == kindHub {
		return hubRow(r, events.HubID(tag))
	}
	return deviceRow(r, tag, kind)
}

// hubRow reads a row that lists a hub; its tag is the hub's id.
func hubRow(r *row, id events.HubID) events.Payload {
	p := events.HubListed{Hub: id, Floor: name[events.FloorID](r, "floor"), Room: name[events.RoomID](r, "room")}
	if hub := name[events.HubID](r, "hub"); hub != "" && hub != id {
		r.wrong("hub", fmt.Sprintf("%q is another hub than the tag %q", hub, id), "leave it empty, or write the tag again")
	}
	if radio := r.word("radio", radioWords); radio != radioBoth {
		p.Radio = events.Radio(radio)
	}
	p.Place = r.place(r.floor(r.opt.Site.Hubs[id].Floor))
	p.Circuit = name[events.CircuitID](r, "circuit")
	p.Note = r.prose("note")
	if was := r.cell("was"); was != "" {
		r.wrong("was", fmt.Sprintf("a hub can't be renamed from %q", clip(was)), "list it under its new name, and strike the old one when its devices have moved")
	}
	for _, c := range []string{"power", "emergency", "maker", "model", "type", "warranty_start", "warranty_months", "geometry"} {
		if r.cell(c) != "" {
			r.note(c, "is not taken: it is for devices, and this is a hub")
		}
	}
	r.about(events.Hub(id), events.Room(p.Room))
	r.unique("tag", "tag", string(id))
	return p
}

// deviceRow reads a row that lists a device.
func deviceRow(r *row, tag events.Tag, kind string) events.Payload {
	p := events.DeviceListed{
		Device:        tag,
		Hub:           needName[events.HubID](r, "hub", "write the hub that it belongs to, such as H1"),
		Floor:         name[events.FloorID](r, "floor"),
		Room:          name[events.RoomID](r, "room"),
		Circuit:       name[events.CircuitID](r, "circuit"),
		Maker:         r.line("maker"),
		Model:         r.line("model"),
		Type:          r.line("type"),
		WarrantyStart: r.date("warranty_start"),
		Geometry:      name[string](r, "geometry"),
		Note:          r.prose("note"),
	}
	p.Is, p.Power = events.DeviceKind(kind), usualPower(events.DeviceKind(kind))
	if kind == kindPortable {
		p.Is, p.Power = events.WallControl, events.Battery
	}
	if power := r.word("power", powerWords); power != "" {
		p.Power = events.Power(power)
	}
	p.Radio = deviceRadio(r)
	p.Place = r.place(r.floor(r.opt.Site.Devices[tag].Floor))
	p.Emergency = r.word("emergency", yesNo) == yes
	p.WarrantyMonths = r.whole("warranty_months", 1, warrantyMost).Value
	r.was(tag)
	r.about(events.Device(tag), events.Hub(p.Hub), events.Room(p.Room), events.Device(r.out.Was))
	r.unique("tag", "tag", string(tag))
	return p
}

// usualPower is how a device of a kind is fed where nobody says: a sensor from a
// battery, everything else from the mains (common practice, no source).
func usualPower(k events.DeviceKind) events.Power {
	if k == events.Sensor {
		return events.Battery
	}
	return events.Mains
}

func deviceRadio(r *row) events.Radio {
	switch radio := r.word("radio", radioWords); radio {
	case "":
		return events.Mesh
	case radioBoth:
		r.wrong("radio", "only a hub speaks both radios", "write mesh or star")
		return events.Mesh
	default:
		return events.Radio(radio)
	}
}

// was reads which tag the device had before.
func (r *row) was(tag events.Tag) {
	was := name[events.Tag](r, "was")
	if was != "" && was == tag {
		r.wrong("was", fmt.Sprintf("%q is the tag it has now", was), "leave it empty unless the tag has changed")
		return
	}
	r.unique("was", "was", string(was))
	r.out.Was = was
}

// floor is the floor of the row, or the one listed where the file has no such
// column.
func (r *row) floor(listed events.FloorID) events.FloorID {
	if !r.has("floor") {
		return listed
	}
	return events.FloorID(r.cell("floor"))
}

// place reads coordinates. Without z_m the device lies at its floor's elevation,
// or at the site's datum where the row names no floor.
func (r *row) place(floor events.FloorID) events.Maybe[events.Point] {
	before := len(r.problems)
	x, y := r.length("x", -gridMost, gridMost), r.length("y", -gridMost, gridMost)
	z := r.length("z", deepest, highest)
	if len(r.problems) == before && z.Known && !x.Known && !y.Known {
		r.note("z", "is not taken without x_m and y_m")
	}
	if len(r.problems) > before || !x.Known && !y.Known {
		return events.Maybe[events.Point]{}
	}
	if !x.Known || !y.Known {
		empty, other := column{name: "x", unit: true}, column{name: "y", unit: true}
		if x.Known {
			empty, other = other, empty
		}
		r.wrong(empty.name, fmt.Sprintf("is missing, and %s is not", other), "a place takes both, or neither")
		return events.Maybe[events.Point]{}
	}
	if !z.Known && floor != "" {
		listed, ok := r.opt.Site.Floors[floor]
		if !ok {
			r.wrong("z", fmt.Sprintf("is empty, and how high floor %q lies is not known", floor), "import a floors sheet first, or write z_m")
			return events.Maybe[events.Point]{}
		}
		z = events.Some(elevation(listed))
	}
	return r.near(events.Point{X: x.Value, Y: y.Value, Z: z.Value})
}

func elevation(f events.FloorListed) int64 {
	if f.Elevation.Known {
		return f.Elevation.Value
	}
	return int64(f.Level) * levelHeight
}

// origin is the first place in a file.
type origin struct {
	row   int
	place events.Point
}

// near refuses a place that is too far from the first one to be the same site:
// the usual cause is a column in another unit than its heading says.
func (r *row) near(p events.Point) events.Maybe[events.Point] {
	if !r.origin.Known {
		r.origin = events.Some(origin{r.number, p})
	}
	o := r.origin.Value
	for i, d := range []int64{p.X - o.place.X, p.Y - o.place.Y} {
		if d > siteMost || -d > siteMost {
			r.wrong([]string{"x", "y"}[i], fmt.Sprintf("is %s m from the place on row %d", metres(max(d, -d)), o.row), "is the unit in the column's heading right?")
			return events.Maybe[events.Point]{}
		}
	}
	return events.Some(p)
}
