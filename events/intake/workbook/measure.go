package workbook

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
)

// What a workbook may be.
const (
	unpackedMost = 128 << 20
	partMost     = 48 << 20
	partsMost    = 10_000
	cellsMost    = 1_000_000   // in a sheet, with the empty ones before the last of each row
	lookupsMost  = 200_000_000 // merged cells × cells: each of these is looked up among those
)

// measure reads a workbook once without building anything of it. A header that
// tells a size too small is found out, since reading goes no further than it.
func measure(z *zip.Reader) error {
	if len(z.File) > partsMost {
		return fmt.Errorf("%w: it has %d parts", ErrTooLarge, len(z.File))
	}
	var total uint64
	workbook := false
	for _, f := range z.File {
		if total += f.UncompressedSize64; f.UncompressedSize64 > unpackedMost || total > unpackedMost {
			return fmt.Errorf("%w: it unpacks to more than %d MiB; take pictures out, or copy the sheet into a file of its own", ErrTooLarge, unpackedMost>>20)
		}
		workbook = workbook || strings.EqualFold(strings.ReplaceAll(f.Name, "\\", "/"), "xl/workbook.xml")
	}
	if !workbook {
		return other(z)
	}
	for _, f := range z.File {
		if err := measurePart(f); err != nil {
			return err
		}
	}
	return nil
}

func measurePart(f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return fmt.Errorf("%w: get the file again", ErrDamaged)
	}
	defer r.Close()
	data, err := io.ReadAll(r)
	if err != nil {
		return fmt.Errorf("%w: get the file again", ErrDamaged)
	}
	for _, m := range encodings.FindAllSubmatch(data, -1) {
		if name := strings.ToLower(string(m[1])); name != "utf-8" && name != "us-ascii" {
			return fmt.Errorf("%w: its part %s is written in %s; save it again", ErrNotWorkbook, f.Name, m[1])
		}
	}
	sheet := bytes.Contains(data, []byte("sheetData"))
	if len(data) > partMost && (sheet || strings.HasSuffix(strings.ToLower(f.Name), ".xml")) {
		return fmt.Errorf("%w: its part %s unpacks to more than %d MiB; copy the rows that count into a new sheet", ErrTooLarge, f.Name, partMost>>20)
	}
	if !sheet {
		return nil
	}
	return measureSheet(data)
}

// encodings finds how parts are written. In another encoding than UTF-8 a sheet
// could not be measured, and no spreadsheet writes one.
var encodings = regexp.MustCompile(`<\?xml[^>]*\sencoding\s*=\s*["']([^"']*)["']`)

// size is how much a sheet asks of whoever builds it.
type size struct {
	rows, cells, merged int
	width               int // the last column of the row at hand
	owners              map[string]bool
	borrowers           map[string]bool
}

// measureSheet adds up what a sheet asks for.
func measureSheet(data []byte) error {
	d := xml.NewDecoder(bytes.NewReader(data))
	s := size{owners: map[string]bool{}, borrowers: map[string]bool{}}
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return fmt.Errorf("%w: a sheet ends too early", ErrDamaged)
		}
		if e, ok := t.(xml.StartElement); ok {
			s.element(e)
		}
		if s.cells+s.width > cellsMost || (s.cells+s.width)*s.merged > lookupsMost || s.rows > rowsMost {
			return fmt.Errorf("%w: a sheet has more cells, empty or merged ones, than %d; copy the rows and columns that count into a new sheet", ErrTooLarge, cellsMost)
		}
	}
	for si := range s.borrowers {
		if !s.owners[si] {
			return fmt.Errorf("%w: a formula is missing; save the workbook again", ErrDamaged)
		}
	}
	return nil
}

// rowsMost is how many rows a sheet can have (ECMA-376; value from memory).
const rowsMost = 1 << 20

func (s *size) element(e xml.StartElement) {
	switch e.Name.Local {
	case "row":
		s.cells, s.width, s.rows = s.cells+s.width, 0, s.rows+1
	case "c":
		s.width = max(s.width+1, column(attr(e, "r")))
	case "mergeCell":
		s.merged++
	case "f":
		if attr(e, "t") != "shared" {
			return
		}
		if attr(e, "ref") != "" {
			s.owners[attr(e, "si")] = true
		} else {
			s.borrowers[attr(e, "si")] = true
		}
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// column is the number of a cell's column, from 1: 28 for AB7; 0 if it has none.
func column(ref string) int {
	const most = 16_384 * 26
	n := 0
	for _, c := range strings.ToUpper(strings.TrimRight(ref, "0123456789")) {
		if c < 'A' || c > 'Z' || n > most {
			break
		}
		n = n*26 + int(c-'A') + 1
	}
	return n
}
