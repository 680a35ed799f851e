package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
)

// logCmd is every verb of pairwalk log. Each verb's struct is in a log*.go file.
type logCmd struct {
	When string `help:"When it happened, if not now: 14:05, 09:40..10:10, yesterday 17:00." placeholder:"TIME"`
	By   string `help:"Who did it, if not you." placeholder:"PERSON"`
	New  bool   `help:"The device is on no schedule: found in the field. Needs --kind and --hub."`
	Kind string `help:"With --new: what it is." placeholder:"KIND"`
	Hub  string `help:"With --new: the hub it belongs to." placeholder:"HUB"`

	Ready   logReady   `cmd:"" group:"hub" help:"A hub is powered, reachable, on its channel and loaded."`
	Lost    logLost    `cmd:"" group:"hub" help:"A hub does not answer any more."`
	Channel logChannel `cmd:"" group:"hub" help:"A hub is on this channel."`
	Loaded  logLoaded  `cmd:"" group:"hub" help:"A hub holds this program."`

	Fitted   logFitted   `cmd:"" group:"device" help:"This unit sits at this position."`
	Paired   logPaired   `cmd:"" group:"device" help:"A device joined its hub and confirmed."`
	Refused  logRefused  `cmd:"" group:"device" help:"A device would not pair."`
	Skipped  logSkipped  `cmd:"" group:"device" help:"A device could not be done now."`
	Unpaired logUnpaired `cmd:"" group:"device" help:"A device was reset or removed."`
	Replaced logReplaced `cmd:"" group:"device" help:"Another unit took its place."`
	Heard    logHeard    `cmd:"" group:"device" help:"The hub was seen to hear a device."`
	Measured logMeasured `cmd:"" group:"device" help:"How well one device hears another."`
	Placed   logPlaced   `cmd:"" group:"device" help:"Where a device or hub really sits."`

	PowerOff logPowerOff `cmd:"" group:"power" help:"A circuit or device lost power."`
	PowerOn  logPowerOn  `cmd:"" group:"power" help:"The power is back."`

	Pushed     logPushed     `cmd:"" group:"push" help:"A program was pushed."`
	PushFailed logPushFailed `cmd:"" group:"push" help:"A push came to nothing."`
	Merged     logMerged     `cmd:"" group:"push" help:"The office has merged the records."`
	Asked      logAsked      `cmd:"" group:"push" help:"What a colleague said by voice."`

	Fault    logFault    `cmd:"" group:"trouble" help:"Found trouble."`
	Assigned logAssigned `cmd:"" group:"trouble" help:"Who is to mend a fault."`
	Cleared  logCleared  `cmd:"" group:"trouble" help:"A fault is mended."`
	Reopened logReopened `cmd:"" group:"trouble" help:"A cleared fault is back."`
	Planned  logPlanned  `cmd:"" group:"trouble" help:"A functional test that a room is to pass."`
	Check    logCheck    `cmd:"" group:"trouble" help:"A functional test of a room or device."`
	Hold     logHold     `cmd:"" group:"trouble" help:"Nobody touches this until it is lifted."`
	Lift     logLift     `cmd:"" group:"trouble" help:"A hold is over."`
	Note     logNote     `cmd:"" group:"trouble" help:"A remark."`
	Photo    logPhoto    `cmd:"" group:"trouble" help:"A picture kept beside the log."`
	Signed   logSigned   `cmd:"" group:"trouble" help:"A signature under a scope of work."`
}

func (logCmd) Help() string {
	return "Example: pairwalk log paired 2-114 SN-0042 --how button\n\nWhat happened is recorded, also where it breaks a rule; that is flagged, not refused.\nA typed --when is taken to be some minutes off (setting when_tolerance_minutes); a range says so itself."
}

// enter records what a verb tells, at the time and by the person that log's own
// flags name.
func (c *logCmd) enter(a *app, payloads func(m *member.Member) ([]events.Payload, error)) error {
	return a.withMember(func(m *member.Member) error {
		ps, err := payloads(m)
		if err != nil && m.Partly() { // what is wrong, and what would be right, shows in the whole of the log
			if err = m.ReadRest(); err == nil {
				ps, err = payloads(m)
			}
		}
		if err != nil {
			return err
		}
		entries := make([]member.Entry, len(ps))
		for i, p := range ps {
			if entries[i], err = c.entry(a, m, p); err != nil {
				return err
			}
		}
		return a.record(m, entries...)
	})
}

// enterAbout does that for what bears on a few names alone, and has no more of the
// log read. What is entered for another time may bear on anything since.
func (c *logCmd) enterAbout(a *app, names []string, payloads func(m *member.Member) ([]events.Payload, error)) error {
	if c.When == "" && !c.New && !a.whole {
		a.about = names
	}
	return c.enter(a, payloads)
}

