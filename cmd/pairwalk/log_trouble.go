package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

// enterSubject records what a verb tells of any subject.
func (c *logCmd) enterSubject(a *app, text string, tell func(m *member.Member, of events.Subject) (events.Payload, error)) error {
	return c.enterSubjectAbout(a, text, nil, tell)
}

// enterRemark does that where it bears on nothing but the subject.
func (c *logCmd) enterRemark(a *app, text string, tell func(m *member.Member, of events.Subject) (events.Payload, error)) error {
	return c.enterSubjectAbout(a, text, subjectNames(text), tell)
}

func (c *logCmd) enterSubjectAbout(a *app, text string, names []string, tell func(m *member.Member, of events.Subject) (events.Payload, error)) error {
	return c.enterAbout(a, names, func(m *member.Member) ([]events.Payload, error) {
		of, err := m.Subject(text)
		if err != nil {
			return nil, err
		}
		p, err := tell(m, of)
		return []events.Payload{p}, err
	})
}

// subjectNames are the names in a subject as people write it: of anything called so,
// or of what they say it is.
func subjectNames(text string) []string {
	if x, err := events.ParseSubject(text); err == nil {
		return []string{text, x.ID}
	}
	return []string{text}
}

// poweredBy finds a circuit or device; a circuit that nobody scheduled is learned
// here.
func poweredBy(m *member.Member, text string) (events.Subject, error) {
	if of, err := m.Subject(text); err == nil {
		return of, nil
	}
	if of, err := events.ParseSubject(text); err == nil {
		return of, nil
	}
	of := events.Circuit(events.CircuitID(text))
	_, err := events.ParseSubject(of.String())
	return of, err
}

type logPowerOff struct {
	What string `arg:"" help:"A circuit or device."`
	Dark string `help:"What went dark with it: 2-101..2-118. That is how circuits are learned." placeholder:"TAGS"`
}

func (logPowerOff) Help() string {
	return "Example: pairwalk log power-off C3-7 --dark 2-101..2-118\n\nThis is an entry, not isolation. Prove absence of voltage."
}

func (c *logPowerOff) Run(a *app) error {
	return a.cli.Log.enterAbout(a, darkNames(c.What, c.Dark), func(m *member.Member) ([]events.Payload, error) {
		of, err := poweredBy(m, c.What)
		if err != nil {
			return nil, err
		}
		dark, err := tagsOf(m, c.Dark)
		return []events.Payload{events.PowerOff{Of: of, Dark: dark}}, err
	})
}

// darkNames are the names that a cut of power bears on; none where they include a
// range.
func darkNames(what, dark string) []string {
	if dark == "" {
		return subjectNames(what)
	}
	tags := tagNames(dark)
	if tags == nil {
		return nil
	}
	return append(tags, subjectNames(what)...)
}

type logPowerOn struct {
	What string `arg:"" help:"A circuit or device."`
}

func (logPowerOn) Help() string { return "Example: pairwalk log power-on C3-7" }

func (c *logPowerOn) Run(a *app) error {
	return a.cli.Log.enterAbout(a, subjectNames(c.What), func(m *member.Member) ([]events.Payload, error) {
		of, err := poweredBy(m, c.What)
		return []events.Payload{events.PowerOn{Of: of}}, err
	})
}

type logFault struct {
	Subject  string `arg:"" help:"What it is about."`
	Text     string `arg:"" help:"What is wrong."`
	Severity string `default:"major" enum:"danger,major,minor" help:"How bad: ${enum}."`
	Trade    string `help:"Whose work it is to mend it."`
	Owner    string `help:"Who has it."`
	Action   string `help:"What is to be done."`
}

func (logFault) Help() string {
	return "Example: pairwalk log fault 2-114 \"flickers when dimmed\" --severity minor"
}

func (c *logFault) Run(a *app) error {
	return a.cli.Log.enterRemark(a, c.Subject, func(_ *member.Member, of events.Subject) (events.Payload, error) {
		return events.FaultFound{Of: of, Symptom: c.Text, Severity: events.Severity(c.Severity), Trade: c.Trade, Owner: c.Owner, Action: c.Action}, nil
	})
}

// enterFault records what a verb tells of a found fault.
func (c *logCmd) enterFault(a *app, id string, tell func(events.Ref) events.Payload) error {
	return c.enter(a, func(m *member.Member) ([]events.Payload, error) {
		f, err := m.Fault(id)
		if err != nil {
			return nil, err
		}
		return []events.Payload{tell(f.Found.Ref())}, nil
	})
}

type logAssigned struct {
	Fault  string `arg:"" help:"The fault's id, as status shows it."`
	Trade  string `help:"To which trade."`
	Owner  string `help:"To whom."`
	Action string `help:"What is to be done."`
}

func (logAssigned) Help() string { return "Example: pairwalk log assigned K3TQ9Z --trade electrical" }

