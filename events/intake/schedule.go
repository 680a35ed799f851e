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

const warrantyMost = 1200 // months

func scheduleRow(r *row) events.Payload {
	tag := needName[events.Tag](r, "tag", "give the position a name of its own, such as 2-114")
	kind := r.word("kind", kindWords)
	if kind == "" {
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
	p.Is, p.Power = events.DeviceKind(kind), events.DeviceKind(kind).UsualPower()
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
	if kind == "" {
		r.about(events.Hub(events.HubID(tag))) // it may have been meant for one
	}
	r.about(events.Device(tag), events.Hub(p.Hub), events.Room(p.Room), events.Device(r.out.Was))
	r.unique("tag", "tag", string(tag))
	return p
}

func deviceRadio(r *row) events.Radio {
	switch radio := r.word("radio", radioWords); radio {
	case "":
		return events.UsualRadio
	case radioBoth:
		r.wrong("radio", "only a hub speaks both radios", "write mesh or star")
		return events.UsualRadio
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
