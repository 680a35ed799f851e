package member

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// AnswerVersion is the v of every document that programs outside read.
const AnswerVersion = 1

// StatusAnswer is the facts of a site at a moment. Two members with the same
// heads get the same one, byte for byte.
type StatusAnswer struct {
	V             int                    `json:"v"`
	Site          StatusSite             `json:"site"`
	Practice      bool                   `json:"practice"`
	Moment        StatusMoment           `json:"moment"`
	Heads         map[events.FeedID]Mark `json:"heads"`
	Members       []StatusMember         `json:"members"`
	Hubs          []StatusHub            `json:"hubs"`
	Devices       []StatusDevice         `json:"devices"`
	Circuits      []StatusCircuit        `json:"circuits"`
	Conflicts     []StatusConflict       `json:"conflicts"`
	Faults        []StatusFault          `json:"faults"`
	Holds         []StatusHold           `json:"holds"`
	Anomalies     []StatusAnomaly        `json:"anomalies"`
	Quarantined   int                    `json:"quarantined"`
	NotUnderstood int                    `json:"not_understood"`
	Entries       int                    `json:"entries"`
}

// StatusSite names a site.
type StatusSite struct {
	ID   events.SiteID `json:"id"`
	Name string        `json:"name"`
	Zone string        `json:"zone"`
}

// StatusMoment is the moment a status speaks of: when, in site time, and as
// known to whom.
type StatusMoment struct {
	When  string `json:"when"`
	Known string `json:"known"` // "everything", or a member's name and a time
}

// Mark is a head as [seq, hash].
type Mark struct {
	Seq  events.Seq
	Hash events.Hash
}

// StatusMember is one member.
type StatusMember struct {
	Name     string     `json:"name"`
	Key      events.Key `json:"key"`
	Role     string     `json:"role"`
	Standing string     `json:"standing"`
	Why      string     `json:"why,omitempty"`
}

// StatusHub is one hub.
type StatusHub struct {
	ID       string         `json:"id"`
	Ready    bool           `json:"ready"`
	Why      string         `json:"why,omitempty"` // why not ready
	Channel  map[string]int `json:"channel"`       // by radio
	Program  string         `json:"program"`
	Listed   int            `json:"listed"` // devices on the schedule
	Paired   int            `json:"paired"`
	Pushed   int            `json:"pushed"`
	Event    string         `json:"event,omitempty"` // behind ready
	Assigned []string       `json:"assigned,omitempty"`
}

// StatusDevice is one device.
type StatusDevice struct {
	Tag       string   `json:"tag"`
	Hub       string   `json:"hub"`
	Kind      string   `json:"kind"`
	Radio     string   `json:"radio"`
	Floor     string   `json:"floor,omitempty"`
	Room      string   `json:"room,omitempty"`
	Emergency bool     `json:"emergency,omitempty"`
	How       string   `json:"how,omitempty"` // the way its kind is usually paired
	State     string   `json:"state"`
	Serial    string   `json:"serial"`
	Since     string   `json:"since"` // time of the entry behind state
	By        string   `json:"by"`
	Event     string   `json:"event"` // the entry behind state
	PairedAt  string   `json:"paired_at"`
	Pushed    string   `json:"pushed"`
	Missed    bool     `json:"missed"`
	HeardAt   string   `json:"heard_at"`
	Needs     []string `json:"needs"`
	Flags     []string `json:"flags"`
}

// StatusCircuit is one circuit.
type StatusCircuit struct {
	ID      string   `json:"id"`
	Off     bool     `json:"off"`
	Feeds   int      `json:"feeds"`
	Learned []string `json:"learned,omitempty"`
}

// StatusConflict is one conflict that stands.
type StatusConflict struct {
	Key      string        `json:"key"`
	Kind     string        `json:"kind"`
	Subjects []string      `json:"subjects"`
	Events   []string      `json:"events"`
	Stands   string        `json:"stands"`
	Why      string        `json:"why"`
	Offers   []StatusOffer `json:"offers,omitempty"`
}

// StatusOffer is one way to resolve a conflict.
type StatusOffer struct {
	Stands string `json:"stands"`
	Words  string `json:"words"`
}

// StatusFault is one fault.
type StatusFault struct {
	ID       string `json:"id"`
	Event    string `json:"event"` // the entry that found it
	Subject  string `json:"subject"`
	Symptom  string `json:"symptom"`
	Severity string `json:"severity"`
	Open     bool   `json:"open"`
	Since    string `json:"since"`
	By       string `json:"by"`
	Owner    string `json:"owner,omitempty"`
	Trade    string `json:"trade,omitempty"`
}

