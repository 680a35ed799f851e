package intake

import (
	"fmt"
	"slices"
	"time"
)

// on finds the instants at which the zone's clocks showed this time of that day.
func (c clock) on(day time.Time, h, m, s int) (moment, error) {
	y, month, d := day.Date()
	shown := time.Date(y, month, d, h, m, s, 0, time.UTC)
	var at []time.Time
	for _, offset := range offsets(shown, c.zone) {
		t := shown.Add(-offset).In(c.zone)
		if _, o := t.Zone(); time.Duration(o)*time.Second == offset {
			at = append(at, t)
		}
	}
	if len(at) == 0 {
		return moment{}, fmt.Errorf("the clocks in %s never showed %s: they were set forward over it", c.zone, shown.Format("2006-01-02 15:04"))
	}
	slices.SortFunc(at, time.Time.Compare)
	return moment{at, false, day, c.zone}, nil
}

// offsets lists the offsets from UTC that a zone has around a day. It looks every
// hour rather than from change to change: on the last day of a leap year
// [time.Time.ZoneBounds] may give an end that lies before its own time.
func offsets(shown time.Time, zone *time.Location) []time.Duration {
	const around = 26 * time.Hour // no zone is further than that from UTC
	var found []time.Duration
	for t := shown.Add(-around); !t.After(shown.Add(around)); t = t.Add(time.Hour) {
		_, o := t.In(zone).Zone()
		if offset := time.Duration(o) * time.Second; !slices.Contains(found, offset) {
			found = append(found, offset)
		}
	}
	return found
}
