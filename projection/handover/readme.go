package handover

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"pairwalk/projection/walk"
)

// purposes say what each file is, and for whom.
var purposes = []struct{ file, words string }{
	{PDFFile, "The report: what was installed, what works, what is open, floor by floor; with chapters for the caretaker, the electrician, the inspector and the office. Print it and keep it in the building."},
	{HTMLFile, "The same report for a browser. It needs no network."},
	{COBieFile, "For whoever feeds the owner's maintenance system: the devices as COBie sheets. What the log does not know is left open and marked."},
	{CSVFolder + "/", "The as-built record as tables, for any spreadsheet: one row a thing, one file a kind of thing."},
	{PhotoDir + "/", "The pictures taken on the job. Each is called by its own checksum; the report lists them all so at its end, also those that are missing."},
	{LogFile, "The log that everything here follows from: every entry, signed by whoever made it. Keep it: it answers questions that no report foresaw, for anybody who takes it in with pairwalk."},
	{MarkFile, "For programs: what this pack is of."},
	{SumsFile, "The checksum of every other file."},
}

// readMe is the page that says what the others are. It is plain text.
func readMe(m Manifest) []byte {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	title := "HANDOVER PACK: " + said(m.Site.Name)
	line("%s\n%s", title, strings.Repeat("=", utf8.RuneCountInString(title)))
	if m.Practice {
		line("\nPRACTICE: a made-up job. Everybody and everything in it is invented.")
	}
	line("\n%s", wrapped("", fmt.Sprintf("The wireless lighting controls of this site as they stood at %s, from %s of the commissioning team's log. Later work is not in it.", m.shownMoment(), count(m.Entries, "entry"))))
	line("\nWHAT IS IN HERE\n")
	for _, p := range purposes {
		if m.holds(p.file) {
			line("%s\n%s\n", p.file, wrapped("    ", p.words))
		}
	}
	line("IS IT WHOLE AND UNCHANGED?\n")
	line("%s\n", wrapped("", "Without any tool of ours, in this folder:"))
	line("    Linux          sha256sum -c %s", SumsFile)
	line("    macOS          shasum -a 256 -c %s", SumsFile)
	line("    Windows        certutil -hashfile FILE SHA256\n                   and compare with its line in %s\n", SumsFile)
	line("%s\n", wrapped("", "That finds what was damaged. It does not find what somebody changed together with its checksum. With pairwalk, on any machine, with no site of its own:"))
	line("    pairwalk verify FOLDER\n")
	line("%s\n", wrapped("", "It checks every signature in the log, makes every page again from it, and names any that differs."))
	line("ASKING THE LOG\n")
	line("%s\n", wrapped("", "What no page tells, the log may. Anybody may ask it, with this folder alone:"))
	line("    pairwalk --bundle FOLDER status\n    pairwalk --bundle FOLDER history TAG\n")
	line("WHO KNEW HOW MUCH\n")
	line("%s\n", wrapped("", "A member's later entries, and what they had not handed on yet, are not in this pack. It holds:"))
	for _, k := range m.Known {
		line("    %s from %s, the last at %s", count(k.Entries, "entry"), said(k.Member), m.shown(k.Last))
	}
	line("\nCAUTIONS\n")
	for _, words := range []string{walk.CautionMains, walk.CautionEmergency, walk.CautionPower, walk.CautionHold, walk.CautionPush, walk.CautionHeight} {
		line("%s\n", wrapped("  ", "! "+words))
	}
	line("%s", wrapped("", walk.CautionPermit))
	return []byte(b.String())
}

// holds says whether the pack has a file, or any in a folder.
func (m Manifest) holds(file string) bool {
	for _, name := range m.Files {
		if name == file || strings.HasSuffix(file, "/") && strings.HasPrefix(name, file) {
			return true
		}
	}
	return false
}

func (m Manifest) shownMoment() string { return m.shown(m.Moment) }

// shown writes a time of the manifest in the site's zone.
func (m Manifest) shown(utc string) string {
	at, err := time.Parse(time.RFC3339, utc)
	if err != nil {
		return utc
	}
	zone, err := time.LoadLocation(m.Site.Zone)
	if err != nil {
		zone = time.UTC
	}
	return at.In(zone).Format("2006-01-02 15:04:05 -07:00")
}

// wrapped breaks words into lines of some 78 characters.
func wrapped(indent, words string) string {
	var b strings.Builder
	width := 0
	for word := range strings.FieldsSeq(words) {
		n := utf8.RuneCountInString(word)
		switch {
		case width == 0:
			b.WriteString(indent)
			width = len(indent)
		case width+1+n > 78:
			b.WriteString("\n" + indent)
			width = len(indent)
		default:
			b.WriteByte(' ')
			width++
		}
		b.WriteString(word)
		width += n
	}
	return b.String()
}
