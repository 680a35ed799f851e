package mesh

import (
	"time"

	"pairwalk/events"
)

// clock is the moment of the facts, and writes times as people say them on the day
// on which they ask, in the site's zone.
type clock struct {
	zone  *time.Location
	now   events.Instant
	asked events.Instant
}

// at is "14:05", "14:05 yesterday", "14:05 on 2 Mar", or with the year where that
// is another.
func (c clock) at(i events.Instant) string {
	t, now := i.Time().In(c.zone), c.asked.Time().In(c.zone)
	layout := "15:04 on 2 Jan 2006"
	switch yesterday := now.AddDate(0, 0, -1); {
	case t.Year() == now.Year() && t.YearDay() == now.YearDay():
		layout = "15:04"
	case t.Year() == yesterday.Year() && t.YearDay() == yesterday.YearDay():
		layout = "15:04 yesterday"
	case t.Year() == now.Year():
		layout = "15:04 on 2 Jan"
	}
	return t.Format(layout)
}
