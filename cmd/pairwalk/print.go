package main

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pairwalk/events"
	"pairwalk/projection"
)

// notPermit stands wherever the log might be taken for more than it is.
const notPermit = "Local codes and licensed practice govern. This log is a record, not a permit to work."

func (a *app) printf(format string, args ...any) { fmt.Fprintf(a.stdout, format, args...) }
func (a *app) println(args ...any)               { fmt.Fprintln(a.stdout, args...) }

// table is rows of cells, aligned when printed.
type table struct {
	head []string
	rows [][]string
}

func (t *table) add(cells ...string) {
	for i, c := range cells {
		cells[i] = oneLine(c)
	}
	t.rows = append(t.rows, cells)
}

// oneLine keeps text that somebody typed from passing for more lines than one,
// or for other words: breaks and controls of direction are shown as signs.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			return '⏎'
		case unicode.Is(unicode.Bidi_Control, r) || unicode.IsControl(r):
			return '�'
		}
		return r
	}, s)
}

// print writes the columns aligned; the last one runs free.
func (t *table) print(w io.Writer, head func(string) string) {
	all := append([][]string{t.head}, t.rows...)
	width := make([]int, len(t.head))
	for _, row := range all {
		for i, c := range row {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	for n, row := range all {
		var b strings.Builder
		for i, c := range row {
			b.WriteString(c)
			if i < len(row)-1 {
				b.WriteString(strings.Repeat(" ", width[i]-utf8.RuneCountInString(c)+2))
			}
		}
		line := strings.TrimRight(b.String(), " ")
		if n == 0 {
			line = head(line)
		}
		fmt.Fprintln(w, line)
	}
}

func (a *app) table(t *table) {
	if len(t.rows) > 0 {
		t.print(a.stdout, a.bold)
	}
}

// bold and warn mark text on a terminal, and leave it alone elsewhere.
func (a *app) bold(s string) string { return a.paint("1", s) }
func (a *app) warn(s string) string { return a.paint("33", s) }
func (a *app) dim(s string) string  { return a.paint("2", s) }

func (a *app) paint(code, s string) string {
	if !a.tty || a.env("NO_COLOR") != "" {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

// clock writes an instant in the site's zone: the time alone on the given day,
// else the date too.
func clock(s *projection.Site, at, day events.Instant) string {
	t, d := at.Time().In(s.Location()), day.Time().In(s.Location())
	if t.YearDay() == d.YearDay() && t.Year() == d.Year() {
		return t.Format("15:04")
	}
	return t.Format("2006-01-02 15:04")
}

// entryID is the end of an entry's id: enough to name it by.
func entryID(e *events.Event) string {
	id := e.ID.String()
	return id[len(id)-6:]
}

// span says a duration as people do.
func span(d time.Duration) string {
	d = d.Round(time.Second)
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds()))
	case d < time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
	}
	return fmt.Sprintf("%d days", int(d.Hours())/24)
}

func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	many := one + "s"
	if strings.HasSuffix(one, "y") {
		many = strings.TrimSuffix(one, "y") + "ies"
	}
	return fmt.Sprintf("%d %s", n, many)
}
