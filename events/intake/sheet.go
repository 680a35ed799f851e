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
var layouts = []layout{schedule, floors, fieldSheet}

// Options is what a file doesn't say itself. The zero value does for a schedule
// with z_m or without places, and for floors.
type Options struct {
	// Site is what the site has now: a field sheet finds there which hub a
	// device belongs to, and a schedule how high a floor lies.
	Site Listing
	// Day is the date of a field sheet's bare times; if zero, that of Now.
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
	When    events.Maybe[events.Interval] // field sheet: when it happened
	By      string                        // field sheet: who did it
}

// Problem says what is wrong with a row, and what would be right.
type Problem struct {
	Row    int
	Column string // as the file heads it; "" where the row as a whole is meant
	Wrong  string
	Right  string
}

func (p Problem) String() string {
	s := fmt.Sprintf("row %d", p.Row)
	if p.Column != "" {
		s += ", column " + p.Column
	}
	s += ": " + p.Wrong
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
