package asbuilt

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/handover"
)

// Files makes the tables of a pack.
func Files(s handover.Source) ([]handover.File, error) {
	b := builder{Source: s, zone: s.Site.Location()}
	tables := []struct {
		name string
		table
	}{
		{"devices", b.devices()},
		{"floors", b.floors()},
		{"links", b.links()},
		{"serials", b.serials()},
		{"hubs", b.hubs()},
		{"circuits", b.circuits()},
		{"tests", b.tests()},
		{"faults", b.faults()},
		{"entries", b.entries()},
	}
	var out []handover.File
	for _, t := range tables {
		var file bytes.Buffer
		if err := intake.WriteCSV(&file, strings.Fields(t.header), t.rows); err != nil {
			return nil, fmt.Errorf("write %s.csv: %w", t.name, err)
		}
		out = append(out, handover.File{Name: "csv/" + t.name + ".csv", Content: file.Bytes()})
	}
	return out, nil
}

// builder reads off the tables.
type builder struct {
	handover.Source
	zone *time.Location
}

// table is a file's header, its columns parted by blanks, and its rows.
type table struct {
	header string
	rows   [][]string
}

// add adds a row, which has a cell for every column.
func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

func (b *builder) time(at events.Instant) string { return at.Time().In(b.zone).Format(time.RFC3339) }

// at is when an entry happened, "" for none.
func (b *builder) at(c *projection.Cause) string {
	if c == nil || c.IsZero() {
		return ""
	}
	return b.time(c.At)
}

// by is who did what an entry tells, "" for none.
func (b *builder) by(c *projection.Cause) string {
	if c == nil || c.IsZero() {
		return ""
	}
	return b.Site.DoneBy(c.Event)
}

// ref names an entry, "" for none.
func ref(c *projection.Cause) string {
	if c == nil || c.IsZero() {
		return ""
	}
	return c.Ref().String()
}

func number[T ~int | ~int64](m events.Maybe[T]) string {
	if !m.Known {
		return ""
	}
	return strconv.FormatInt(int64(m.Value), 10)
}

// above is a number where it says something, that is, where it is above 0.
func above(n int64) string {
	if n <= 0 {
		return ""
	}
	return strconv.FormatInt(n, 10)
}

// scaled writes thousandths, or other parts, as a decimal number: exact, and without
// zeros at its end.
func scaled(n int64, digits int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	s := fmt.Sprintf("%0*d", digits+1, n)
	whole, parts := s[:len(s)-digits], strings.TrimRight(s[len(s)-digits:], "0")
	if parts == "" {
		return sign + whole
	}
	return sign + whole + "." + parts
}

func metres(mm int64) string { return scaled(mm, 3) }

// place is a point's three cells.
func place(p events.Maybe[events.Point]) (x, y, z string) {
	if !p.Known {
		return "", "", ""
	}
	return metres(p.Value.X), metres(p.Value.Y), metres(p.Value.Z)
}
