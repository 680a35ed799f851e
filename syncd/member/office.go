package member

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
)

// officeHeader heads the file of records for the office; reading one back asks
// for export, tag, serial and hub.
var officeHeader = []string{"export", "tag", "serial", "hub", "how", "paired_at", "paired_by"}

// Records is a sheet of pairings written for the office, and what it covers.
type Records struct {
	Export string
	Rows   int
	heads  map[events.FeedID]events.Head
}

// RecordsOut writes the field's pairings as a sheet for the office. Nothing is
// recorded: say Exported once the sheet is safely where it belongs.
func (m *Member) RecordsOut(w io.Writer) (Records, error) {
	s := m.Now()
	draw, err := ulid.New(uint64(m.world.wall()), m.world.Rand)
	if err != nil {
		return Records{}, fmt.Errorf("draw export id: %w", err)
	}
	out := Records{Export: "X" + draw.String()[18:], heads: s.Heads}
	sheet := officeRows(s, out.Export)
	if len(sheet) == 0 {
		return Records{}, errors.New("nothing is paired yet, so there is nothing to bring home")
	}
	if err := intake.WriteCSV(w, officeHeader, sheet); err != nil {
		return Records{}, fmt.Errorf("write records: %w", err)
	}
	out.Rows = len(sheet)
	return out, nil
}

// Exported notes that a sheet of records was written: it covers every entry that
// was known here when its rows were made, and none that came after.
func (m *Member) Exported(ctx context.Context, r Records) (events.Event, error) {
	return m.recordOne(ctx, Entry{Payload: events.RecordsExported{Export: r.Export, Heads: r.heads}})
}

func officeRows(s *projection.Site, id string) [][]string {
	var rows [][]string
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Paired == nil {
			continue
		}
		at := d.Paired.At.Time().In(s.Location()).Format(time.RFC3339)
		rows = append(rows, []string{id, string(d.Device), string(d.Serial), string(d.Paired.Hub), string(d.Paired.How), at, s.DoneBy(d.Paired.Event)})
	}
	return rows
}

// Difference is a row where the office's file and the field do not agree.
type Difference struct {
	Row   int    `json:"row"` // 0 for a device that the file lacks
	Tag   string `json:"tag"`
	Words string `json:"words"`
}

// Homecoming is the office's file held against the field.
type Homecoming struct {
	Export      string       `json:"export"`
	Same        int          `json:"same"`
	Differences []Difference `json:"differences"`
}

// RecordsBack reads the office's rows after merging and holds them against the
// field. It records nothing; see Merged.
func (m *Member) RecordsBack(r io.Reader) (Homecoming, error) {
	rows, err := intake.ReadRecords(r)
	if err != nil {
		return Homecoming{}, err
	}
	s := m.Now()
	var out Homecoming
	seen := map[events.Tag]bool{}
	for _, row := range rows {
		if row.Export != "" {
			out.Export = row.Export
		}
		seen[row.Tag] = true
		if words := differs(s, row); words != "" {
			out.Differences = append(out.Differences, Difference{row.Number, string(row.Tag), words})
		} else {
			out.Same++
		}
	}
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Paired != nil && !seen[d.Device] {
			out.Differences = append(out.Differences, Difference{0, string(d.Device), "is paired in the field, and the office's file has no row for it"})
		}
	}
	return out, nil
}

// differs says how the office's row and the field disagree, or "".
func differs(s *projection.Site, row intake.Record) string {
	d, ok := s.Device(row.Tag)
	switch {
	case !ok:
		return "is not known in the field"
	case d.Paired == nil:
		return "is not paired in the field"
	case row.Hub != "" && row.Hub != d.Paired.Hub:
		return fmt.Sprintf("is on %s in the office's file, and paired to %s", row.Hub, d.Paired.Hub)
	case row.Serial == d.Serial:
		return ""
	}
	for i := range s.Devices {
		if other := &s.Devices[i]; row.Serial != "" && other.Serial == row.Serial {
			return fmt.Sprintf("has serial %s in the office's file, which sits at %s in the field: were they swapped?", row.Serial, other.Device)
		}
	}
	return fmt.Sprintf("has serial %q in the office's file, and %q in the field", row.Serial, d.Serial)
}

// Merged notes that the office has merged an export, for one hub or, with hub
// empty, for the whole site. With no id it is the last export there was.
func (m *Member) Merged(ctx context.Context, id string, hub events.HubID, x Entry) (events.Event, error) {
	s := m.Now()
	if len(s.Exports) == 0 {
		return events.Event{}, errors.New("no records were exported yet; write them with: pairwalk merge out FILE")
	}
	if id == "" {
		id = s.Exports[len(s.Exports)-1].ID
	}
	known := make([]string, len(s.Exports))
	for i := range s.Exports {
		known[i] = s.Exports[i].ID
	}
	if !slices.Contains(known, id) {
		return events.Event{}, fmt.Errorf("no export %q: %w; there are %s", id, ErrUnknown, strings.Join(known, ", "))
	}
	if _, ok := s.Hub(hub); hub != "" && !ok {
		return events.Event{}, fmt.Errorf("no hub %s: %w; there are %s", hub, ErrUnknown, hubNames(s))
	}
	x.Payload = events.RecordsMerged{Export: id, Hub: hub}
	return m.recordOne(ctx, x)
}
