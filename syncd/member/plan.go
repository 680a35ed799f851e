package member

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
)

// Plan is what taking in a sheet would do.
type Plan struct {
	Sheet intake.Sheet
	Diff  intake.Diff
}

// Sheet reads a file of text, such as a schedule or a field sheet, and compares
// it with the site. Nothing is taken yet.
func (m *Member) Sheet(r io.Reader, day time.Time) (Plan, error) {
	return m.plan(day, func(opt intake.Options) (intake.Sheet, error) { return intake.Read(r, opt) })
}

// Tables is Sheet for the tables of a workbook.
func (m *Member) Tables(tables []intake.Table, day time.Time) (Plan, error) {
	return m.plan(day, func(opt intake.Options) (intake.Sheet, error) { return intake.ReadTables(tables, opt) })
}

func (m *Member) plan(day time.Time, read func(intake.Options) (intake.Sheet, error)) (Plan, error) {
	s := m.Now()
	list := listing(s)
	sheet, err := read(intake.Options{
		Site:      list,
		Region:    s.Settings.Value(events.Region),
		Day:       day,
		Now:       m.world.wall().Time(),
		Zone:      s.Location(),
		Tolerance: s.Settings.Span(events.WhenTolerance, time.Minute),
	})
	if err != nil {
		return Plan{}, err
	}
	p := Plan{sheet, sheet.Diff(list)}
	if len(p.Problems()) > 0 {
		p.Diff.Strikes = nil // a row that could not be read may be the very one missing
	}
	return p, nil
}

// Problems is every row that can't be taken as it stands.
func (p Plan) Problems() []intake.Problem {
	return append(p.Sheet.Problems[:len(p.Sheet.Problems):len(p.Sheet.Problems)], p.Diff.Problems...)
}

// SheetAnswer is what taking in a sheet would do, or has done.
type SheetAnswer struct {
	V        int      `json:"v"`
	Kind     string   `json:"kind"`
	Table    string   `json:"table,omitempty"` // of a workbook
	DryRun   bool     `json:"dry_run"`
	Taken    int      `json:"taken"` // entries recorded
	Rows     int      `json:"rows"`  // good ones
	Adds     int      `json:"adds"`
	Amends   int      `json:"amends"`
	Renames  int      `json:"renames"`
	Strikes  int      `json:"strikes"`
	Entries  int      `json:"entries"`
	Same     int      `json:"same"`
	Lines    []string `json:"lines"`    // the changes in words; of a field sheet, its rows
	Problems []string `json:"problems"` // rows that can't be taken
	Notes    []string `json:"notes"`
}

// Answer writes a plan as a document, before anything is taken.
func (p Plan) Answer(s *projection.Site) SheetAnswer {
	d := p.Diff
	a := SheetAnswer{
		V: AnswerVersion, Kind: string(p.Sheet.Kind), Table: p.Sheet.Table, DryRun: true, Rows: len(p.Sheet.Rows),
		Adds: len(d.Adds), Amends: len(d.Amends), Renames: len(d.Renames), Strikes: len(d.Strikes), Entries: len(d.Entries), Same: d.Same,
		Lines: []string{}, Problems: listOf(p.Problems(), problem), Notes: listOf(p.Sheet.Notes, problem),
	}
	switch text := strings.TrimSpace(d.String()); {
	case p.Sheet.Kind == intake.FieldSheet:
		a.Lines = listOf(p.Sheet.Rows, writer{s, s.Location()}.row)
	case text != "":
		a.Lines = strings.Split(text, "\n")
	}
	return a
}

func problem(x *intake.Problem) string { return x.String() }

// row says a row of a field sheet in words.
func (w writer) row(x *intake.Row) string {
	words := fmt.Sprintf("row %d: %s", x.Number, x.Payload)
	if x.When.Known {
		words += ", " + x.When.Value.Middle().Time().In(w.zone).Format("2 Jan 15:04")
	}
	if x.By != "" {
		words += ", by " + x.By
	}
	return words
}

// ErrRows means that some rows are bad and nothing was taken.
var ErrRows = errors.New("some rows can't be taken, so none was; mend them, or take the good ones with --partial")

// Import takes in a plan: everything, or with partial the good rows alone.
func (m *Member) Import(ctx context.Context, p Plan, accept intake.Accept, partial bool) ([]events.Event, error) {
	if len(p.Problems()) > 0 && !partial {
		return nil, ErrRows
	}
	var entries []Entry
	if p.Sheet.Kind == intake.FieldSheet {
		for _, row := range p.Sheet.Rows {
			entries = append(entries, Entry{Payload: row.Payload, When: row.When, By: row.By})
		}
	}
	for _, row := range p.Diff.Entries {
		entries = append(entries, Entry{Payload: row.Payload, When: row.When, By: row.By})
	}
	for _, x := range p.Diff.Payloads(accept) {
		entries = append(entries, Entry{Payload: x})
	}
	evs, err := m.Record(ctx, entries...)
	if err != nil {
		return nil, fmt.Errorf("import: %w", err)
	}
	return evs, nil
}

// listing is a site's schedule, and what was measured there, in the words of
// entries.
func listing(s *projection.Site) intake.Listing {
	l := intake.Listing{
		Hubs:    map[events.HubID]events.HubListed{},
		Devices: map[events.Tag]events.DeviceListed{},
		Floors:  map[events.FloorID]events.FloorListed{},
		Rooms:   map[events.RoomID]events.RoomListed{},
		Walls:   map[string]events.WallListed{},
		Touched: map[events.Tag]bool{},
	}
	for i := range s.Hubs {
		if h := &s.Hubs[i]; h.Row != nil && h.Struck == nil {
			l.Hubs[h.Hub] = h.Row.Event.Payload.(events.HubListed)
		}
	}
	for i := range s.Devices {
		d := &s.Devices[i]
		if d.Row == nil || d.Struck != nil {
			continue
		}
		row := d.Row.Event.Payload.(events.DeviceListed)
		row.Device = d.Device
		l.Devices[d.Device] = row
		l.Touched[d.Device] = d.Since.Event != d.Row.Event
	}
	for _, f := range s.Floors {
		l.Floors[f.Floor] = f
	}
	for _, r := range s.Rooms {
		l.Rooms[r.Room] = r
	}
	for _, w := range s.Walls {
		l.Walls[w.Wall] = w
	}
	for _, x := range s.Links {
		l.Links = append(l.Links, intake.Logged[events.LinkMeasured]{Payload: x.LinkMeasured, When: x.Measured.Event.When()})
	}
	for _, x := range s.Surveys {
		l.Surveys = append(l.Surveys, intake.Logged[events.WifiSurveyed]{Payload: x.WifiSurveyed, When: x.Done.Event.When()})
	}
	return l
}
