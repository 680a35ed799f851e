package intake

import (
	"encoding/csv"
	"fmt"
	"io"
	"regexp"
	"strings"
)

// Grid is a table to be written, under a name where a file holds several.
type Grid struct {
	Name   string
	Header []string
	Rows   [][]string // each as long as Header
}

// WriteCSV writes rows as RFC 4180 does, with CRLF at the end of each, in UTF-8
// without a byte order mark. A cell that a spreadsheet might take for a formula
// (it begins with = + - @, a tab or a return) gets an apostrophe in front, and
// so does one that would be read back as such; a plain negative number is left
// as it is. [Read] takes the apostrophe off again. Line breaks inside a cell all
// become CRLF.
func WriteCSV(w io.Writer, header []string, rows [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	breaks := strings.NewReplacer("\r\n", "\n", "\r", "\n")
	for _, row := range append([][]string{header}, rows...) {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = breaks.Replace(guard(cell))
		}
		if err := out.Write(safe); err != nil {
			return fmt.Errorf("write sheet: %w", err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write sheet: %w", err)
	}
	return nil
}

var (
	formula  = regexp.MustCompile(`^'*[=+\-@\t\r]`)
	negative = regexp.MustCompile(`^-[0-9]+(\.[0-9]+)?$`)
)

func guard(cell string) string {
	if formula.MatchString(cell) && !negative.MatchString(cell) {
		return "'" + cell
	}
	return cell
}

// unguard takes back what guard did.
func unguard(cell string) string {
	if strings.HasPrefix(cell, "'") && formula.MatchString(cell) {
		return cell[1:]
	}
	return cell
}
