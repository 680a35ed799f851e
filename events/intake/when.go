package intake

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"pairwalk/events"
)

// momentForms says what may be written, for messages.
const momentForms = "write 14:05, yesterday 17:00, -2h, 2026-03-02 14:05 or 2026-03-02T14:05:00+01:00"

var (
	clockTime = regexp.MustCompile(`^([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?$`)
	ago       = regexp.MustCompile(`^-(?:[0-9]{1,5}h)?(?:[0-9]{1,5}m)?(?:[0-9]{1,5}s)?$`)
)

// ParseMoment reads a moment that a view is asked for: RFC 3339, "2026-03-02
// 14:05", "14:05" today, "yesterday 17:00", "-2h" or "now"; a bare date is the
// start of that day. Today is now's day in the zone; a nil zone is UTC. A time
// that the zone's clocks skipped or showed twice is refused in words.
func ParseMoment(text string, now time.Time, zone *time.Location) (events.Instant, error) {
	if _, err := time.Parse(time.DateOnly, tidy(text)); err == nil {
		text = tidy(text) + " 00:00"
	}
	m, err := newClock(now, now, zone).moment(text)
	if err != nil {
		return 0, fmt.Errorf("read time: %w", err)
	}
	if len(m.at) > 1 {
		return 0, fmt.Errorf("read time: the clocks in %s showed %q twice: write %s or %s",
			m.zone, tidy(text), m.at[0].Format(time.RFC3339), m.at[1].Format(time.RFC3339))
	}
	return events.InstantOf(m.at[0]), nil
}

// ParseWhen reads when something happened: a moment as [ParseMoment] reads it,
// or a range of two, "09:40..10:10". A moment that a person wrote is widened by
// tol to both sides; now and RFC 3339 say to the second what they mean, and a range
// says by itself how far off it may be. A time that the clocks showed twice
// becomes an interval that covers both. What lies after now is read all the same:
// the watch may be right and the device wrong.
func ParseWhen(text string, now time.Time, zone *time.Location, tol time.Duration) (events.Interval, error) {
	v, err := newClock(now, now, zone).when(text, tol)
	if err != nil {
		return events.Interval{}, fmt.Errorf("read time: %w", err)
	}
	return v, nil
}

// clock is what a time on paper is read against.
type clock struct {
	now   time.Time // zero: not known
	today time.Time // zero: not known
	bare  time.Time // the day of a time that names none
	zone  *time.Location
}

// newClock reads against now, and against the calendar date of day. Either may
// be zero. A day that is now is the day it is now in the zone.
func newClock(now, day time.Time, zone *time.Location) clock {
	if zone == nil {
		zone = time.UTC
	}
	if day.IsZero() || day.Equal(now) {
		day = now.In(zone)
	}
	if now.IsZero() && day.Equal(now) {
		day = time.Time{}
	}
	return clock{now, day, day, zone}
}

// moment is a time as read: one instant, or the two that a clock showed alike.
type moment struct {
	at    []time.Time // in order
	exact bool        // to the second: now, or written with its offset
	day   time.Time   // the calendar day it was meant on
	zone  *time.Location
}

func (c clock) when(text string, tol time.Duration) (events.Interval, error) {
	from, to, isRange := strings.Cut(text, "..")
	first, err := c.moment(from)
	if err != nil {
		return events.Interval{}, err
	}
	last := first
	if isRange {
		c.bare = first.day
		if last, err = c.moment(to); err != nil {
			return events.Interval{}, err
		}
		tol = 0
	} else if first.exact {
		tol = 0
	}
	v := events.Interval{
		From: events.InstantOf(first.at[0]).Add(-tol),
		To:   events.InstantOf(last.at[len(last.at)-1]).Add(tol),
	}
	if v.From > v.To {
		return events.Interval{}, fmt.Errorf("%q ends before it begins: write the date of both ends", tidy(text))
	}
	return v, nil
}

// past says what is wrong with a time on paper that lies wholly after the sheet
// was read.
func (c clock) past(text string, v events.Interval) error {
	if c.now.IsZero() || v.From <= events.InstantOf(c.now) {
		return nil
	}
	return fmt.Errorf("%q is still to come, as it is %s: write the day too if you mean an earlier one",
		tidy(text), c.now.In(c.zone).Format("15:04 on 2006-01-02"))
}

// moment reads one moment.
func (c clock) moment(text string) (moment, error) {
	text = tidy(text)
	lower := strings.ToLower(text)
	switch {
	case text == "":
		return moment{}, fmt.Errorf("no time: %s", momentForms)
	case lower == "now" || ago.MatchString(lower) && lower != "-":
		return c.before(lower)
	}
	if t, err := time.Parse(time.RFC3339, strings.ToUpper(text)); err == nil {
		return moment{[]time.Time{t.In(c.zone)}, true, t.In(c.zone), c.zone}, nil
	}
	day, rest, spoken := strings.Cut(strings.Replace(lower, "t", " ", markedT(lower)), " ")
	if !spoken {
		day, rest = "", day
	}
	date, err := c.date(day)
	if err != nil {
		return moment{}, fmt.Errorf("%q is no time: %w", clip(text), err)
	}
	h, m, s, ok := parseClock(tidy(rest))
	if !ok {
		return moment{}, fmt.Errorf("%q is no time: %s", clip(text), momentForms)
	}
	return c.on(date, h, m, s)
}

// markedT is 1 where a T stands between a date and a time, else 0.
func markedT(text string) int {
	if len(text) > 10 && text[10] == 't' {
		return 1
	}
	return 0
}

// before reads a time that counts back from now.
func (c clock) before(text string) (moment, error) {
	if c.now.IsZero() {
		return moment{}, fmt.Errorf("%q counts back from now, which is not known here: write the date and time", text)
	}
	t := c.now.In(c.zone)
	if text != "now" {
		d, err := time.ParseDuration(text)
		if err != nil {
			return moment{}, fmt.Errorf("%q is no time: %s", text, momentForms)
		}
		t = t.Add(d)
	}
	return moment{[]time.Time{t}, text == "now", t, c.zone}, nil
}

// date reads the day before a clock time.
func (c clock) date(text string) (time.Time, error) {
	day := c.today
	switch text {
	case "":
		day = c.bare
	case "today":
	case "yesterday":
		day = noon(day).AddDate(0, 0, -1)
	default:
		t, err := time.Parse(time.DateOnly, text)
		if err != nil {
			return time.Time{}, fmt.Errorf("%s", momentForms)
		}
		return t, nil
	}
	if c.today.IsZero() && c.bare.IsZero() {
		return time.Time{}, fmt.Errorf("the day is not known: write the date too, such as 2026-03-02 14:05")
	}
	return day, nil
}

// noon is a day's noon in UTC, from where a day has 24 hours.
func noon(day time.Time) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 12, 0, 0, 0, time.UTC)
}

func parseClock(text string) (h, m, s int, ok bool) {
	parts := clockTime.FindStringSubmatch(text)
	if parts == nil {
		return 0, 0, 0, false
	}
	var v [3]int
	for i, p := range parts[1:] {
		if p == "" {
			continue
		}
		n, err := strconv.Atoi(p)
		if err != nil || n > []int{23, 59, 59}[i] {
			return 0, 0, 0, false
		}
		v[i] = n
	}
	return v[0], v[1], v[2], true
}
