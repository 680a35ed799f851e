package register

import (
	"strconv"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

const (
	system = "pairwalk" // what wrote the rows
	stamp  = "2006-01-02T15:04:05"
)

// register is a book while it is written.
type register struct {
	site   *projection.Site
	zone   *time.Location
	tables map[string]*table

	email   map[events.Key]string // members' keys in Contact
	makers  map[string]string     // makers' keys in Contact, by folded address
	floors  map[events.FloorID]string
	spaces  map[events.RoomID]string
	types   map[product]string
	tags    map[events.Tag]string // positions' keys in Component
	hubs    map[events.HubID]string
	systems map[events.CircuitID]string // circuits' keys in System
	lists   listings                    // the entries that list floors and rooms
}

// Of lays out the site as it was at a moment of a history; site is h.At(m).
func Of(h *projection.History, m projection.Moment, site *projection.Site) Book {
	r := &register{site: site, zone: site.Location(), tables: map[string]*table{}, lists: listed(h, m)}
	for _, l := range layouts {
		r.tables[l.name] = &table{Sheet: Sheet{Name: l.name, Columns: columns(l.columns)}, names: newNames()}
	}
	r.contacts()
	r.facility()
	r.floorRows()
	r.spaceRows()
	r.typeRows()
	r.componentRows()
	r.systemRows()
	r.attributeRows()
	r.issueRows()

	var b Book
	for _, l := range layouts {
		t := r.tables[l.name]
		b.Asks = append(b.Asks, t.done()...)
		if why := wanted[l.name]; why != "" && len(t.Rows) == 0 {
			b.Asks = append(b.Asks, Ask{Sheet: l.name, Needed: true, Why: why})
		}
		b.Sheets = append(b.Sheets, t.Sheet)
	}
	return b
}

// wanted are the sheets that checkers refuse to find empty.
var wanted = map[string]string{
	"Contact":   "has no row: no member's contact is an e-mail address",
	"Floor":     "has no row: the schedule names no floor",
	"Space":     "has no row: the schedule names no room",
	"Type":      "has no row: the schedule is empty",
	"Component": "has no row: the schedule is empty",
}

// ownWords is why a category is asked for although it is filled.
const ownWords = "in the log's own words; give the owner's classification"

// from fills in who said what is behind a row, and when.
func (r *register) from(c *projection.Cause, row cells) cells {
	return r.fromAs(c, row, "ExtSystem", "ExtObject", "ExtIdentifier")
}

func (r *register) fromAs(c *projection.Cause, row cells, sys, object, identifier string) cells {
	row[sys] = system
	if c == nil || c.IsZero() {
		return row
	}
	row["CreatedBy"] = r.email[c.Member()]
	row["CreatedOn"] = r.time(c.At)
	row[object] = string(c.Event.Kind())
	row[identifier] = c.Ref().String()
	return row
}

func (r *register) time(at events.Instant) string { return at.Time().In(r.zone).Format(stamp) }

func (r *register) day(at events.Instant) string {
	return at.Time().In(r.zone).Format(time.DateOnly)
}

// metres writes millimetres.
func metres(mm events.Maybe[int64]) string {
	if !mm.Known {
		return ""
	}
	return strconv.FormatFloat(float64(mm.Value)/1000, 'f', -1, 64)
}

// first is the earlier of two entries, of which either may be missing.
func first(a, b *projection.Cause) *projection.Cause {
	if a == nil || a.IsZero() {
		return b
	}
	if b == nil || b.IsZero() || b.After(*a) {
		return a
	}
	return b
}