// StatusHold is one hold.
type StatusHold struct {
	Subject string `json:"subject"`
	Why     string `json:"why"`
	Who     string `json:"who,omitempty"`
	Since   string `json:"since"`
	By      string `json:"by"`
}

// StatusAnomaly is an entry that makes no sense where it stands.
type StatusAnomaly struct {
	Event   string `json:"event"`
	Kind    string `json:"kind"`
	Subject string `json:"subject"`
	Why     string `json:"why"`
}

// MarshalJSON writes a mark as [seq,"hash"].
func (h Mark) MarshalJSON() ([]byte, error) { return marshalPair(h.Seq, h.Hash.String()) }

// Status is the facts of a moment.
func (m *Member) Status(moment projection.Moment) StatusAnswer { return StatusOf(m.At(moment)) }

// StatusOf writes a site's facts as a document.
func StatusOf(s *projection.Site) StatusAnswer {
	w := writer{s, s.Location()}
	a := StatusAnswer{
		V:             AnswerVersion,
		Site:          StatusSite{s.ID, s.Name, s.Zone},
		Practice:      s.Practice,
		Moment:        w.moment(),
		Heads:         map[events.FeedID]Mark{},
		Members:       listOf(s.Members, w.member),
		Hubs:          w.hubs(),
		Devices:       listOf(s.Devices, w.device),
		Circuits:      listOf(s.Circuits, w.circuit),
		Conflicts:     ConflictsOf(s),
		Faults:        w.faults(),
		Holds:         listOf(s.Holds, w.hold),
		Anomalies:     listOf(s.Anomalies, w.anomaly),
		Quarantined:   len(s.Quarantined),
		NotUnderstood: len(s.NotUnderstood),
		Entries:       s.Entries,
	}
	for feed, head := range s.Heads {
		a.Heads[feed] = Mark(head)
	}
	return a
}

// FoundOf writes the faults that were found, HoldsOf the holds and AnomaliesOf the
// entries that make no sense, each as in a [StatusAnswer].
func FoundOf(s *projection.Site) []StatusFault {
	return writer{s, s.Location()}.faults()
}

func HoldsOf(s *projection.Site) []StatusHold {
	return listOf(s.Holds, writer{s, s.Location()}.hold)
}

func AnomaliesOf(s *projection.Site) []StatusAnomaly {
	return listOf(s.Anomalies, writer{s, s.Location()}.anomaly)
}

// DeviceOf writes one device, and HubsOf the hubs.
func DeviceOf(s *projection.Site, d *projection.Device) StatusDevice {
	return writer{s, s.Location()}.device(d)
}

func HubsOf(s *projection.Site) []StatusHub {
	return writer{s, s.Location()}.hubs()
}

// ConflictsOf writes the conflicts that stand, by key.
func ConflictsOf(s *projection.Site) []StatusConflict { return ConflictsAnswer(AllConflicts(s)) }

// ConflictsAnswer writes conflicts in the order given.
func ConflictsAnswer(all []projection.Conflict) []StatusConflict {
	return listOf(all, func(c *projection.Conflict) StatusConflict {
		return StatusConflict{
			c.Key, string(c.Kind), texts(c.Subjects), texts(c.Events), c.Stands, c.Why,
			listOf(c.Offers, func(o *projection.Offer) StatusOffer { return StatusOffer(*o) }),
		}
	})
}

// writer turns facts into documents, with times in the site's zone.
type writer struct {
	*projection.Site
	zone *time.Location
}

func (w writer) time(at events.Instant) string {
	return at.Time().In(w.zone).Format("2006-01-02T15:04:05.000Z07:00")
}

func (w writer) timeOf(c *projection.Cause) string {
	if c == nil || c.IsZero() {
		return ""
	}
	return w.time(c.At)
}

func (w writer) by(c *projection.Cause) string {
	if c == nil || c.IsZero() {
		return ""
	}
	return w.DoneBy(c.Event)
}

func refOf(c *projection.Cause) string {
	if c == nil || c.IsZero() {
		return ""
	}
	return c.Ref().String()
}

func (w writer) moment() StatusMoment {
	out := StatusMoment{When: w.time(w.Moment.When.Value), Known: "everything"}
	if k := w.Moment.Known; !k.Everything() {
		out.Known = w.MemberName(k.Member)
		if k.At.Known {
			out.Known += " at " + w.time(k.At.Value)
		}
	}
	return out
}

