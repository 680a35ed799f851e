package cobie

import (
	"time"

	"pairwalk/projection/handover"
)

const instructionSheet = "Instruction"

// notes are what the first sheet says.
type notes struct {
	title string
	at    string // the moment, RFC 3339 in UTC
	lines [][2]string
}

// notPermit closes everything that is handed over.
const notPermit = "Local codes and licensed practice govern. This log is a record, not a permit to work."

func instruction(s handover.Source) notes {
	at := s.Site.Moment.When.Value.Time()
	n := notes{title: s.Site.Name, at: at.Format(time.RFC3339)}
	n.lines = [][2]string{
		{"Title", s.Site.Name},
		{"Standard", "COBie 2.4: the wireless lighting control at handover"},
		{"Written by", "pairwalk, rendering " + s.Version},
		{"As of", at.In(s.Site.Location()).Format("2006-01-02T15:04:05")},
		{"Times", "in the site's zone, " + s.Site.Location().String()},
	}
	if s.Site.Practice {
		n.lines = append(n.lines, [2]string{"Practice", "This is a practice site. Everything in it is made up."})
	}
	return notes{n.title, n.at, append(n.lines, [][2]string{
		{"n/a", "Nobody told the log. Ask the office; nothing here is guessed."},
		{"Radio, Power", "They have a row on the sheet Attribute only where they are not what the log takes for granted where nobody says (mesh; mains, or a battery for a sensor)."},
		{"Category", "Categories are the log's own words. Replace them by the owner's classification."},
		{"Identifiers", "ExtIdentifier is the reference of the entry behind a row, as csv/entries.csv has it."},
		{"Law", notPermit},
	}...)}
}

func (p *page) instruct(say notes) {
	p.do(p.file.SetSheetName("Sheet1", instructionSheet))
	for i, line := range say.lines {
		p.text(instructionSheet, 1, i+1, line[0])
		p.text(instructionSheet, 2, i+1, line[1])
	}
	p.do(p.file.SetColWidth(instructionSheet, "A", "A", 16))
	p.do(p.file.SetColWidth(instructionSheet, "B", "B", 90))
	p.do(p.file.SetCellStyle(instructionSheet, "A1", p.at(1, len(say.lines)), p.look.head))
	p.do(p.file.SetCellStyle(instructionSheet, "B1", p.at(2, len(say.lines)), p.look.wrapped))
	p.onPaper(instructionSheet)
}
