// Package press renders a handover pack: everything in it that follows from the log.
//
// It is here that the renderings meet, each of which knows only the source or the
// document: the report as a page and on paper, the COBie workbook, the tables. Two
// of them compress, and how that turns out hangs on the toolchain this was built
// with; [Tools] names it. Nothing else does.
package press

import (
	"bytes"
	"fmt"
	"runtime"

	"pairwalk/projection/handover"
	"pairwalk/projection/handover/asbuilt"
	"pairwalk/projection/handover/cobie"
	"pairwalk/projection/handover/paper"
)

// Tools names what compressed the pages of a pack made here.
func Tools() string { return runtime.Version() + " " + runtime.GOARCH }

// Step is a piece of the work, and is told to whoever waits for it.
type Step string

// The steps, in order.
const (
	Composing Step = "composing the report"
	Printing  Step = "printing it"
	Sheets    Step = "filling in the sheets"
)

// Steps is how many there are.
const Steps = 3

// Pages renders a source. The asks are what the office has to fill in the sheets.
// Before each step it asks whether to go on.
func Pages(s handover.Source, begin func(Step) error) ([]handover.File, cobie.Asks, error) {
	if err := begin(Composing); err != nil {
		return nil, nil, err
	}
	doc := handover.Compose(s)
	var html, pdf, sheets bytes.Buffer
	if err := handover.HTML(&html, doc); err != nil {
		return nil, nil, fmt.Errorf("render report: %w", err)
	}
	if err := begin(Printing); err != nil {
		return nil, nil, err
	}
	if err := paper.Write(&pdf, doc); err != nil {
		return nil, nil, fmt.Errorf("render report: %w", err)
	}
	if err := begin(Sheets); err != nil {
		return nil, nil, err
	}
	asks, err := cobie.Write(&sheets, s)
	if err != nil {
		return nil, nil, fmt.Errorf("render sheets: %w", err)
	}
	tables, err := asbuilt.Files(s)
	if err != nil {
		return nil, nil, fmt.Errorf("render tables: %w", err)
	}
	return append([]handover.File{
		{Name: handover.PDFFile, Content: pdf.Bytes()},
		{Name: handover.HTMLFile, Content: html.Bytes()},
		{Name: handover.COBieFile, Content: sheets.Bytes()},
	}, tables...), asks, nil
}
