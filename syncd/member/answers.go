package member

import (
	"encoding"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
	"pairwalk/projection/settle"
	"pairwalk/projection/walk"
)

// SettleAnswer is the judgement of one hub.
type SettleAnswer struct {
	Hub     string         `json:"hub"`
	Verdict string         `json:"verdict"`
	At      string         `json:"at"` // wait until, by this device's clock; "" otherwise
	Reasons []SettleReason `json:"reasons"`
	Ask     []SettleAsk    `json:"ask"`
	Heard   []SettleHeard  `json:"heard"`
}

// SettleReason says what stands in the way, and what to do.
type SettleReason struct {
	Kind     string   `json:"kind"`
	Words    string   `json:"words"`
	Subjects []string `json:"subjects"`
	Events   []string `json:"events"`
}

// SettleAsk is somebody to ask, and since when they have not been heard.
type SettleAsk struct {
	Member string `json:"member"`
	Since  string `json:"since"` // "" for never
}

// SettleHeard is how fresh a member's log is here.
type SettleHeard struct {
	Member  string `json:"member"`
	Through string `json:"through"`
}

// SettleOf writes judgements as documents.
func SettleOf(s *projection.Site, js []settle.Judgement) []SettleAnswer {
	w := writer{s, s.Location()}
	return listOf(js, func(j *settle.Judgement) SettleAnswer {
		a := SettleAnswer{Hub: string(j.Hub), Verdict: string(j.Verdict), Ask: []SettleAsk{}, Heard: []SettleHeard{}}
		if j.At.Known {
			a.At = w.time(j.At.Value)
		}
		a.Reasons = listOf(j.Reasons, func(r *settle.Reason) SettleReason {
			return SettleReason{string(r.Kind), r.Words, texts(r.Subjects), texts(r.Events)}
		})
		for _, x := range j.Ask {
			ask := SettleAsk{Member: s.MemberName(x.Member)}
			if x.Since.Known {
				ask.Since = w.time(x.Since.Value)
			}
			a.Ask = append(a.Ask, ask)
		}
		for _, x := range j.Heard {
			a.Heard = append(a.Heard, SettleHeard{s.MemberName(x.Member), w.time(x.Through)})
		}
		return a
	})
}

// StepAnswer is one thing to do.
type StepAnswer struct {
	Act      string   `json:"act"`
	Subject  string   `json:"subject"`
	Hub      string   `json:"hub,omitempty"`
	How      string   `json:"how,omitempty"`
	Why      string   `json:"why"`
	Cautions []string `json:"cautions,omitempty"`
}

// StepsOf writes steps as documents.
func StepsOf(steps []walk.Step) []StepAnswer {
	return listOf(steps, func(x *walk.Step) StepAnswer {
		return StepAnswer{string(x.Act), x.Subject.String(), string(x.Hub), string(x.How), x.Why, x.Cautions}
	})
}

// EntryAnswer is one entry of the log, with its body under the events' own field
// names.
type EntryAnswer struct {
	Ref         string          `json:"ref"`
	ID          string          `json:"id"`
	At          string          `json:"at"`     // site time
	Placed      bool            `json:"placed"` // the recorder's clock is known against site time
	Kind        string          `json:"kind"`
	Member      string          `json:"member"`
	By          string          `json:"by"`
	Words       string          `json:"words"`
	Body        json.RawMessage `json:"body,omitempty"`
	When        []string        `json:"when,omitempty"` // as typed
	Withdrawn   string          `json:"withdrawn,omitempty"`
	Quarantined string          `json:"quarantined,omitempty"`
}

// HistoryOf writes entries as documents.
func HistoryOf(s *projection.Site, said []Said) []EntryAnswer {
	w := writer{s, s.Location()}
	return listOf(said, func(x *Said) EntryAnswer {
		e := x.Event
		a := EntryAnswer{
			Ref: e.Ref().String(), ID: e.ID.String(), At: w.time(x.At), Placed: x.Placed,
			Kind: string(e.Kind()), Member: s.MemberName(e.Member()), By: s.DoneBy(e), Words: w.words(e),
			Withdrawn: x.Withdrawn, Quarantined: x.Quarantined,
		}
		if body, err := events.EncodeBody(e.Payload); err == nil {
			a.Body = body
		}
		if e.When().Known {
			a.When = []string{w.time(e.When().Value.From), w.time(e.When().Value.To)}
		}
		return a
	})
}

// EntriesOf writes entries that were just recorded, at the time of their own clock.
func EntriesOf(s *projection.Site, evs []events.Event) []EntryAnswer {
	said := make([]Said, len(evs))
	for i := range evs {
		said[i] = Said{Event: &evs[i], At: evs[i].Wall.At, Placed: true}
	}
	return HistoryOf(s, said)
}

