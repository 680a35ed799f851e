package register

import "strings"

// Unknown is how COBie writes what is not known.
const Unknown = "n/a"

// CellMost is how much text a cell of a spreadsheet holds, in UTF-16 units
// (published limit of the XLSX format's main program).
const CellMost = 32767

// Book is a site as COBie's sheets, in their usual order, and what they lack.
type Book struct {
	Sheets []Sheet
	Asks   Asks
}

// Sheet finds a sheet by its name.
func (b Book) Sheet(name string) (Sheet, bool) {
	for _, s := range b.Sheets {
		if s.Name == name {
			return s, true
		}
	}
	return Sheet{}, false
}

// Sheet is one table. Every row has a cell for each column, and the first cell is
// its key.
type Sheet struct {
	Name    string
	Columns []Column
	Rows    [][]string
}

// Column is one column of a sheet.
type Column struct {
	Name   string
	Needed bool // checkers refuse n/a
	Number bool // holds numbers, or n/a
}

// At is the place of a column, or -1.
func (s Sheet) At(column string) int {
	for i, c := range s.Columns {
		if c.Name == column {
			return i
		}
	}
	return -1
}

// columns reads a list of columns: ! marks those that refuse n/a, # numbers.
func columns(list string) []Column {
	var out []Column
	for word := range strings.FieldsSeq(list) {
		name := strings.TrimRight(word, "!#")
		marks := word[len(name):]
		out = append(out, Column{name, strings.Contains(marks, "!"), strings.Contains(marks, "#")})
	}
	return out
}

// table is a sheet while it is filled.
type table struct {
	Sheet
	asks  []Ask
	names *names
}

// cells are a row by its columns. What is missing or empty is not known; notApplicable
// is n/a without anybody having to be asked.
type cells map[string]string

const notApplicable = Unknown

// add adds a row. Its key, in the first column, is never empty.
func (t *table) add(key string, row cells) {
	out := make([]string, len(t.Columns))
	out[0] = key
	for i, c := range t.Columns[1:] {
		value := row[c.Name]
		if value == "" {
			value = Unknown
			t.ask(c.Name, key, "", c.Needed)
		}
		out[i+1] = value
	}
	t.Rows = append(t.Rows, out)
}

// ask notes that a row lacks something.
func (t *table) ask(column, row, why string, needed bool) {
	for i := range t.asks {
		if a := &t.asks[i]; a.Column == column && a.Why == why {
			a.Rows = append(a.Rows, row)
			return
		}
	}
	t.asks = append(t.asks, Ask{Sheet: t.Name, Column: column, Rows: []string{row}, Needed: needed, Why: why})
}
