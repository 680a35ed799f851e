package intake

import (
	"fmt"
	"strconv"

	"pairwalk/events"
)

// facet is one column's share of a listed thing: how people read it, and how to
// keep what was listed before where a file has no such column.
type facet[T any] struct {
	column string
	show   func(T) string
	keep   func(row *T, before T)
}

// Delta is a column that changes.
type Delta struct {
	Column   string // as schedules call it; place for x and y, height for z
	Old, New string // as people read them; "" for nothing
}

// amend lays the row of a file over what was listed before: columns that the
// file lacks keep their old value. It returns the result and what changes.
func amend[T any](before, row T, facets []facet[T], has func(string) bool) (T, []Delta) {
	for _, f := range facets {
		if !has(f.column) {
			f.keep(&row, before)
		}
	}
	return row, deltas(before, row, facets, func(string) bool { return true })
}

// deltas lists what differs in the columns that count.
func deltas[T any](before, after T, facets []facet[T], counts func(string) bool) []Delta {
	var out []Delta
	for _, f := range facets {
		if o, n := f.show(before), f.show(after); counts(f.column) && o != n {
			out = append(out, Delta{label(f.column), o, n})
		}
	}
	return out
}

func label(column string) string {
	switch column {
	case "x":
		return "place"
	case "z":
		return "height"
	}
	return column
}

// of is the facet of a field that holds text.
func of[T any, V ~string](column string, at func(*T) *V) facet[T] {
	return shown(column, at, func(v V) string { return string(v) })
}

// shown is the facet of any field.
func shown[T, V any](column string, at func(*T) *V, show func(V) string) facet[T] {
	return facet[T]{
		column: column,
		show:   func(t T) string { return show(*at(&t)) },
		keep:   func(row *T, before T) { *at(row) = *at(&before) },
	}
}

// The facets of each listed thing; what later ones keep may hang on earlier
// ones.
var (
	deviceFacets = []facet[events.DeviceListed]{
		of("kind", func(d *events.DeviceListed) *events.DeviceKind { return &d.Is }),
		of("hub", func(d *events.DeviceListed) *events.HubID { return &d.Hub }),
		of("radio", func(d *events.DeviceListed) *events.Radio { return &d.Radio }),
		of("floor", func(d *events.DeviceListed) *events.FloorID { return &d.Floor }),
		of("room", func(d *events.DeviceListed) *events.RoomID { return &d.Room }),
		shown("x", func(d *events.DeviceListed) *events.Maybe[events.Point] { return &d.Place }, plan),
		{"z", func(d events.DeviceListed) string { return height(d.Place) }, func(row *events.DeviceListed, before events.DeviceListed) {
			keepHeight(&row.Place, before.Place, row.Floor == before.Floor)
		}},
		of("circuit", func(d *events.DeviceListed) *events.CircuitID { return &d.Circuit }),
		{"power", func(d events.DeviceListed) string { return string(d.Power) }, keepPower},
		shown("emergency", func(d *events.DeviceListed) *bool { return &d.Emergency }, yesOrNothing),
		of("maker", func(d *events.DeviceListed) *string { return &d.Maker }),
		of("model", func(d *events.DeviceListed) *string { return &d.Model }),
		of("type", func(d *events.DeviceListed) *string { return &d.Type }),
		of("warranty_start", func(d *events.DeviceListed) *string { return &d.WarrantyStart }),
		shown("warranty_months", func(d *events.DeviceListed) *int { return &d.WarrantyMonths }, numberOrNothing),
		of("geometry", func(d *events.DeviceListed) *string { return &d.Geometry }),
		of("note", func(d *events.DeviceListed) *string { return &d.Note }),
	}
	hubFacets = []facet[events.HubListed]{
		of("radio", func(h *events.HubListed) *events.Radio { return &h.Radio }),
		of("floor", func(h *events.HubListed) *events.FloorID { return &h.Floor }),
		of("room", func(h *events.HubListed) *events.RoomID { return &h.Room }),
		shown("x", func(h *events.HubListed) *events.Maybe[events.Point] { return &h.Place }, plan),
		{"z", func(h events.HubListed) string { return height(h.Place) }, func(row *events.HubListed, before events.HubListed) {
			keepHeight(&row.Place, before.Place, row.Floor == before.Floor)
		}},
		of("circuit", func(h *events.HubListed) *events.CircuitID { return &h.Circuit }),
		of("note", func(h *events.HubListed) *string { return &h.Note }),
	}
	roomFacets = []facet[events.RoomListed]{
		of("floor", func(r *events.RoomListed) *events.FloorID { return &r.Floor }),
		of("geometry", func(r *events.RoomListed) *string { return &r.Geometry }),
		of("room note", func(r *events.RoomListed) *string { return &r.Note }), // no sheet has it: it is always kept
	}
	wallFacets = []facet[events.WallListed]{
		of("floor", func(w *events.WallListed) *events.FloorID { return &w.Floor }),
		of("material", func(w *events.WallListed) *string { return &w.Material }),
		shown("thickness", func(w *events.WallListed) *int64 { return &w.Thickness }, func(mm int64) string { return strconv.FormatInt(mm, 10) + " mm" }),
		shown("points", func(w *events.WallListed) *[]events.XY { return &w.Line }, lineShown),
	}
	floorFacets = []facet[events.FloorListed]{
		shown("level", func(f *events.FloorListed) *int { return &f.Level }, strconv.Itoa),
		shown("elevation", func(f *events.FloorListed) *events.Maybe[int64] { return &f.Elevation }, metresOrNothing),
	}
)

// keepPower keeps how a device is fed. Where it was fed as usual for what it
// was, or the file's word for its kind says how it is fed, that changes with the
// kind.
func keepPower(row *events.DeviceListed, before events.DeviceListed) {
	if row.Power == row.Is.UsualPower() && before.Power != before.Is.UsualPower() {
		row.Power = before.Power
	}
}

// keepHeight keeps a known height, as long as the floor is the same.
func keepHeight(row *events.Maybe[events.Point], before events.Maybe[events.Point], sameFloor bool) {
	if row.Known && before.Known && sameFloor {
		row.Value.Z = before.Value.Z
	}
}

func plan(p events.Maybe[events.Point]) string {
	if !p.Known {
		return ""
	}
	return fmt.Sprintf("%s m, %s m", metres(p.Value.X), metres(p.Value.Y))
}

func height(p events.Maybe[events.Point]) string {
	return metresOrNothing(events.Maybe[int64]{Value: p.Value.Z, Known: p.Known})
}

func metresOrNothing(mm events.Maybe[int64]) string {
	if !mm.Known {
		return ""
	}
	return metres(mm.Value) + " m"
}

func yesOrNothing(b bool) string {
	if b {
		return yes
	}
	return ""
}

func numberOrNothing(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
