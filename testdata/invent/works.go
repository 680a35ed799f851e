package invent

import (
	"fmt"
	"slices"
	"strconv"

	"pairwalk/events"
)

// File is a sheet's header and rows.
type File struct {
	Header []string
	Rows   [][]string
}

// Files are the sheets of a job, as testdata/works holds them.
type Files struct {
	Schedule, Floors, FieldSheet File
	Walls, Links, Survey         File
}

// unplaced are the floors of the works whose devices have no coordinates: there
// the plan had not been drawn. The hub on floor 2 has some, since it is in the
// riser, which the other floors' plans show.
var unplaced = map[events.FloorID]bool{"2": true, "4": true}

// Works is a job of 480 devices, 4 hubs and 6 floors with a basement.
func Works() Files {
	files := Files{
		Schedule: File{Header: []string{"tag", "kind", "hub", "radio", "floor", "room", "x_m", "y_m", "z_m", "circuit", "power", "emergency", "maker", "model", "warranty_start", "warranty_months", "geometry"}},
		Floors:   File{Header: []string{"floor", "level", "elevation_m"}},
	}
	var devices []events.DeviceListed
	site := worksSite()
	for _, p := range site {
		switch p := p.(type) {
		case events.FloorListed:
			files.Floors.Rows = append(files.Floors.Rows, []string{string(p.Floor), strconv.Itoa(p.Level), metres(p.Elevation.Value)})
		case events.HubListed:
			row := []string{string(p.Hub), "hub", "", "", string(p.Floor), string(p.Room)}
			row = append(row, metres(p.Place.Value.X), metres(p.Place.Value.Y), metres(p.Place.Value.Z))
			files.Schedule.Rows = append(files.Schedule.Rows, append(row, string(p.Circuit), "", "", "", "", "", "", ""))
		case events.DeviceListed:
			devices = append(devices, p)
			files.Schedule.Rows = append(files.Schedule.Rows, deviceRow(p))
		}
	}
	files.FieldSheet = fieldSheet(devices)
	files.Walls, files.Links, files.Survey = walls(), links(site), survey()
	return files
}

// Bare is a job of 24 devices on two hubs, of which only tag, kind and hub are
// known.
func Bare() File {
	f := File{Header: []string{"tag", "kind", "hub"}}
	for _, p := range Site(Size{Seed: 7, Devices: 24, Hubs: 2, Floors: 3}) {
		if d, ok := p.(events.DeviceListed); ok {
			f.Rows = append(f.Rows, []string{string(d.Device), string(d.Is), string(d.Hub)})
		}
	}
	return f
}

func deviceRow(p events.DeviceListed) []string {
	row := []string{string(p.Device), string(p.Is), string(p.Hub), string(p.Radio), string(p.Floor), string(p.Room)}
	row = append(row, coordinates(p.Place.Value, p.Floor)...)
	emergency := ""
	if p.Emergency {
		emergency = "yes"
	}
	return append(row, string(p.Circuit), string(p.Power), emergency, p.Maker, p.Model, p.WarrantyStart, strconv.Itoa(p.WarrantyMonths), p.Geometry)
}

func coordinates(at events.Point, floor events.FloorID) []string {
	if unplaced[floor] {
		return []string{"", "", ""}
	}
	return []string{metres(at.X), metres(at.Y), metres(at.Z)}
}

// metres writes mm with the two digits that the building's grid needs.
func metres(mm int64) string { return fmt.Sprintf("%.2f", float64(mm)/1000) }

// fieldSheet is what two people wrote down in the basement on a morning. Each
// line is about the n-th device that pairs and is no emergency fitting.
func fieldSheet(devices []events.DeviceListed) File {
	devices = slices.DeleteFunc(devices, func(d events.DeviceListed) bool { return !d.Is.Pairs() || d.Emergency })
	f := File{Header: []string{"tag", "serial", "what", "when", "by", "note"}}
	for _, s := range []struct {
		n                    int
		what, when, by, note string
	}{
		{0, "fitted", "09:40", "Ilse", ""},
		{0, "paired", "09:42", "Ilse", ""},
		{1, "paired", "09:45", "Ilse", ""},
		{2, "refused", "09:50", "Ilse", "no-answer: tried from the ladder, twice"},
		{3, "paired", "09:55", "Ilse", "label scratched, read with a torch"},
		{4, "skipped", "10:00", "Tomo", "no-access: plant room locked"},
		{5, "paired", "10:05..10:15", "Tomo", ""},
		{6, "paired", "10:20", "Tomo", ""},
		{6, "unpaired", "10:30", "Tomo", "dropped out again; reset"},
		{6, "paired", "10:34", "Tomo", ""},
		{1, "fault", "10:40", "Tomo", "minor: diffuser hangs by one clip"},
		{2, "note", "10:45", "Ilse", "ceiling closes on Thursday, they say"},
	} {
		serial := ""
		if s.what == "paired" || s.what == "fitted" {
			serial = string(serialOf(2026, s.n))
		}
		f.Rows = append(f.Rows, []string{string(devices[s.n].Device), serial, s.what, s.when, s.by, s.note})
	}
	return f
}

// serialOf is the n-th serial of a seed: two letters and eight digits.
func serialOf(seed uint64, n int) events.Serial {
	return events.Serial(fmt.Sprintf("HL%08d", (uint64(n)*7_919+seed*104_729)%100_000_000))
}