// words says what an entry tells, with members by name.
func (w writer) words(e *events.Event) string {
	switch p := e.Payload.(type) {
	case events.MemberAdmitted:
		return "admitted " + w.MemberName(p.Key)
	case events.MemberRevoked:
		return fmt.Sprintf("revoked %s: %s", w.MemberName(p.Key), p.Why)
	case events.HubAssigned:
		if p.Ended {
			return fmt.Sprintf("took %s off %s", w.MemberName(p.Member), p.Hub)
		}
		return fmt.Sprintf("assigned %s to %s", w.MemberName(p.Member), p.Hub)
	case events.MemberAsked:
		if p.Last.Known {
			return fmt.Sprintf("asked %s about %s: last paired about %s", w.MemberName(p.Member), p.Hub, p.Last.Value.Middle().Time().In(w.zone).Format("2006-01-02 15:04"))
		}
		return fmt.Sprintf("asked %s about %s: none", w.MemberName(p.Member), p.Hub)
	case events.ClockCompared:
		return fmt.Sprintf("compared clocks with %s: theirs differs by %+d ms", w.MemberName(p.Other), p.Offset)
	}
	return e.Payload.String()
}

// Words says what an entry tells, with members by name and times in the site's
// zone.
func Words(s *projection.Site, e *events.Event) string { return writer{s, s.Location()}.words(e) }

// MembersAnswer is the team, and what each has heard of whom.
type MembersAnswer struct {
	V       int              `json:"v"`
	Members []MemberDocument `json:"members"`
	Unsent  int              `json:"unsent"` // our entries that nobody else is known to hold
}

// MemberDocument is one member of the team.
type MemberDocument struct {
	StatusMember
	Contact string         `json:"contact,omitempty"`
	Joined  string         `json:"joined"`
	You     bool           `json:"you,omitempty"`
	Entries int            `json:"entries"`
	Heard   map[string]int `json:"heard"` // entries of others by name that they had taken in
}

// Members is the team as everything known here tells it.
func (m *Member) Members() MembersAnswer {
	s := m.Now()
	w := writer{s, s.Location()}
	out := MembersAnswer{V: AnswerVersion, Members: []MemberDocument{}, Unsent: m.Unsent()}
	keys := listOf(s.Members, func(x *projection.Member) events.Key { return x.Key })
	m.mu.Lock()
	knew := m.history.KnownToEach(keys)
	m.mu.Unlock()
	for i := range s.Members {
		x := &s.Members[i]
		d := MemberDocument{StatusMember: w.member(x), Contact: x.Contact, Joined: w.timeOf(&x.Joined), You: x.Key == m.Key(), Heard: map[string]int{}}
		for feed, head := range s.Heads {
			if feed.Key() == x.Key {
				d.Entries += int(head.Seq)
			}
		}
		m.mu.Lock()
		known, had := knew[i], maps.Clone(m.holding[x.Bus]) // had: what they told since their last entry
		m.mu.Unlock()
		if had == nil {
			had = map[events.FeedID]events.Seq{}
		}
		if d.You {
			known = s.Heads
		}
		for feed, head := range known {
			had[feed] = max(had[feed], head.Seq)
		}
		for _, feed := range sortedKeys(had) {
			if _, joined := s.Member(feed.Key()); joined && feed.Key() != x.Key {
				d.Heard[s.MemberName(feed.Key())] += int(had[feed])
			}
		}
		out.Members = append(out.Members, d)
	}
	return out
}

// SubjectAnswer is everything known of one subject at a moment.
type SubjectAnswer struct {
	V         int              `json:"v"`
	Subject   string           `json:"subject"`
	Moment    StatusMoment     `json:"moment"`
	Device    *StatusDevice    `json:"device,omitempty"`
	Reach     *ReachDevice     `json:"reach,omitempty"`   // of a device that is paired
	Legs      []ReachLeg       `json:"legs,omitempty"`    // of its path, one for each hop
	Strands   []ReachPoint     `json:"strands,omitempty"` // of a device or circuit: who hangs on it
	Hub       *StatusHub       `json:"hub,omitempty"`
	Circuit   *StatusCircuit   `json:"circuit,omitempty"`
	Devices   []StatusDevice   `json:"devices,omitempty"` // of a room, floor, circuit or hub
	Conflicts []StatusConflict `json:"conflicts"`
	Faults    []StatusFault    `json:"faults"`
	Holds     []StatusHold     `json:"holds"`
	Causes    []CauseDocument  `json:"causes,omitempty"` // the entry behind each fact of a device

	Pictures []PictureDocument `json:"pictures,omitempty"` // photos and drawings of it, and where they are
}

