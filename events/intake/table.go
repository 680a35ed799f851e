package intake

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// MaxBytes bounds a file: the largest schedules are a few hundred kilobytes.
const MaxBytes = 32 << 20

// The separators that spreadsheets write, the likeliest first.
var separators = []rune{',', ';', '\t'}

// record is one row of a file as it was cut into cells.
type record struct {
	number int // as a spreadsheet counts: blank lines too, a cell's line breaks not
	cells  []string
	typed  []Cell // of a workbook: the same cells, with what they hold
	err    error  // the row could not be cut
}

// slurp reads a file of text and takes its byte order mark off.
func slurp(r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read sheet: %w", err)
	}
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("read sheet: is larger than %d MiB; split it", MaxBytes>>20)
	}
	if bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF}) {
		return nil, fmt.Errorf("read sheet: %w: it is UTF-16; save the sheet as CSV in UTF-8", ErrNotText)
	}
	if bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte{0xD0, 0xCF, 0x11, 0xE0}) {
		return nil, fmt.Errorf("read sheet: %w: it is a workbook, or another file of a program; save the sheet as CSV in UTF-8", ErrNotText)
	}
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, fmt.Errorf("read sheet: %w", ErrEmpty)
	}
	return data, nil
}

// cut makes records of a file. A row that RFC 4180 does not allow carries its
// error; the rows after it are cut all the same.
func cut(data []byte, sep rune, most int) []record {
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma = sep
	r.FieldsPerRecord = -1
	var out []record
	number, offset := 0, int64(0)
	for len(out) < most {
		number += blankLines(data[offset:]) + 1
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		offset = r.InputOffset()
		rec := record{number: number, cells: cells, err: err}
		if err != nil || !rec.blank() {
			out = append(out, rec)
		}
	}
	return out
}

// blankLines counts the empty lines that the csv reader is going to skip.
func blankLines(data []byte) int {
	n := 0
	for {
		switch {
		case bytes.HasPrefix(data, []byte("\n")):
			data = data[1:]
		case bytes.HasPrefix(data, []byte("\r\n")):
			data = data[2:]
		default:
			return n
		}
		n++
	}
}

// blank says whether nothing stands in a row, or separators alone, which is how
// spreadsheets write an empty one.
func (r record) blank() bool {
	for _, c := range r.cells {
		if strings.Trim(c, ",;\t ") != "" {
			return false
		}
	}
	return true
}

// separator finds the one by which the header row makes the most sense.
func separator(data []byte) rune {
	best, most := separators[0], -1
	for _, sep := range separators {
		header := cut(data, sep, 1)
		if len(header) == 0 || header[0].err != nil {
			continue
		}
		if n := known(header[0].cells); n > most {
			best, most = sep, n
		}
	}
	return best
}

// headerCells cuts and checks the header row.
func headerCells(rec record) ([]string, error) {
	if rec.err != nil {
		return nil, fmt.Errorf("read sheet: row %d: %w: a quotation mark is out of place", rec.number, ErrHeader)
	}
	names := make([]string, len(rec.cells))
	for i, c := range rec.cells {
		if !utf8.ValidString(c) {
			return nil, fmt.Errorf("read sheet: row %d, column %d: %w; save the sheet as CSV in UTF-8", rec.number, i+1, ErrNotText)
		}
		names[i] = tidy(c)
	}
	return names, nil
}
