package handover

import (
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"
	"unicode/utf8"
)

// page is how a document looks in a browser: one file with nothing outside it, no
// script, and a sheet of its own for each part in print.
//
//go:embed page.html
var page string

// pageStyle is the page's style sheet.
//
//go:embed page.css
var pageStyle string

var pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{
	"pieces":    pieces,
	"kinded":    blockOf,
	"width":     width,
	"cellClass": cellClass,
	"picture":   pictureOf,
	"svg":       svgOf,
	"style":     func() template.CSS { return template.CSS(pageStyle) },
}).Parse(page))

// HTML writes a document as one HTML file that needs nothing else: drawings are in
// it as SVG, photos as data.
func HTML(w io.Writer, d Document) error {
	if err := pageTemplate.Execute(w, d); err != nil {
		return fmt.Errorf("write html: %w", err)
	}
	return nil
}

// piece is a stretch of text; what somebody wrote from right to left stands alone.
type piece struct {
	Text  string
	Alone bool
}

// pieces parts text at its isolates.
func pieces(text string) []piece {
	var out []piece
	for text != "" {
		before, rest, found := strings.Cut(text, isolate)
		if before != "" {
			out = append(out, piece{before, false})
		}
		if !found {
			break
		}
		inside, after, _ := strings.Cut(rest, endIsolate)
		out = append(out, piece{inside, true})
		text = after
	}
	return out
}

// blockKind is a block with the name of what it is, for the template.
type blockKind struct {
	Kind  string
	Block Block
	ID    string
}

func blockOf(part string, i int, b Block) (blockKind, error) {
	k := blockKind{Block: b, ID: fmt.Sprintf("%s-%d", part, i+1)}
	switch b.(type) {
	case Heading:
		k.Kind = "heading"
	case Text:
		k.Kind = "text"
	case Caution:
		k.Kind = "caution"
	case Facts:
		k.Kind = "facts"
	case Table:
		k.Kind = "table"
	case Drawing:
		k.Kind = "drawing"
	case Photo:
		k.Kind = "photo"
	default:
		return k, fmt.Errorf("no rendering for %T", b)
	}
	return k, nil
}

// width is a column's share of its table, in hundredths.
func width(t Table, c Column) int {
	all := 0
	for _, x := range t.Columns {
		all += max(x.Share, 1)
	}
	return max(c.Share, 1) * 100 / all
}

// longest is how many letters a word may have that is not broken in a narrow column.
const longest = 20

// cellClass says how a cell is set: numbers to the right, and broken anywhere where a
// word would make its column too wide.
func cellClass(c Column, cell string) string {
	class := ""
	if c.Right {
		class = "right"
	}
	for word := range strings.FieldsSeq(cell) {
		if utf8.RuneCountInString(word) > longest {
			return join(" ", class, "long")
		}
	}
	return class
}

// pictureTypes are the pictures that a browser shows and that hold no program.
var pictureTypes = map[string]bool{"image/png": true, "image/jpeg": true, "image/webp": true, "image/gif": true}

// pictureOf is a photo's content as an address, "" where it can't be shown.
func pictureOf(p Photo) template.URL {
	if len(p.Content) == 0 || !pictureTypes[p.Type] {
		return ""
	}
	return template.URL("data:" + p.Type + ";base64," + base64.StdEncoding.EncodeToString(p.Content))
}