func (w writer) member(m *projection.Member) StatusMember {
	return StatusMember{w.MemberName(m.Key), m.Key, string(m.Role), string(m.Standing), m.Why}
}

func (w writer) hubs() []StatusHub {
	listed, paired := map[events.HubID]int{}, w.PairedByHub()
	for i := range w.Devices {
		if d := &w.Devices[i]; d.Row != nil && d.Struck == nil {
			listed[d.Hub]++
		}
	}
	return listOf(w.Hubs, func(h *projection.Hub) StatusHub { return w.hub(h, listed[h.Hub], paired[h.Hub]) })
}

// hub writes one hub, with the devices that are paired to it.
func (w writer) hub(h *projection.Hub, listed int, paired []*projection.Device) StatusHub {
	a := StatusHub{
		ID: string(h.Hub), Ready: h.Ready != nil, Channel: map[string]int{}, Program: string(h.Program),
		Listed: listed, Paired: len(paired), Event: refOf(h.Ready),
	}
	switch {
	case h.Struck != nil:
		a.Why = "struck from the schedule"
	case h.Lost != nil:
		a.Why, a.Event = "lost: "+h.LostWhy, refOf(h.Lost)
	case h.Ready == nil:
		a.Why = "not logged ready yet"
	}
	for radio, ch := range h.Channels {
		a.Channel[string(radio)] = ch.Number
	}
	for _, d := range paired {
		if d.State == projection.Pushed {
			a.Pushed++
		}
	}
	for k := range h.Assigned {
		a.Assigned = append(a.Assigned, w.MemberName(k))
	}
	slices.Sort(a.Assigned)
	return a
}

func (w writer) device(d *projection.Device) StatusDevice {
	a := StatusDevice{
		Tag: string(d.Device), Hub: string(d.Hub), Kind: string(d.Is), Radio: string(d.Radio),
		Floor: string(d.Floor), Room: string(d.Room), Emergency: d.Emergency, How: howOf(d),
		State: string(d.State), Serial: string(d.Serial),
		Since: w.timeOf(d.Since), By: w.by(d.Since), Event: refOf(d.Since),
		Missed: d.Missed != nil, HeardAt: w.timeOf(d.Heard),
		Needs: texts(d.Needs), Flags: texts(d.Flags),
	}
	if d.Paired != nil {
		a.PairedAt, a.Hub = w.time(d.Paired.At), string(d.Paired.Hub)
	}
	if d.Pushed != nil {
		a.Pushed = string(d.Pushed.Program)
	}
	return a
}

// howOf is how a device is usually paired, "" for one that never pairs or whose
// kind nobody knows.
func howOf(d *projection.Device) string {
	if !d.Is.Pairs() {
		return ""
	}
	return string(d.Is.How())
}

func (w writer) circuit(c *projection.Circuit) StatusCircuit {
	return StatusCircuit{string(c.ID), c.Off != nil, len(c.Feeds), texts(c.Learned)}
}

func (w writer) faults() []StatusFault {
	out := make([]StatusFault, len(w.Faults))
	for i, f := range w.Faults {
		out[i] = w.fault(f)
	}
	return out
}

func (w writer) fault(f *projection.Fault) StatusFault {
	return StatusFault{
		ID: f.Found.Event.ID.String(), Event: refOf(&f.Found), Subject: f.Of.String(), Symptom: f.Symptom, Severity: string(f.Severity),
		Open: f.Open(), Since: w.timeOf(&f.Found), By: w.by(&f.Found), Owner: f.Owner, Trade: f.Trade,
	}
}

func (w writer) hold(h *projection.Hold) StatusHold {
	return StatusHold{h.Of.String(), h.Why, h.Who, w.timeOf(&h.Placed), w.by(&h.Placed)}
}

func (w writer) anomaly(a *projection.Anomaly) StatusAnomaly {
	return StatusAnomaly{a.Ref().String(), string(a.Event.Kind()), a.Subject.String(), a.Why}
}

// listOf turns every fact of a list into a document; the result is never null.
func listOf[F, D any](facts []F, write func(*F) D) []D {
	out := make([]D, len(facts))
	for i := range facts {
		out[i] = write(&facts[i])
	}
	return out
}

// texts writes names as plain strings; the result is never null.
func texts[T any](in []T) []string {
	out := make([]string, len(in))
	for i, v := range in {
		out[i] = textOf(v)
	}
	return out
}

// sortedKeys lists a map's keys in order.
func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
