package intake

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"pairwalk/events"
)

// Record is one row of the field's records as the office has merged it.
type Record struct {
	Number int // as a spreadsheet counts; the header is row 1
	Export string
	Tag    events.Tag
	Serial events.Serial
	Hub    events.HubID
	Kind   string // a kind of device where the word is known here, else as the office wrote it
}

// recordColumns are what is read of the office's rows; other columns are passed
// over.
var recordColumns = layout{columns: []column{
	{name: "tag", also: "position,mark,device,device tag", need: true},
	{name: "serial", also: "serial number,serial no,s/n", need: true},
	{name: "export", also: "export id"},
	{name: "hub", also: "controller"},
	{name: "kind", also: "device kind,sort"},
}}

// ReadRecords reads a file of records that came back from the office, as CSV. It
// must have the columns tag and serial; export, hub and kind are welcome, others
// are passed over.
func ReadRecords(r io.Reader) ([]Record, error) {
	data, err := slurp(r)
	if err != nil {
		return nil, err
	}
	rows := cut(data, separator(data), math.MaxInt)
	if len(rows) == 0 || rows[0].err != nil {
		return nil, ErrHeader
	}
	for i := range rows {
		for j, c := range rows[i].cells {
			rows[i].cells[j] = unguard(c)
		}
	}
	return readRecords(rows)
}

// RecordTables reads records that came back as a workbook: the first table that is
// not hidden and has what ReadRecords asks for.
func RecordTables(tables []Table) ([]Record, error) {
	for _, t := range tables {
		rows := t.records()
		for at := range rows[:min(len(rows), titleMost+1)] {
			if _, lacks := recordPlaces(rows[at].cells); lacks == "" && !t.Hidden {
				out, err := readRecords(rows[at:])
				if err != nil {
					return nil, fmt.Errorf("sheet %q: %w", t.Name, err)
				}
				return out, nil
			}
		}
	}
	return nil, fmt.Errorf("%w: no sheet of the office's workbook has the columns tag and serial", ErrHeader)
}

// recordPlaces finds the columns in a header row, by name, and names the first
// that is missing.
func recordPlaces(header []string) (at map[string]int, lacks string) {
	at = map[string]int{}
	for i, text := range header {
		if c, _, ok := recordColumns.find(text); ok {
			if _, twice := at[c.name]; !twice {
				at[c.name] = i
			}
		}
	}
	for _, c := range recordColumns.columns {
		if _, ok := at[c.name]; c.need && !ok {
			return at, c.name
		}
	}
	return at, ""
}

func readRecords(rows []record) ([]Record, error) {
	at, lacks := recordPlaces(rows[0].cells)
	if lacks != "" {
		return nil, fmt.Errorf("%w: the office's file needs the columns tag and serial; it has %s", ErrHeader, strings.Join(rows[0].cells, ", "))
	}
	var out []Record
	for _, row := range rows[1:] {
		rec, err := readRecord(row, at)
		if err != nil {
			return nil, fmt.Errorf("row %d: %w", row.number, err)
		}
		out = append(out, rec)
	}
	if len(out) == 0 {
		return nil, errors.New("the office's file has a header and no rows")
	}
	return out, nil
}

func readRecord(row record, at map[string]int) (Record, error) {
	if row.err != nil {
		return Record{}, row.err
	}
	cell := func(name string) string {
		if i, ok := at[name]; ok && i < len(row.cells) {
			return tidy(row.cells[i])
		}
		return ""
	}
	for _, c := range row.cells {
		if !utf8.ValidString(c) {
			return Record{}, fmt.Errorf("%w; save the file as CSV in UTF-8", ErrNotText)
		}
	}
	for _, i := range at {
		if i < len(row.typed) && row.typed[i].Wrong != "" {
			return Record{}, fmt.Errorf("%s; %s", row.typed[i].Wrong, row.typed[i].Right)
		}
	}
	rec := Record{row.number, cell("export"), events.Tag(cell("tag")), events.Serial(cell("serial")), events.HubID(cell("hub")), cell("kind")}
	if rec.Tag == "" {
		return Record{}, errors.New("has no tag; every row needs one")
	}
	if word, ok := kindWords.find(rec.Kind); ok {
		rec.Kind = word
	}
	if rec.Kind == kindPortable {
		rec.Kind = string(events.WallControl)
	}
	return rec, nil
}
