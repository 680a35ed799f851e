package register

import (
	"fmt"
	"slices"
)

// Asks are what the log can't fill, for somebody to ask the office: in the order of
// the sheets and columns.
type Asks []Ask

// Ask is a column that some rows of a sheet lack.
type Ask struct {
	Sheet  string
	Column string   // "" where the sheet lacks rows altogether
	Rows   []string // the rows' keys, in the order of the sheet
	Of     int      // how many rows the sheet has
	Needed bool     // checkers of COBie refuse n/a there
	Why    string   // what to know of it, "" if simply nobody told
}

// String is the ask for people: "Type.Manufacturer is not known in 5 of 6 rows".
func (a Ask) String() string {
	if a.Column == "" {
		return a.Sheet + ": " + a.Why
	}
	if a.Why != "" {
		return fmt.Sprintf("%s.%s in %d of %d rows: %s", a.Sheet, a.Column, len(a.Rows), a.Of, a.Why)
	}
	return fmt.Sprintf("%s.%s is not known in %d of %d rows%s", a.Sheet, a.Column, len(a.Rows), a.Of, hints[a.Column])
}

// hints say what is wanted where a column's name alone would mislead.
var hints = map[string]string{
	"CreatedBy":              " (the e-mail address of whoever recorded it)",
	"Manufacturer":           " (the maker's e-mail address, which is its key)",
	"WarrantyGuarantorParts": " (the e-mail address of who answers for parts)",
	"WarrantyGuarantorLabor": " (the e-mail address of who answers for labour)",
	"Owner":                  " (the e-mail address of who is to mend it)",
}

// Needed are the asks without whose answers checkers of COBie refuse the workbook.
func (as Asks) Needed() Asks {
	return slices.DeleteFunc(slices.Clone(as), func(a Ask) bool { return !a.Needed })
}

// done puts a table's asks in the order of its columns and counts its rows.
func (t *table) done() []Ask {
	for i := range t.asks {
		t.asks[i].Of = len(t.Rows)
	}
	slices.SortStableFunc(t.asks, func(a, b Ask) int { return t.At(a.Column) - t.At(b.Column) })
	return t.asks
}
