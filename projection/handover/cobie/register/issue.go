package register

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// issueRows lists the faults that stand.
func (r *register) issueRows() {
	t := r.tables["Issue"]
	for _, f := range r.site.Faults {
		if !f.Open() {
			continue
		}
		sheet, row := r.where(f.Of)
		key := t.names.give("fault " + f.Found.Event.ID.String())
		t.add(key, r.from(&f.Found, cells{
			"Impact": string(f.Severity), "SheetName1": sheet, "RowName1": row,
			"SheetName2": notApplicable, "RowName2": notApplicable,
			"Description": words("; ", f.Symptom, of("trade", f.Trade), of("owner", f.Owner)),
			"Owner":       r.owner(f), "Mitigation": f.Action,
		}))
		t.ask("Impact", key, "in the log's own words; give the owner's rating", false)
	}
}

func of(what, value string) string {
	if value == "" {
		return ""
	}
	return what + ": " + value
}

// owner is the key of whoever is to mend a fault, if the log names a contact.
func (r *register) owner(f *projection.Fault) string {
	email, ok := address(f.Owner)
	if !ok {
		return ""
	}
	for _, row := range r.tables["Contact"].Rows {
		if fold(row[0]) == fold(email) {
			return row[0]
		}
	}
	return ""
}

// where is the sheet and row of a subject, empty for one that has none.
func (r *register) where(s events.Subject) (sheet, row string) {
	if tag, ok := s.Tag(); ok {
		sheet, row = "Component", r.tags[tag]
	}
	switch s.Class {
	case events.OfSite:
		sheet, row = "Facility", r.tables["Facility"].Rows[0][0]
	case events.OfHub:
		sheet, row = "Component", r.hubs[events.HubID(s.ID)]
	case events.OfRoom:
		sheet, row = "Space", r.spaces[events.RoomID(s.ID)]
	case events.OfFloor:
		sheet, row = "Floor", r.floors[events.FloorID(s.ID)]
	case events.OfCircuit:
		sheet, row = "System", r.systems[events.CircuitID(s.ID)]
	}
	if row == "" {
		return "", ""
	}
	return sheet, row
}