// CauseDocument is a fact and the entry behind it.
type CauseDocument struct {
	Fact  string `json:"fact"`
	Words string `json:"words"`
	At    string `json:"at"`
	By    string `json:"by"`
	Event string `json:"event"`
}

// Show is everything known of one subject at a moment.
func (m *Member) Show(moment projection.Moment, about events.Subject) SubjectAnswer {
	s := m.At(moment)
	w := writer{s, s.Location()}
	a := SubjectAnswer{V: AnswerVersion, Subject: about.String(), Moment: w.moment(), Conflicts: []StatusConflict{}, Faults: []StatusFault{}, Holds: []StatusHold{}}
	if tag, ok := about.Tag(); ok {
		if d, found := s.Device(tag); found {
			doc := w.device(d)
			a.Device, a.Causes = &doc, w.causes(d)
		}
	}
	if id, ok := about.Hub(); ok {
		docs := w.hubs()
		if i := slices.IndexFunc(docs, func(x StatusHub) bool { return x.ID == string(id) }); i >= 0 {
			a.Hub = &docs[i]
		}
	}
	for i := range s.Circuits {
		if events.Circuit(s.Circuits[i].ID) == about {
			doc := w.circuit(&s.Circuits[i])
			a.Circuit = &doc
		}
	}
	for i := range s.Devices {
		if about.Class != events.OfDevice && s.Within(&s.Devices[i], about) {
			a.Devices = append(a.Devices, w.device(&s.Devices[i]))
		}
	}
	w.trouble(&a, about)
	if about.Class == events.OfDevice || about.Class == events.OfCircuit {
		_, net := m.net(s)
		w.home(&a, about, net)
	}
	a.Pictures = m.pictureDocuments(s, &about)
	return a
}

// home adds a device's way home as told now, and who hangs on a device or circuit.
func (w writer) home(a *SubjectAnswer, about events.Subject, net *mesh.Net) {
	if tag, ok := about.Tag(); ok {
		if r, on := net.Reach(tag); on {
			doc := w.reach(&r)
			a.Reach = &doc
			a.Legs = listOf(net.Legs(tag), func(l *mesh.Link) ReachLeg {
				return ReachLeg{string(l.A), string(l.B), string(l.Basis), [2]int64{l.Margin.Lo, l.Margin.Hi}, [2]int64{l.Chance.Lo, l.Chance.Hi}}
			})
		}
	}
	for _, p := range net.SinglePoints() {
		if p.Of == about {
			a.Strands = append(a.Strands, w.point(&p))
		}
	}
}

// trouble adds the conflicts, faults and holds of a subject.
func (w writer) trouble(a *SubjectAnswer, about events.Subject) {
	for _, c := range ConflictsOf(w.Site) {
		if slices.Contains(c.Subjects, about.String()) {
			a.Conflicts = append(a.Conflicts, c)
		}
	}
	for _, f := range w.Faults {
		if f.Of == about {
			a.Faults = append(a.Faults, w.fault(f))
		}
	}
	for i := range w.Holds {
		if w.Holds[i].Of == about {
			a.Holds = append(a.Holds, w.hold(&w.Holds[i]))
		}
	}
}

// causes lists the entry behind each fact of a device.
func (w writer) causes(d *projection.Device) []CauseDocument {
	var out []CauseDocument
	add := func(fact string, c *projection.Cause) {
		if c != nil && !c.IsZero() {
			out = append(out, CauseDocument{fact, w.words(c.Event), w.timeOf(c), w.by(c), refOf(c)})
		}
	}
	add("listed", d.Row)
	add("struck", d.Struck)
	add("fitted", d.Fitted)
	if d.Paired != nil {
		add("paired", &d.Paired.Cause)
	}
	add("unpaired", d.Unpaired)
	add("replaced", d.Replaced)
	add("refused", d.Refused)
	add("skipped", d.Skipped)
	if d.Pushed != nil {
		add("pushed", &d.Pushed.Cause)
	}
	add("missed", d.Missed)
	add("heard", d.Heard)
	if d.Checked != nil {
		add("checked", &d.Checked.Done)
	}
	add("dark", d.Dark)
	return out
}

func marshalPair(seq events.Seq, hash string) ([]byte, error) {
	return json.Marshal([]any{seq, hash})
}

// textOf writes a name as its text.
func textOf(v any) string {
	if t, ok := v.(encoding.TextMarshaler); ok {
		if b, err := t.MarshalText(); err == nil {
			return string(b)
		}
	}
	return fmt.Sprint(v)
}
