package asbuilt

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
)

// tests lists the functional tests that the site owes and what came of them, a row
// for each result; then the results of what nobody owed.
func (b *builder) tests() table {
	t := table{header: "floor room of test asked_by limits limits_from state waits result reading instrument held_against at by note stale ref"}
	told := map[events.Ref]bool{}
	for _, room := range b.Book.Rooms {
		for _, test := range room.Tests {
			owed := []string{string(room.Floor), string(room.Room), test.Of.String(), string(test.Test), test.From,
				limits(test.Limits, func(l checks.Limit) string { return fmt.Sprintf("%s=%d", l.Name, l.Value) }),
				limits(test.Limits, func(l checks.Limit) string { return l.Source }), string(test.State), test.Waits}
			for _, r := range test.Results {
				told[r.Done.Ref()] = true
				t.add(append(slices.Clone(owed), b.result(r.Pass, r.Reading, r.Instrument, r.Limit, r.Note, r.Stale, &r.Done)...)...)
			}
			if len(test.Results) == 0 {
				t.add(append(owed, make([]string, 9)...)...)
			}
		}
	}
	for _, c := range b.Site.Checks {
		if !told[c.Done.Ref()] {
			t.add(append([]string{"", "", c.Of.String(), string(c.Test), "", "", "", "", ""},
				b.result(c.Pass, c.Reading, c.Instrument, c.Limit, c.Note, "", &c.Done)...)...)
		}
	}
	return t
}

// result are the cells that tell of a result.
func (b *builder) result(pass bool, reading, instrument, limit, note, stale string, done *projection.Cause) []string {
	return []string{passed(pass), reading, instrument, limit, b.at(done), b.by(done), note, stale, ref(done)}
}

// limits joins what is said of each limit.
func limits(list []checks.Limit, say func(checks.Limit) string) string {
	words := make([]string, len(list))
	for i, l := range list {
		words[i] = say(l)
	}
	return strings.Join(words, "; ")
}

func (b *builder) faults() table {
	t := table{header: "ref of symptom severity state trade owner action found_at found_by assigned_at cleared_at cleared_by reopened_at"}
	for _, f := range b.Site.Faults {
		state := "open"
		if !f.Open() {
			state = "cleared"
		}
		t.add(ref(&f.Found), f.Of.String(), f.Symptom, string(f.Severity), state, f.Trade, f.Owner, f.Action,
			b.at(&f.Found), b.by(&f.Found), b.at(f.Assigned), b.at(f.Cleared), b.by(f.Cleared), b.at(f.Reopened))
	}
	return t
}

// instants are written to the millisecond here, since this file is the log.
const toTheMillisecond = "2006-01-02T15:04:05.000Z07:00"

// entries is the log in words, in the order of site time.
func (b *builder) entries() table {
	t := table{header: "ref at clock recorded_at kind by recorded_by about words withdrawn quarantined picture_sha256"}
	for _, told := range b.History.Told(b.Moment) {
		t.add(ref(&told.Cause), told.At.Time().In(b.zone).Format(toTheMillisecond), clock(told), told.Said.Time().In(b.zone).Format(toTheMillisecond),
			string(told.Event.Kind()), told.By, b.Site.MemberName(told.Event.Member()), about(told.Subjects),
			told.Event.Payload.String(), told.Withdrawn, told.Quarantined, picture(told))
	}
	return t
}

// picture is the checksum of the picture that an entry adds: its file in photos/ is
// called by it.
func picture(told projection.Told) string {
	if p, ok := told.Event.Payload.(events.PhotoAdded); ok {
		return p.Picture.SHA256
	}
	return ""
}

// clock says how an entry's time is known.
func clock(told projection.Told) string {
	switch {
	case !told.Placed:
		return "not compared"
	case told.Event.When().Known:
		return "typed"
	}
	return "site"
}

func about(subjects []events.Subject) string {
	words := make([]string, len(subjects))
	for i, s := range subjects {
		words[i] = s.String()
	}
	return strings.Join(words, "; ")
}
