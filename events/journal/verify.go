package journal

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pairwalk/events"
)

// Report is what Verify found.
type Report struct {
	Strands  []Strand
	Problems []Problem
	Aside    []string // files with damaged bytes that were kept from earlier repairs
}

// Strand is one file of lines: a feed's main branch or a fork.
type Strand struct {
	File  string
	Feed  events.FeedID
	Fork  bool
	Lines int           // that can be read
	Head  events.Head   // the newest of them
	Holes []events.Head // places whose line is missing or damaged
}

// Verify reads the files of a site as they are, checks the signature of every
// line, and says everything that is wrong. It changes nothing and takes no lock:
// while another process writes, the end of a file may look torn.
func Verify(site FS, id events.SiteID) (Report, error) {
	book, problems, err := readBook(site)
	if err != nil {
		return Report{}, err
	}
	found, more, err := manner{full: true}.readStrands(site, id, book)
	if err != nil {
		return Report{}, err
	}
	m, bad, err := readMark(site, markFile, id, markFile)
	if err != nil {
		return Report{}, err
	}
	report := Report{Problems: append(problems, more...)}
	for _, name := range slices.Sorted(maps.Keys(found)) {
		r := found[name]
		report.Problems = append(report.Problems, r.problems...)
		report.Strands = append(report.Strands, r.summary())
	}
	switch {
	case bad != nil:
		report.Problems = append(report.Problems, *bad)
	case m == nil && len(found) > 0:
		report.Problems = append(report.Problems, Problem{Fault: BadMark, File: markFile, Words: "the mark is missing"})
	case m != nil && m.Feed != "":
		report.Problems = append(report.Problems, checkMark(m, found[string(m.Feed)])...)
	}
	report.Aside, err = listAside(site)
	return report, err
}

// checkMark compares the own feed with the mark.
func checkMark(m *mark, r *reading) []Problem {
	p := Problem{Fault: BehindMark, File: fileOf(string(m.Feed)), Feed: m.Feed, Seq: m.Seq}
	switch {
	case r == nil || r.head().Seq < m.Seq:
		p.Words = fmt.Sprintf("the own feed is shorter than the mark, which says event %d was written", m.Seq)
	case r.hashAt(m.Seq) != (events.Hash{}) && r.hashAt(m.Seq).String() != m.Hash:
		p.Words = fmt.Sprintf("event %d is not the one that the mark says was written", m.Seq)
	default:
		return nil
	}
	return []Problem{p}
}

func (r *reading) summary() Strand {
	s := Strand{File: r.file(), Feed: r.feed, Fork: r.fork(), Head: r.head()}
	for i, p := range r.places {
		if p.readable() {
			s.Lines++
		}
		if p.state != held {
			s.Holes = append(s.Holes, events.Head{Seq: r.first + events.Seq(i), Hash: p.hash})
		}
	}
	return s
}

func listAside(site FS) ([]string, error) {
	files, err := site.List(feedsDir)
	if err != nil {
		return nil, fmt.Errorf("list feeds: %w", err)
	}
	var aside []string
	for _, f := range files {
		if strings.Contains(f, ".torn") || strings.Contains(f, ".damaged-") {
			aside = append(aside, feedsDir+"/"+f)
		}
	}
	return aside, nil
}
