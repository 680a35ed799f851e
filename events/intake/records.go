package intake

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"pairwalk/events"
)

// Record is one row of the field's records as the office has merged it.
type Record struct {
	Number int // as a spreadsheet counts; the header is row 1
	Export string
	Tag    events.Tag
	Serial events.Serial
	Hub    events.HubID
}

// ReadRecords reads a file of records that came back from the office. It must
// have the columns tag and serial; export and hub are welcome, others are passed
// over.
func ReadRecords(r io.Reader) ([]Record, error) {
	data, err := slurp(r)
	if err != nil {
		return nil, err
	}
	rows := cut(data, separator(data), math.MaxInt)
	if len(rows) == 0 || rows[0].err != nil {
		return nil, ErrHeader
	}
	at := map[string]int{}
	for i, name := range rows[0].cells {
		at[squash(name)] = i
	}
	for _, must := range []string{"tag", "serial"} {
		if _, ok := at[must]; !ok {
			return nil, fmt.Errorf("%w: the office's file needs the columns tag and serial; it has %s", ErrHeader, strings.Join(rows[0].cells, ", "))
		}
	}
	var out []Record
	for _, row := range rows[1:] {
		if row.err != nil {
			return nil, fmt.Errorf("row %d: %w", row.number, row.err)
		}
		cell := func(name string) string {
			if i, ok := at[name]; ok && i < len(row.cells) {
				return tidy(unguard(row.cells[i]))
			}
			return ""
		}
		rec := Record{row.number, cell("export"), events.Tag(cell("tag")), events.Serial(cell("serial")), events.HubID(cell("hub"))}
		if rec.Tag == "" {
			return nil, fmt.Errorf("row %d has no tag; every row needs one", rec.Number)
		}
		out = append(out, rec)
	}
	if len(out) == 0 {
		return nil, errors.New("the office's file has a header and no rows")
	}
	return out, nil
}
