package events

import "fmt"

// Picture is an image kept beside the log and named by its content.
type Picture struct {
	SHA256 string // 64 hex digits
	Bytes  int64
	Type   string // media type, such as image/jpeg
}

// MaxPicture is how many bytes a picture may have that is kept and sent. A photo of
// a telephone has a few million and a scanned sheet some more (common practice, no
// source); at 1 Mbit/s it is on its way for little more than three minutes, and it
// is held in memory whole while it is compared. An entry may name a larger one,
// which is never fetched.
const MaxPicture = 24 << 20

func (p *Picture) fields(w *walk) {
	text(w, "sha256", &p.SHA256, isHash)
	num(w, "bytes", &p.Bytes, 1, maxInt)
	text(w, "type", &p.Type, named)
}

// DrawingPlaced lays a picture under a floor: where its top left corner lies,
// how large a pixel is, and how far it is turned.
type DrawingPlaced struct {
	said
	Floor   FloorID
	Picture Picture
	Corner  XY
	Pixel   int64 // µm on the plan per pixel
	Turn    int64 // thousandths of a degree, anticlockwise
}

func (DrawingPlaced) Kind() Kind            { return "drawing.placed" }
func (p DrawingPlaced) Subjects() []Subject { return []Subject{Floor(p.Floor)} }
func (p DrawingPlaced) String() string      { return fmt.Sprintf("placed a drawing on floor %s", p.Floor) }

func (p *DrawingPlaced) fields(w *walk) {
	text(w, "floor", &p.Floor, named)
	p.Picture.fields(w)
	if w.need("corner") {
		xy(w, &p.Corner)
	}
	num(w, "pixel_um", &p.Pixel, 1, mmMax)
	numOpt(w, "turn_mdeg", &p.Turn, -360_000, 360_000)
}

// DevicePlaced says where a device or hub really sits, and how well that is
// known.
type DevicePlaced struct {
	said
	Device   Tag
	Place    Point
	Accuracy int64 // mm, 0 unknown
}

func (DevicePlaced) Kind() Kind            { return "device.placed" }
func (p DevicePlaced) Subjects() []Subject { return devices(p.Device) }
func (p DevicePlaced) String() string {
	return fmt.Sprintf("placed %s at %.1f, %.1f, %.1f m", p.Device, float64(p.Place.X)/1000, float64(p.Place.Y)/1000, float64(p.Place.Z)/1000)
}

func (p *DevicePlaced) fields(w *walk) {
	text(w, "device", &p.Device, named)
	if w.need("place") {
		pointValue(w, "place", &p.Place)
	}
	numOpt(w, "accuracy_mm", &p.Accuracy, 1, mmMax)
}

// AccessPoint is one Wi-Fi transmitter as heard at a place.
type AccessPoint struct {
	Channel int
	Width   int // MHz
	RSSI    int // dBm
}

// WifiSurveyed lists what Wi-Fi was heard at a place on a floor.
type WifiSurveyed struct {
	said
	Floor FloorID
	Place XY
	Heard []AccessPoint
}

func (WifiSurveyed) Kind() Kind            { return "wifi.surveyed" }
func (p WifiSurveyed) Subjects() []Subject { return []Subject{Floor(p.Floor)} }
func (p WifiSurveyed) String() string {
	return fmt.Sprintf("surveyed Wi-Fi on floor %s: %d heard", p.Floor, len(p.Heard))
}

func (p *WifiSurveyed) fields(w *walk) {
	text(w, "floor", &p.Floor, named)
	if w.need("place") {
		xy(w, &p.Place)
	}
	list(w, "heard", &p.Heard, func(a *AccessPoint) {
		w.object(func() {
			num(w, "channel", &a.Channel, 1, 233)
			num(w, "width_mhz", &a.Width, 1, 320)
			num(w, "rssi_dbm", &a.RSSI, rssiMin, rssiMax)
		})
	})
}

// The range an RSSI can have: IEEE 802.15.4-2020 §6.16.2.8, whose octet counts
// from -174 dBm to +80 dBm.
const rssiMin, rssiMax = -174, 80

// TestPlanned says that a room is to pass a functional test, within limits.
type TestPlanned struct {
	said
	Room   RoomID
	Test   TestKind
	Limits map[string]int64 // by name with its unit, such as off_within_s
	Note   string
}

func (TestPlanned) Kind() Kind            { return "test.planned" }
func (p TestPlanned) Subjects() []Subject { return []Subject{Room(p.Room)} }
func (p TestPlanned) String() string {
	return fmt.Sprintf("planned %s test of room %s", p.Test, p.Room)
}

func (p *TestPlanned) fields(w *walk) {
	text(w, "room", &p.Room, named)
	text(w, "test", &p.Test, oneOf(TestKinds...))
	if w.key("limits", len(p.Limits) > 0) {
		sortedMap(w, "limits", &p.Limits, named, func(k string, v *int64) { numValue(w, k, v, -maxInt, maxInt) })
		if w.err == nil && len(p.Limits) == 0 {
			w.fail("%w: limits is empty, not absent", errNotCanonical)
		}
	}
	textOpt(w, "note", &p.Note, prose)
}

// LinkMeasured is how well B heard A.
type LinkMeasured struct {
	said
	A, B Tag // device tags or hub ids
	RSSI Maybe[int]
	PDR  Maybe[int64] // packets delivered, in millionths
	LQI  Maybe[int]
}

func (LinkMeasured) Kind() Kind            { return "link.measured" }
func (p LinkMeasured) Subjects() []Subject { return devices(p.A, p.B) }
func (p LinkMeasured) String() string {
	s := fmt.Sprintf("measured %s to %s", p.A, p.B)
	if p.RSSI.Known {
		s += fmt.Sprintf(": %d dBm", p.RSSI.Value)
	}
	if p.PDR.Known {
		s += fmt.Sprintf(", %.1f %% delivered", float64(p.PDR.Value)/1e4)
	}
	return s
}

func (p *LinkMeasured) fields(w *walk) {
	text(w, "a", &p.A, named)
	text(w, "b", &p.B, named)
	numMaybe(w, "rssi_dbm", &p.RSSI, rssiMin, rssiMax)
	numMaybe(w, "pdr_ppm", &p.PDR, 0, 1_000_000)
	numMaybe(w, "lqi", &p.LQI, 0, 255)
	if w.err == nil && !p.RSSI.Known && !p.PDR.Known && !p.LQI.Known {
		w.fail("one of rssi_dbm, pdr_ppm and lqi is missing")
	}
	if w.err == nil && p.A == p.B {
		w.fail("b: is the same as a")
	}
}