func (c *logCmd) entry(a *app, m *member.Member, p events.Payload) (member.Entry, error) {
	x := member.Entry{Payload: p, By: c.By}
	if c.When == "" || !atTime(p) {
		return x, nil
	}
	s := m.Now()
	when, err := intake.ParseWhen(c.When, a.today(m), s.Location(), s.Settings.Span(events.WhenTolerance, time.Minute))
	if err != nil {
		return x, err
	}
	x.When = events.Some(when)
	return x, nil
}

// atTime says whether a payload tells of a time of its own; a listing is as of
// its entry.
func atTime(p events.Payload) bool {
	_, listed := p.(events.DeviceListed)
	return !listed
}

// device finds a device on the schedule. One that is not gets listed in the same
// breath with --new, and else is refused with that advice.
func (c *logCmd) device(a *app, m *member.Member, tag string) ([]events.Payload, *projection.Device, error) {
	s := m.Now()
	if d, ok := s.Device(events.Tag(tag)); ok {
		if c.New {
			return nil, nil, fmt.Errorf("%s is on the schedule already; leave --new out", tag)
		}
		return nil, d, nil
	}
	if !c.New {
		return nil, nil, fmt.Errorf("%s is not on the schedule%s; if you found it in the field, add --new --kind KIND --hub HUB", tag, nearest(s, tag))
	}
	if c.Kind == "" || c.Hub == "" {
		return nil, nil, usef("--new needs --kind (%s) and --hub", kindWords())
	}
	hub, err := hubOf(m, c.Hub)
	if err != nil {
		return nil, nil, err
	}
	row := events.DeviceListed{Device: events.Tag(tag), Is: events.DeviceKind(c.Kind), Hub: hub, Radio: events.Mesh, Power: events.Mains, Note: "found in the field"}
	if !slices.Contains(events.DeviceKinds, row.Is) {
		return nil, nil, usef("--kind %q is none of %s", c.Kind, kindWords())
	}
	if row.Is == events.Sensor {
		row.Power = events.Battery
	}
	return []events.Payload{row}, &projection.Device{DeviceListed: &row}, nil
}

func kindWords() string {
	words := make([]string, len(events.DeviceKinds))
	for i, k := range events.DeviceKinds {
		words[i] = string(k)
	}
	return strings.Join(words, ", ")
}

// nearest suggests a tag that differs from an unknown one by its case or its
// separators alone.
func nearest(s *projection.Site, tag string) string {
	bare := strings.NewReplacer("-", "", "_", "", " ", "", ".", "")
	want := strings.ToLower(bare.Replace(tag))
	for i := range s.Devices {
		t := string(s.Devices[i].Device)
		if strings.ToLower(bare.Replace(t)) == want {
			return "; did you mean " + t + "?"
		}
	}
	return ""
}

func hubOf(m *member.Member, id string) (events.HubID, error) {
	s := m.Now()
	if _, ok := s.Hub(events.HubID(id)); ok {
		return events.HubID(id), nil
	}
	var names []string
	for i := range s.Hubs {
		names = append(names, string(s.Hubs[i].Hub))
	}
	if len(names) == 0 {
		return "", fmt.Errorf("no hub is on the schedule yet; import one first")
	}
	return "", fmt.Errorf("no hub %q; there are %s", id, strings.Join(names, ", "))
}

// record writes entries and says so, with whatever they broke.
func (a *app) record(m *member.Member, entries ...member.Entry) error {
	evs, marks, err := m.RecordMarked(a.ctx, entries...)
	if err != nil {
		return err
	}
	if a.cli.JSON {
		doc := a.entries(m, evs)
		doc["flagged"], doc["not_counted"], doc["cautions"] = texts(marks.Flagged), texts(marks.Doubted), texts(marks.Cautions)
		return a.printJSON(doc)
	}
	if err := a.said(m, evs...); err != nil {
		return err
	}
	a.marked(marks)
	return nil
}

// entries are entries that are on disk, as a document.
func (a *app) entries(m *member.Member, evs []events.Event) map[string]any {
	return map[string]any{"v": member.AnswerVersion, "entries": member.EntriesOf(m.Now(), evs)}
}

// said prints entries that are on disk.
func (a *app) said(m *member.Member, evs ...events.Event) error {
	s := m.Now()
	if a.cli.JSON {
		return a.printJSON(a.entries(m, evs))
	}
	for i := range evs {
		e := &evs[i]
		a.printf("%s  %s  (%s)\n", clock(s, e.Wall.At, e.Wall.At), oneLine(member.Words(s, e)), entryID(e))
	}
	return nil
}

// marked prints marks.
func (a *app) marked(x member.Marks) {
	for _, words := range x.Doubted {
		a.println("  " + a.warn("kept, and not counted: "+words))
	}
	for _, words := range x.Flagged {
		a.println("  " + a.warn("flagged: "+words))
	}
	for _, words := range x.Cautions {
		a.println("  " + a.warn(words))
	}
}

// Cautions that the command shows; their words are package walk's.
const (
	cautionEmergency = walk.CautionEmergency
	cautionHold      = walk.CautionHold
	cautionPower     = walk.CautionPower
)