func (c *logAssigned) Run(a *app) error {
	return a.cli.Log.enterFault(a, c.Fault, func(r events.Ref) events.Payload {
		return events.FaultAssigned{Fault: r, Trade: c.Trade, Owner: c.Owner, Action: c.Action}
	})
}

type logCleared struct {
	Fault  string `arg:"" help:"The fault's id, as status shows it."`
	Action string `help:"What was done."`
}

func (logCleared) Help() string {
	return "Example: pairwalk log cleared K3TQ9Z --action \"driver changed\""
}

func (c *logCleared) Run(a *app) error {
	return a.cli.Log.enterFault(a, c.Fault, func(r events.Ref) events.Payload {
		return events.FaultCleared{Fault: r, Action: c.Action}
	})
}

type logReopened struct {
	Fault string `arg:"" help:"The fault's id."`
	Why   string `required:"" help:"What was seen."`
}

func (logReopened) Help() string {
	return "Example: pairwalk log reopened K3TQ9Z --why \"flickers again\""
}

func (c *logReopened) Run(a *app) error {
	return a.cli.Log.enterFault(a, c.Fault, func(r events.Ref) events.Payload {
		return events.FaultReopened{Fault: r, Why: c.Why}
	})
}

type logHold struct {
	Subject string `arg:"" help:"What nobody is to touch: device, hub, circuit, room, floor or site."`
	Why     string `required:"" help:"Why."`
	Who     string `help:"Who asked for it."`
}

func (logHold) Help() string {
	return "Example: pairwalk log hold circuit:C3-7 --why \"driver being changed\" --who \"electrician\"\n\nA hold is not a lockout. Prove absence of voltage."
}

func (c *logHold) Run(a *app) error {
	return a.cli.Log.enterRemark(a, c.Subject, func(_ *member.Member, of events.Subject) (events.Payload, error) {
		return events.HoldPlaced{Of: of, Why: c.Why, Who: c.Who}, nil
	})
}

type logLift struct {
	Subject string `arg:"" help:"What the hold is on."`
	Note    string `help:"More about it."`
}

func (logLift) Help() string { return "Example: pairwalk log lift circuit:C3-7" }

func (c *logLift) Run(a *app) error {
	return a.cli.Log.enterRemark(a, c.Subject, func(_ *member.Member, of events.Subject) (events.Payload, error) {
		return events.HoldLifted{Of: of, Note: c.Note}, nil
	})
}

type logNote struct {
	Subject string `arg:"" help:"What it is about; site for the whole site."`
	Text    string `arg:"" help:"The remark."`
}

func (logNote) Help() string { return "Example: pairwalk log note 3.12 \"ceiling closes on Friday\"" }

func (c *logNote) Run(a *app) error {
	return a.cli.Log.enterRemark(a, c.Subject, func(_ *member.Member, of events.Subject) (events.Payload, error) {
		return events.NoteAdded{Of: of, Text: c.Text}, nil
	})
}

type logPhoto struct {
	Subject string `arg:"" help:"What it shows."`
	File    string `arg:"" help:"The picture."`
	Caption string `help:"What is to be seen."`
}

func (logPhoto) Help() string {
	return "Example: pairwalk log photo 2-114 label.jpg --caption \"label\"\n\nThe picture is kept beside the log and follows the entry to the others, up to 24 MiB. No picture of an install code or passcode, please."
}

func (c *logPhoto) Run(a *app) error {
	return a.cli.Log.enterSubject(a, c.Subject, func(m *member.Member, of events.Subject) (events.Payload, error) {
		b, err := a.readFile(c.File)
		if err != nil {
			return nil, err
		}
		kind := http.DetectContentType(b)
		if len(kind) < 6 || kind[:6] != "image/" {
			return nil, fmt.Errorf("%s is no picture that is known here (%s)", c.File, kind)
		}
		sum := sha256.Sum256(b)
		picture := events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(b)), Type: kind}
		if err := m.KeepPicture(picture, b); err != nil {
			return nil, err
		}
		return events.PhotoAdded{Of: of, Picture: picture, Caption: c.Caption}, nil
	})
}

type logSigned struct {
	Subject string `arg:"" help:"What is signed for: site, floor, room, hub."`
	Scope   string `arg:"" help:"What was done."`
	Signer  string `required:"" help:"Who signs."`
	As      string `required:"" help:"In which role."`
}

func (logSigned) Help() string {
	return "Example: pairwalk log signed floor:3 \"commissioned and checked\" --signer Ann --as \"commissioning lead\""
}

func (c *logSigned) Run(a *app) error {
	return a.cli.Log.enterRemark(a, c.Subject, func(_ *member.Member, of events.Subject) (events.Payload, error) {
		return events.WorkSigned{Of: of, Scope: c.Scope, Signer: c.Signer, As: c.As}, nil
	})
}
