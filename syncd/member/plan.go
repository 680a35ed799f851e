package member

import (
	"context"
	"errors"
	"fmt"
	"io"
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
		l.Links = append(l.Links, intake.Logged[events.LinkMeasured]{Payload: x.LinkMeasured, When: x.Measured.Event.When})
	}
	for _, x := range s.Surveys {
		l.Surveys = append(l.Surveys, intake.Logged[events.WifiSurveyed]{Payload: x.WifiSurveyed, When: x.Done.Event.When})
	}
	return l
}
