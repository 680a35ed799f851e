package workbook

import (
	"fmt"
	"strings"
	"time"
)

// format is what a cell's number format makes of a number.
type format struct {
	general bool // as it is
	date    bool
	clock   bool
	elapsed bool // hours that don't end at 24, or the like
}

func (f format) time() bool { return f.date || f.clock || f.elapsed }

// builtIn are the formats that have a number and no code: ECMA-376 Part 1,
// §18.8.30 (value from memory). Those from 27 to 36 and from 50 on are dates of
// East Asian calendars, or of Thailand's.
func builtIn(id int) format {
	switch {
	case id == 0, id == 49:
		return format{general: true}
	case id >= 14 && id <= 17:
		return format{date: true}
	case id >= 18 && id <= 21, id == 45, id == 47:
		return format{clock: true}
	case id == 22:
		return format{date: true, clock: true}
	case id == 46:
		return format{elapsed: true}
	case id >= 27 && id <= 36, id >= 50 && id <= 81:
		return format{date: true}
	}
	return format{}
}

// custom reads a format code. Only its first section counts; text in quotes or
// brackets, and what follows \ _ or *, shows nothing of the number. An m between
// hours and seconds is a minute, else a month.
func custom(code string) format {
	var f format
	var letters strings.Builder
	runes := []rune(code)
	for i := 0; i < len(runes); i++ {
		switch c := runes[i]; c {
		case ';':
			i = len(runes)
		case '\\', '_', '*':
			i++
		case '"', '[':
			end := map[rune]rune{'"': '"', '[': ']'}[c]
			from := i + 1
			for i++; i < len(runes) && runes[i] != end; i++ {
			}
			if inside := strings.ToLower(string(runes[from:i])); c == '[' && inside != "" && strings.Trim(inside, "hms") == "" {
				f.elapsed = true
			}
		default:
			letters.WriteRune(c)
		}
	}
	shown := strings.ToLower(letters.String())
	if shown == "general" || shown == "@" {
		return format{general: true}
	}
	shown = strings.ReplaceAll(strings.ReplaceAll(shown, "am/pm", ""), "a/p", "")
	f.clock = strings.ContainsAny(shown, "hs") && !f.elapsed
	f.date = strings.ContainsAny(shown, "yd") || strings.Contains(shown, "m") && !f.clock && !f.elapsed
	return f
}

const daySeconds = 24 * 60 * 60

// moment writes a number as the date and time it is, to the nearest second.
func (f format) moment(v float64, from1904 bool) (string, error) {
	const last = 2_958_466 // the day after 9999-12-31, which is as far as spreadsheets go
	if !(v >= 0 && v < last) {
		return "", fmt.Errorf("%s can't be a date or time", plain(v))
	}
	seconds := int64(v*daySeconds + 0.5)
	days, clock := int(seconds/daySeconds), time.Duration(seconds%daySeconds)*time.Second
	epoch := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case from1904:
		epoch = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	case days == 60: // spreadsheets take 1900 for a leap year
		return "", fmt.Errorf("29 February 1900 never was")
	case days < 60:
		epoch = epoch.AddDate(0, 0, 1)
	}
	t := epoch.AddDate(0, 0, days).Add(clock)
	layout := "15:04"
	if t.Second() > 0 {
		layout = time.TimeOnly
	}
	switch {
	case days == 0 && f.clock && !f.date:
		return t.Format(layout), nil
	case days == 0 && !from1904:
		return "", fmt.Errorf("%s has no day", plain(v))
	case clock == 0 && !f.clock:
		return t.Format(time.DateOnly), nil
	}
	return t.Format(time.DateOnly + " " + layout), nil
}
