package member

import (
	"cmp"
	"fmt"
	"slices"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
)

// DifferenceKind says how a row of the office's and the field disagree.
type DifferenceKind string

// The kinds of difference.
const (
	RowUnknown  DifferenceKind = "unknown"  // the field knows of no such position
	RowTwice    DifferenceKind = "twice"    // the file has the position in two rows
	RowUnpaired DifferenceKind = "unpaired" // it is not paired in the field, or not any more
	RowHub      DifferenceKind = "hub"      // it is paired to another hub
	RowKind     DifferenceKind = "kind"     // it is another kind of device
	RowSwapped  DifferenceKind = "swapped"  // its serial sits elsewhere in the field
	RowSerial   DifferenceKind = "serial"   // its serial is another
	RowMissing  DifferenceKind = "missing"  // it is paired, and the file has no row for it
	RowLater    DifferenceKind = "later"    // the same, since it was paired after the export
)

// Difference is a row where the office's file and the field do not agree.
type Difference struct {
	Row   int            `json:"row"` // 0 for a device that the file lacks
	Tag   string         `json:"tag"`
	Kind  DifferenceKind `json:"kind"`
	Words string         `json:"words"`
}

// Homecoming is the office's file held against the field.
type Homecoming struct {
	Export      string       `json:"export"`
	Same        int          `json:"same"`
	Differences []Difference `json:"differences"`
}

// Agrees says whether nothing stands against taking the export as merged. What was
// paired after the export waits for the next one.
func (h Homecoming) Agrees() bool {
	return !slices.ContainsFunc(h.Differences, func(d Difference) bool { return d.Kind != RowLater })
}

// RecordsBack holds the office's rows after merging against the field. It records
// nothing; see Merged.
func (m *Member) RecordsBack(rows []intake.Record) Homecoming {
	s := m.Now()
	out := Homecoming{Differences: []Difference{}}
	rowOf := map[events.Tag]int{}
	for _, row := range rows {
		out.Export = cmp.Or(row.Export, out.Export)
		kind, words := differs(s, row)
		if first, twice := rowOf[row.Tag]; twice {
			kind, words = RowTwice, fmt.Sprintf("stands in row %d of the office's file too", first)
		} else {
			rowOf[row.Tag] = row.Number
		}
		if words != "" {
			out.Differences = append(out.Differences, Difference{row.Number, string(row.Tag), kind, words})
		} else {
			out.Same++
		}
	}
	i := slices.IndexFunc(s.Exports, func(x *projection.Export) bool { return x.ID == out.Export })
	for j := range s.Devices {
		d := &s.Devices[j]
		if _, there := rowOf[d.Device]; d.Paired == nil || there {
			continue
		}
		x := Difference{0, string(d.Device), RowMissing, "is paired in the field, and the office's file has no row for it"}
		if i >= 0 && !s.Exports[i].Covers(d.Paired.Ref()) {
			x.Kind, x.Words = RowLater, fmt.Sprintf("was paired after export %s was made; it goes home with the next one", out.Export)
		}
		out.Differences = append(out.Differences, x)
	}
	return out
}

// differs says how the office's row and the field disagree, or "".
func differs(s *projection.Site, row intake.Record) (DifferenceKind, string) {
	d, ok := s.Device(row.Tag)
	switch {
	case !ok:
		return RowUnknown, "is not known in the field"
	case d.Paired == nil && d.Unpaired != nil:
		return RowUnpaired, fmt.Sprintf("is not paired any more: %s, %s", Words(s, d.Unpaired.Event), d.Unpaired.At.Time().In(s.Location()).Format("2006-01-02 15:04"))
	case d.Paired == nil:
		return RowUnpaired, "is not paired in the field"
	case row.Hub != "" && row.Hub != d.Paired.Hub:
		return RowHub, fmt.Sprintf("is on %s in the office's file, and paired to %s", row.Hub, d.Paired.Hub)
	case row.Kind != "" && row.Kind != string(d.Is):
		return RowKind, fmt.Sprintf("is a %s in the office's file, and a %s in the field", row.Kind, d.Is)
	case row.Serial == d.Serial:
		return "", ""
	}
	for i := range s.Devices {
		if other := &s.Devices[i]; row.Serial != "" && other.Serial == row.Serial {
			return RowSwapped, fmt.Sprintf("has serial %s in the office's file, which sits at %s in the field: were they swapped?", row.Serial, other.Device)
		}
	}
	return RowSerial, fmt.Sprintf("has serial %q in the office's file, and %q in the field", row.Serial, d.Serial)
}
