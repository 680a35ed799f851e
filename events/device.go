package events

import "fmt"

// DeviceFitted says that this physical unit sits at this position.
type DeviceFitted struct {
	said
	Device Tag
	Serial Serial
	Label  string // what the label said besides, with nothing secret in it
	Source Source
}

func (DeviceFitted) Kind() Kind            { return "device.fitted" }
func (p DeviceFitted) Subjects() []Subject { return devices(p.Device) }
func (p DeviceFitted) String() string      { return fmt.Sprintf("fitted %s: serial %s", p.Device, p.Serial) }

func (p *DeviceFitted) fields(w *walk) {
	text(w, "device", &p.Device, named)
	text(w, "serial", &p.Serial, named)
	textOpt(w, "label", &p.Label, line)
	textOpt(w, "source", &p.Source, oneOf(Sources...))
}

// DevicePaired says a device joined its hub and confirmed it.
type DevicePaired struct {
	said
	Device Tag
	Hub    HubID
	Serial Serial
	How    How
}

func (DevicePaired) Kind() Kind            { return "device.paired" }
func (p DevicePaired) Subjects() []Subject { return []Subject{Device(p.Device), Hub(p.Hub)} }
func (p DevicePaired) String() string {
	return words("paired", string(p.Device), "to", string(p.Hub), optional("serial ", p.Serial), optional("by ", p.How))
}

func (p *DevicePaired) fields(w *walk) {
	text(w, "device", &p.Device, named)
	text(w, "hub", &p.Hub, named)
	textOpt(w, "serial", &p.Serial, named)
	textOpt(w, "how", &p.How, oneOf(Hows...))
}

// DeviceRefused says a device would not pair.
type DeviceRefused struct {
	said
	Device Tag
	Why    RefusedWhy
	Note   string
}

func (DeviceRefused) Kind() Kind            { return "device.refused" }
func (p DeviceRefused) Subjects() []Subject { return devices(p.Device) }
func (p DeviceRefused) String() string {
	return words(fmt.Sprintf("%s refused: %s", p.Device, p.Why), optional("- ", p.Note))
}

func (p *DeviceRefused) fields(w *walk) {
	text(w, "device", &p.Device, named)
	text(w, "why", &p.Why, oneOf(RefusedWhys...))
	textOpt(w, "note", &p.Note, prose)
}

// DeviceSkipped says a device could not be done now.
type DeviceSkipped struct {
	said
	Device Tag
	Why    SkippedWhy
	Note   string
}

func (DeviceSkipped) Kind() Kind            { return "device.skipped" }
func (p DeviceSkipped) Subjects() []Subject { return devices(p.Device) }
func (p DeviceSkipped) String() string {
	return words(fmt.Sprintf("skipped %s: %s", p.Device, p.Why), optional("- ", p.Note))
}

func (p *DeviceSkipped) fields(w *walk) {
	text(w, "device", &p.Device, named)
	text(w, "why", &p.Why, oneOf(SkippedWhys...))
	textOpt(w, "note", &p.Note, prose)
}

// DeviceUnpaired says a device was reset or taken off its hub.
type DeviceUnpaired struct {
	said
	Device Tag
	Why    string
}

func (DeviceUnpaired) Kind() Kind            { return "device.unpaired" }
func (p DeviceUnpaired) Subjects() []Subject { return devices(p.Device) }
func (p DeviceUnpaired) String() string      { return fmt.Sprintf("unpaired %s: %s", p.Device, p.Why) }

func (p *DeviceUnpaired) fields(w *walk) {
	text(w, "device", &p.Device, named)
	text(w, "why", &p.Why, line)
}

// DeviceReplaced says another unit took the place of the one that was there. It
// is unpaired until it is paired again.
type DeviceReplaced struct {
	said
	Device Tag
	Old    Serial
	New    Serial
	Why    string
}

func (DeviceReplaced) Kind() Kind            { return "device.replaced" }
func (p DeviceReplaced) Subjects() []Subject { return devices(p.Device) }
func (p DeviceReplaced) String() string {
	return words("replaced", string(p.Device), optional("serial ", p.Old), "with serial", string(p.New)+":", p.Why)
}

func (p *DeviceReplaced) fields(w *walk) {
	text(w, "device", &p.Device, named)
	textOpt(w, "old", &p.Old, named)
	text(w, "new", &p.New, named)
	text(w, "why", &p.Why, line)
	if w.err == nil && p.Old == p.New {
		w.fail("new: is the serial that was there before")
	}
}

// DeviceHeard says the hub was seen to hear a device over its own radio.
type DeviceHeard struct {
	said
	Device Tag
	Hub    HubID
	RSSI   Maybe[int] // dBm
	LQI    Maybe[int]
}

func (DeviceHeard) Kind() Kind            { return "device.heard" }
func (p DeviceHeard) Subjects() []Subject { return []Subject{Device(p.Device), Hub(p.Hub)} }
func (p DeviceHeard) String() string {
	s := fmt.Sprintf("%s heard %s", p.Hub, p.Device)
	if p.RSSI.Known {
		s += fmt.Sprintf(" at %d dBm", p.RSSI.Value)
	}
	return s
}

func (p *DeviceHeard) fields(w *walk) {
	text(w, "device", &p.Device, named)
	text(w, "hub", &p.Hub, named)
	numMaybe(w, "rssi_dbm", &p.RSSI, rssiMin, rssiMax)
	numMaybe(w, "lqi", &p.LQI, 0, 255)
}

// PowerOff says a circuit or one device was found or switched off, and what
// went dark with it; that is how circuits are learned. It is an entry, not
// isolation.
type PowerOff struct {
	said
	Of   Subject // a circuit or a device
	Dark []Tag
}

func (PowerOff) Kind() Kind            { return "power.off" }
func (p PowerOff) Subjects() []Subject { return append([]Subject{p.Of}, devices(p.Dark...)...) }
func (p PowerOff) String() string {
	s := "power off at " + p.Of.Words()
	if len(p.Dark) > 0 {
		s += "; dark: " + listed(p.Dark)
	}
	return s
}

func (p *PowerOff) fields(w *walk) {
	powered(w, &p.Of)
	tags(w, "dark", &p.Dark)
}

// PowerOn says the power came back.
type PowerOn struct {
	said
	Of Subject // a circuit or a device
}

func (PowerOn) Kind() Kind            { return "power.on" }
func (p PowerOn) Subjects() []Subject { return []Subject{p.Of} }
func (p PowerOn) String() string      { return "power on at " + p.Of.Words() }
func (p *PowerOn) fields(w *walk)     { powered(w, &p.Of) }

func powered(w *walk, s *Subject) {
	subject(w, "of", s)
	if w.err == nil && s.Class != OfCircuit && s.Class != OfDevice {
		w.fail("of: %s is neither a circuit nor a device", s.Words())
	}
}
