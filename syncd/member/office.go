package member

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
)

// recordsHeader heads the records for the office. Reading them back asks for
// export, tag, kind, serial and hub.
var recordsHeader = []string{"export", "tag", "kind", "serial", "hub", "how", "paired_at", "paired_by", "entry"}

// coversHeader heads the list of what an export covers: of every feed the newest
// entry known when it was made.
var coversHeader = []string{"export", "member", "entries", "feed", "hash"}

// Records is the field's pairings for the office, and what they cover.
type Records struct {
	Export   string
	Pairings intake.Grid
	Covers   intake.Grid
	heads    map[events.FeedID]events.Head
}

// Records gathers the field's pairings for the office. Nothing is recorded: say
// Exported once the file is safely where it belongs.
func (m *Member) Records() (Records, error) {
	s := m.Now()
	draw, err := ulid.New(uint64(m.world.wall()), m.world.Rand)
	if err != nil {
		return Records{}, fmt.Errorf("draw export id: %w", err)
	}
	out := Records{
		Export:   "X" + draw.String()[18:],
		Pairings: intake.Grid{Name: "records", Header: recordsHeader},
		Covers:   intake.Grid{Name: "covers", Header: coversHeader},
		heads:    s.Heads,
	}
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Paired != nil {
			out.Pairings.Rows = append(out.Pairings.Rows, recordRow(s, d, out.Export))
		}
	}
	if len(out.Pairings.Rows) == 0 {
		return Records{}, errors.New("nothing is paired yet, so there is nothing to bring home")
	}
	for _, feed := range sortedKeys(s.Heads) {
		head := s.Heads[feed]
		out.Covers.Rows = append(out.Covers.Rows, []string{out.Export, s.MemberName(feed.Key()), strconv.FormatUint(uint64(head.Seq), 10), string(feed), head.Hash.String()})
	}
	return out, nil
}

func recordRow(s *projection.Site, d *projection.Device, export string) []string {
	at := d.Paired.At.Time().In(s.Location()).Format(time.RFC3339)
	return []string{
		export, string(d.Device), string(d.Is), string(d.Serial), string(d.Paired.Hub), string(d.Paired.How),
		at, s.DoneBy(d.Paired.Event), d.Paired.Ref().String(),
	}
}

// CSV writes the pairings as a sheet.
func (r Records) CSV(w io.Writer) error {
	if err := intake.WriteCSV(w, r.Pairings.Header, r.Pairings.Rows); err != nil {
		return fmt.Errorf("write records: %w", err)
	}
	return nil
}

// Exported notes that a sheet of records was written: it covers every entry that
// was known here when its rows were made, and none that came after.
func (m *Member) Exported(ctx context.Context, r Records) (events.Event, error) {
	return m.recordOne(ctx, Entry{Payload: events.RecordsExported{Export: r.Export, Heads: r.heads}})
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
