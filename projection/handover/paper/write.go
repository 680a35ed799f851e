package paper

import (
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"

	"pairwalk/projection/handover"
)

// mostFoot is how many lines of a document's foot stand below each page.
const mostFoot = 6

// Write prints a document. The error names the part, and the table, that can't be
// printed: a row with more or fewer cells than the table has columns.
func Write(w io.Writer, d handover.Document) error {
	p, err := newPress(d)
	if err != nil {
		return fmt.Errorf("write paper: %w", err)
	}
	for _, part := range d.Parts {
		if err := p.setPart(part); err != nil {
			return fmt.Errorf("write paper: %w", err)
		}
	}
	pdf := p.newFile()
	p.bind(pdf)
	p.paint(pdf)
	if err := pdf.Output(w); err != nil {
		return fmt.Errorf("write paper: %w", err)
	}
	return nil
}

func newPress(d handover.Document) (*press, error) {
	p := &press{doc: d}
	var err error
	if p.regular, err = newFace("", dejavusanscondensed.TTF); err != nil {
		return nil, err
	}
	if p.bold, err = newFace("B", dejavusanscondensedbold.TTF); err != nil {
		return nil, err
	}
	if d.Foot != "" {
		p.foot = p.regular.balanced(d.Foot, smallType, width(false)-footNumber)
	}
	if len(p.foot) > mostFoot {
		p.foot = append(p.foot[:mostFoot-1:mostFoot-1], "…")
	}
	return p, nil
}

// newFile begins a file that depends on the document alone.
func (p *press) newFile() *fpdf.Fpdf {
	title := p.oneLine(p.doc.Title)
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.SetCatalogSort(true)
	start := time.Unix(0, 0).UTC()
	pdf.SetCreationDate(start)
	pdf.SetModificationDate(start)
	pdf.SetProducer("pairwalk", true)
	pdf.SetTitle(title, true)
	pdf.SetLang("en")
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(0, 0, 0)
	pdf.AddUTF8FontFromBytes(family, "", dejavusanscondensed.TTF)
	pdf.AddUTF8FontFromBytes(family, "B", dejavusanscondensedbold.TTF)
	return pdf
}

// bind puts the cover and the contents before the parts. The contents are set twice:
// how many sheets they take has to be known before they can name a page.
func (p *press) bind(pdf *fpdf.Fpdf) {
	body, anchors := p.sheets, p.anchors
	links := make([]int, len(anchors))
	for i := range links {
		links[i] = pdf.AddLink()
	}
	before := 0
	for range 2 {
		p.sheets, p.part = nil, ""
		p.setCover()
		at := map[*sheet]int{}
		for i, s := range body {
			at[s] = before + i + 1
		}
		p.setContents(anchors, func(s *sheet) int { return at[s] }, links)
		before = len(p.sheets)
	}
	p.sheets = append(p.sheets, body...)
	for i, a := range anchors {
		for n, s := range p.sheets {
			if s == a.sheet {
				pdf.SetLink(links[i], max(0, a.y-4), n+1)
			}
		}
	}
}

// paint paints every sheet with its head and foot.
func (p *press) paint(pdf *fpdf.Fpdf) {
	last := height(p.sheet().wide)
	n := 0
	for i, s := range p.sheets {
		lies := "P"
		if s.wide {
			lies = "L"
		}
		pdf.AddPageFormat(lies, fpdf.SizeType{Wd: shortSide, Ht: longSide})
		pdf.SetFont(family, "", bodyType)
		if i == 0 {
			pdf.Bookmark("Cover", 0, last-height(s.wide)+1e-6)
		}
		for ; n < len(p.anchors) && p.anchors[n].sheet == s; n++ {
			// The writer measures every place from the height of the last page.
			a := p.anchors[n]
			pdf.Bookmark(p.oneLine(a.title), a.level, last-height(s.wide)+max(0, a.y-4)+1e-6)
		}
		p.around(pdf, s, i+1)
		for _, op := range s.paint {
			op(pdf)
		}
	}
}

// oneLine is a text for a reader's own windows.
func (p *press) oneLine(s string) string {
	return strings.ReplaceAll(p.regular.legible(s), "\n", " ")
}
