package member

import (
	"cmp"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/storey"
)

// LayoutAnswer is where things are: what a drawing of the site begins with.
// Places are mm in the site's own axes, null where nothing is known.
type LayoutAnswer struct {
	V        int             `json:"v"`
	Floors   []LayoutFloor   `json:"floors"`
	Rooms    []LayoutRoom    `json:"rooms"`
	Walls    []LayoutWall    `json:"walls"`
	Drawings []LayoutDrawing `json:"drawings"`
	Hubs     []LayoutHub     `json:"hubs"`
	Devices  []LayoutDevice  `json:"devices"`
}

// LayoutFloor is one floor, in the order they lie on each other.
type LayoutFloor struct {
	ID        string `json:"id"`
	Level     int    `json:"level"`
	Elevation int64  `json:"elevation_mm"`
}

// LayoutRoom is one room.
type LayoutRoom struct {
	ID    string `json:"id"`
	Floor string `json:"floor"`
}

// LayoutWall is a wall as a line through points.
type LayoutWall struct {
	Floor     string     `json:"floor"`
	Material  string     `json:"material"`
	Thickness int64      `json:"thickness_mm"`
	Line      [][2]int64 `json:"line_mm"`
}

// LayoutDrawing is a picture under a floor: where its top left corner lies, how
// many µm a pixel is, and how far it is turned anticlockwise, in thousandths of a
// degree.
type LayoutDrawing struct {
	Floor  string   `json:"floor"`
	SHA256 string   `json:"sha256"`
	Type   string   `json:"type"`
	Corner [2]int64 `json:"corner_mm"`
	Pixel  int64    `json:"pixel_um"`
	Turn   int64    `json:"turn_mdeg"`
}

// LayoutHub is where a hub hangs.
type LayoutHub struct {
	ID    string    `json:"id"`
	Floor string    `json:"floor"`
	Room  string    `json:"room"`
	Place *[3]int64 `json:"place_mm"`
}

// LayoutDevice is where a device sits, and what of it does not change with time.
type LayoutDevice struct {
	Tag       string    `json:"tag"`
	Hub       string    `json:"hub"`
	Kind      string    `json:"kind"`
	Radio     string    `json:"radio"`
	Router    bool      `json:"router"`
	Floor     string    `json:"floor"`
	Room      string    `json:"room"`
	Circuit   string    `json:"circuit"`
	Emergency bool      `json:"emergency"`
	Struck    bool      `json:"struck"`
	Place     *[3]int64 `json:"place_mm"`
	Accuracy  int64     `json:"accuracy_mm"`
}

// LayoutOf writes where things are. Floors that only devices or hubs name are
// among them.
func LayoutOf(s *projection.Site) LayoutAnswer {
	a := LayoutAnswer{V: AnswerVersion, Floors: []LayoutFloor{}}
	listed := map[events.FloorID]events.FloorListed{}
	for _, f := range s.Floors {
		listed[f.Floor] = f
	}
	for _, id := range floorNames(s) {
		f, ok := listed[id]
		if !ok {
			f.Level, _ = storey.Named(id)
		}
		if !f.Elevation.Known {
			f.Elevation.Value = int64(f.Level) * storey.Height
		}
		a.Floors = append(a.Floors, LayoutFloor{string(id), f.Level, f.Elevation.Value})
	}
	slices.SortStableFunc(a.Floors, func(x, y LayoutFloor) int { return cmp.Compare(x.Level, y.Level) })
	a.Rooms = listOf(s.Rooms, func(r *events.RoomListed) LayoutRoom { return LayoutRoom{string(r.Room), string(r.Floor)} })
	a.Walls = listOf(s.Walls, func(x *events.WallListed) LayoutWall {
		line := make([][2]int64, len(x.Line))
		for i, p := range x.Line {
			line[i] = [2]int64{p.X, p.Y}
		}
		return LayoutWall{string(x.Floor), x.Material, x.Thickness, line}
	})
	a.Drawings = listOf(s.Drawings, func(x *projection.Drawing) LayoutDrawing {
		return LayoutDrawing{string(x.Floor), x.Picture.SHA256, x.Picture.Type, [2]int64{x.Corner.X, x.Corner.Y}, x.Pixel, x.Turn}
	})
	a.Hubs = listOf(s.Hubs, func(h *projection.Hub) LayoutHub {
		return LayoutHub{string(h.Hub), string(h.Floor), string(h.Room), placeOf(h.Place)}
	})
	a.Devices = listOf(s.Devices, func(d *projection.Device) LayoutDevice {
		return LayoutDevice{
			string(d.Device), string(d.Hub), string(d.Is), string(d.Radio), d.IsRouter(), string(d.Floor), string(d.Room),
			string(d.Circuit), d.Emergency, d.Struck != nil, placeOf(d.Place), d.Accuracy,
		}
	})
	return a
}

// SameLayout says whether nothing that [LayoutOf] tells differs between two sites. It
// may say no where nothing does; it costs next to nothing of what writing both would.
func SameLayout(a, b *projection.Site) bool {
	return slices.Equal(a.Floors, b.Floors) && slices.Equal(a.Rooms, b.Rooms) && slices.Equal(a.Drawings, b.Drawings) &&
		slices.EqualFunc(a.Walls, b.Walls, func(x, y events.WallListed) bool {
			return x.Floor == y.Floor && x.Material == y.Material && x.Thickness == y.Thickness && slices.Equal(x.Line, y.Line)
		}) &&
		slices.EqualFunc(a.Hubs, b.Hubs, func(x, y projection.Hub) bool {
			return x.Hub == y.Hub && x.Floor == y.Floor && x.Room == y.Room && x.Place == y.Place
		}) &&
		sameDevices(a.Devices, b.Devices)
}

// sameDevices looks first whether what is listed of a device is the very same, as it
// mostly is: that is never changed, and made anew where something else is said or the
// fold began again.
func sameDevices(a, b []projection.Device) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		x, y := &a[i], &b[i]
		if x.DeviceListed != y.DeviceListed && *x.DeviceListed != *y.DeviceListed || (x.Struck == nil) != (y.Struck == nil) || x.Accuracy != y.Accuracy {
			return false
		}
	}
	return true
}

func placeOf(p events.Maybe[events.Point]) *[3]int64 {
	if !p.Known {
		return nil
	}
	return &[3]int64{p.Value.X, p.Value.Y, p.Value.Z}
}
