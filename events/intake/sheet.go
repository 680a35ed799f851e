package intake

import (
	"errors"
	"fmt"
	"io"
	"time"

	"pairwalk/events"
)

// Errors of a file as a whole. A bad row is no error but a [Problem].
var (
	ErrEmpty        = errors.New("nothing is in the file")
	ErrNotText      = errors.New("not UTF-8 text")
	ErrUnknownSheet = errors.New("not a sheet that is known here")
	ErrHeader       = errors.New("bad header row")
)

// SheetKind says what a sheet is about.
type SheetKind string

// The kinds of sheet.
const (
	Schedule   SheetKind = "schedule"
	Floors     SheetKind = "floors sheet"
	FieldSheet SheetKind = "field sheet"
	Walls      SheetKind = "walls sheet"
	Links      SheetKind = "links sheet"
	Survey     SheetKind = "Wi-Fi survey"
)

// layout is what there is to know about one kind of sheet.
type layout struct {
	kind    SheetKind
	columns []column                    // in the order people are shown
	row     func(*row) events.Payload   // reads one row; what is wrong it notes
	whole   func(*reading)              // looks for rows that contradict each other
	differs func(Sheet, Listing, *Diff) // compares with what the site has
}

// layouts is every kind of sheet. A new kind is a new file with its layout, and
// a line here.
var layouts = []layout{schedule, floors, fieldSheet, walls, links, survey}

// Options is what a file doesn't say itself. The zero value does for a schedule
// with z_m or without places, and for floors.
type Options struct {
	// Site is what the site has now: a field sheet finds there which hub a
	// device belongs to, a schedule how high a floor lies, and links their ends.
	Site Listing
	// Region is the site's regulatory region, such as EU: it says which Wi-Fi
	// channels a survey can have heard.
	Region string
	// Day is the date of a sheet's bare times; if zero, that of Now.
	Day time.Time
	// Now, if not zero, is when the file is read: nothing can have been done
	// after it.
	Now time.Time
	// Zone is the site's zone; nil is UTC.
	Zone *time.Location
	// Tolerance is how far off a time on paper may be.
	Tolerance time.Duration
}

// Sheet is a file as it was understood.
type Sheet struct {
	Kind     SheetKind
	Table    string    // which table of a workbook it is; "" for a file of text
	Rows     []Row     // the good ones, in the order of the file
	Problems []Problem // all of them, by row
	Notes    []Problem // what was passed over, and does no harm

	layout  layout
	present map[string]bool         // columns that the file has
	named   map[events.Subject]bool // what any row is about, also a bad one
	blind   bool                    // of some row nobody knows what it is about
}

// Row is what one good row says. A note that goes with another entry is a Row of
// its own, with the same number.
type Row struct {
	Number  int // as a spreadsheet counts; the header is row 1
	Payload events.Payload
	Was     events.Tag                    // schedule: what the device was called before
	When    events.Maybe[events.Interval] // of an entry: when it happened, if that is told
	By      string                        // field sheet: who did it
}

// Problem says what is wrong with a row, and what would be right.
type Problem struct {
	Row    int    // 0 in a note about the file as a whole
	Column string // as the file heads it; "" where the row as a whole is meant
	Wrong  string
	Right  string
}

func (p Problem) String() string {
	s := p.Wrong
	if p.Column != "" {
		s = fmt.Sprintf("row %d, column %s: %s", p.Row, p.Column, p.Wrong)
	} else if p.Row > 0 {
		s = fmt.Sprintf("row %d: %s", p.Row, p.Wrong)
	}
	if p.Right != "" {
		s += "; " + p.Right
	}
	return s
}

// Read reads a file of comma, semicolon or tab separated values. The error is
// about the file as a whole; what is wrong with single rows is in the Sheet.
func Read(r io.Reader, opt Options) (Sheet, error) {
	data, err := slurp(r)
	if err != nil {
		return Sheet{}, err
	}
	sep := separator(data)
	records := cut(data, sep, len(data))
	if len(records) == 0 {
		return Sheet{}, fmt.Errorf("read sheet: %w", ErrEmpty)
	}
	header, err := headerCells(records[0])
	if err != nil {
		return Sheet{}, err
	}
	return readRows(header, records, sep, opt)
}

// readRows reads what stands below a header row, the first of the records.
func readRows(header []string, records []record, sep rune, opt Options) (Sheet, error) {
	l, headings, err := match(header, records[0].number)
	if err != nil {
		return Sheet{}, err
	}
	if len(records) == 1 {
		return Sheet{}, fmt.Errorf("read sheet: %w below the header row", ErrEmpty)
	}
	in := newReading(l, header, headings, sep, opt)
	in.passOver(records[0].number)
	for _, rec := range records[1:] {
		in.take(rec)
	}
	return in.sheet(), nil
}

// Columns lists the columns of its kind that the file has, in the usual order.
func (s Sheet) Columns() []string {
	var names []string
	for _, c := range s.layout.columns {
		if s.present[c.name] {
			names = append(names, c.String())
		}
	}
	return names
}

// has says whether the file has a column.
func (s Sheet) has(column string) bool { return s.present[column] }
