// Package handed tells two jobs up to the day they are handed over, for tests of
// what is handed over. Everything in them is invented.
package handed

import (
	"bytes"
	"fmt"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/testdata"
)

// Contacts are what the members of both jobs left as their contact, by name. One has
// none that is an address, and one has two devices.
var Contacts = map[string]string{
	"lead": "ada@works.example", "bo": "bo@works.example", "bo's phone": "Bo@works.example", "cy": "room 12, mornings",
}

// Works is the job of testdata/works: 480 devices, most of them paired, with all that
// usually goes wrong.
func Works() *projection.History {
	s := tale.New()
	w := work{Story: s, at: tale.T("08:10")}
	w.take(testdata.WorksFloors)
	w.take(testdata.WorksSchedule)
	bo, cy, phone := s.Join("bo", events.Tech), s.Join("cy", events.Tech), s.Join("bo's phone", events.Tech)
	bo.Hear(s.Lead)
	cy.Hear(s.Lead)
	w.ready(s.Lead)
	w.pair(s.Lead, bo, cy)
	w.trouble(bo, phone)
	w.checked(s.Lead)
	return History(s)
}

// Bare is the list of testdata/bare: tag, kind and hub, and nothing was done yet.
func Bare() *projection.History {
	s := tale.New()
	w := work{Story: s, at: tale.T("08:10")}
	w.take(testdata.Bare)
	return History(s)
}

// History is a story whose members left their contacts.
func History(s *tale.Story) *projection.History { return HistoryIn(s, "UTC") }

// HistoryIn is the same of a site in a time zone.
func HistoryIn(s *tale.Story, zone string) *projection.History {
	told := s.Events()
	for i := range told {
		switch p := told[i].Payload.(type) {
		case events.MemberJoined:
			p.Contact = Contacts[p.Name]
			told[i].Payload = p
		case events.SiteOpened:
			p.Zone = zone
			told[i].Payload = p
		}
	}
	h := &projection.History{Site: s.Site}
	h.Add(told...)
	return h
}

// work goes on while time passes.
type work struct {
	*tale.Story
	at events.Instant
}

// say is an entry a while later.
func (w *work) say(t *tale.Teller, after time.Duration, p events.Payload) *events.Event {
	w.at = w.at.Add(after)
	return t.SayAt(w.at, p)
}

// take imports a sheet.
func (w *work) take(file []byte) {
	site := w.Now()
	opt := intake.Options{Site: intake.Listing{Floors: map[events.FloorID]events.FloorListed{}}}
	for _, f := range site.Floors {
		opt.Site.Floors[f.Floor] = f
	}
	sheet, err := intake.Read(bytes.NewReader(file), opt)
	if err != nil || len(sheet.Problems) > 0 {
		panic(fmt.Sprint("handed: ", err, sheet.Problems))
	}
	for _, p := range sheet.Diff(opt.Site).Payloads(intake.Accept{}) {
		w.say(w.Lead, 0, p)
	}
}

// ready readies every hub.
func (w *work) ready(by *tale.Teller) {
	for i, h := range w.Now().Hubs {
		w.say(by, time.Minute, events.HubChannel{Hub: h.Hub, Radio: events.Mesh, Channel: 11 + 5*i%15})
		w.say(by, 0, events.HubLoaded{Hub: h.Hub, Program: "r1", All: true})
		w.say(by, 0, events.HubReady{Hub: h.Hub})
	}
}

// pair pairs what pairs, but for a few that refuse or are skipped. Some units are
// scanned before.
func (w *work) pair(by ...*tale.Teller) {
	n := 0
	for _, d := range w.Now().Devices {
		if !d.Is.Pairs() {
			continue
		}
		n++
		who, serial := by[n%len(by)], events.Serial(fmt.Sprintf("SN-%05d", 7*n))
		switch {
		case n%41 == 0:
			w.say(who, time.Minute, events.DeviceRefused{Device: d.Device, Why: events.NoAnswer})
		case n%53 == 0:
			w.say(who, time.Minute, events.DeviceSkipped{Device: d.Device, Why: events.NoAccess, Note: "room locked"})
		default:
			if n%5 == 0 {
				text := fmt.Sprintf("(01)05412345000013(21)%s", serial)
				w.say(who, 0, events.DeviceFitted{Device: d.Device, Serial: serial, Label: text, Source: events.Scanned})
			}
			w.say(who, time.Minute, events.DevicePaired{Device: d.Device, Hub: d.Hub, Serial: serial, How: d.Is.How()})
		}
	}
}

// trouble is what a job is like: faults, a replaced unit, a dark circuit, links.
func (w *work) trouble(a, b *tale.Teller) {
	a.Hear(w.Lead)
	b.Hear(w.Lead, a)
	site := w.Now()
	first, second := site.Devices[1].Device, site.Devices[2].Device
	w.say(a, time.Hour, events.DeviceReplaced{Device: first, Old: site.Devices[1].Serial, New: "SN-99001", Why: "flickers"})
	w.say(a, time.Minute, events.FaultFound{Of: events.Device(second), Symptom: "hums when dimmed", Severity: events.Minor, Trade: "electrical", Owner: "bo@works.example", Action: "swap the driver"})
	w.say(a, time.Minute, events.FaultFound{Of: events.Room(site.Devices[3].Room), Symptom: "=1+1 is on the door\nand the light stays on", Severity: events.Major})
	gone := w.say(b, time.Minute, events.FaultFound{Of: events.Circuit(site.Devices[4].Circuit), Symptom: "trips", Severity: events.Danger})
	w.say(b, time.Minute, events.FaultCleared{Fault: gone.Ref(), Action: "breaker changed"})
	w.say(b, time.Minute, events.PowerOff{Of: events.Circuit(site.Devices[4].Circuit), Dark: []events.Tag{site.Devices[200].Device}})
	w.say(b, time.Minute, events.PowerOn{Of: events.Circuit(site.Devices[4].Circuit)})
	w.say(b, time.Minute, events.LinkMeasured{A: first, B: second, RSSI: events.Some(-71), PDR: events.Some[int64](987_500)})
	wrong := w.say(b, time.Minute, events.NoteAdded{Of: events.Site(), Text: "a word that is taken back"})
	w.say(b, time.Minute, events.EventVoided{Event: wrong.Ref(), Why: events.DidNotHappen})
}

// checked is the last day.
func (w *work) checked(by *tale.Teller) {
	site := w.Now()
	room := site.Devices[3].Room
	w.say(by, time.Hour, events.TestPlanned{Room: room, Test: events.TestOccupancy, Limits: map[string]int64{"off_within_s": 1200}})
	w.say(by, time.Minute, events.CheckDone{Of: events.Room(room), Test: events.TestOccupancy, Reading: "12 min", Instrument: "watch", Limit: "20 min", Pass: true})
	w.say(by, time.Minute, events.CheckDone{Of: events.Device(site.Devices[1].Device), Test: events.TestAnswer, Pass: false, Note: "no answer, twice"})
	for _, h := range site.Hubs {
		w.say(by, 15*time.Minute, events.PushDone{Hub: h.Hub, Program: "r1"})
	}
	w.say(by, time.Minute, events.WorkSigned{Of: events.Site(), Scope: "lighting controls", Signer: "Ada", As: "commissioning lead"})
}
