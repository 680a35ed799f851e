package callback_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/callback"
	"pairwalk/projection/tale"
)

// building is a working site: hub H1, two rows of routers between it and room
// 3.12, each on a circuit of its own, so that everything has two ways home; all is
// paired, settled, merged, pushed, heard and signed for at 10:00.
//
//	H1 (0,0) C0 ── a1 (12,0) C1 ── b1 (24,0) C3 ── 3-1, 3-2, 3-3 in 3.12, on C5
//	          └─── a2 (12,6) C2 ── b2 (24,6) C4 ──┘
type building struct {
	*tale.Story
	*testing.T
	bo *tale.Teller
}

type layout struct {
	bare     bool // no places
	oneB     bool // b1 and b2 on one circuit
	noB2     bool // b2 is not there: 3.12 hangs on b1
	unheard  bool
	unsigned bool
}

func spot(x, y int64) events.Maybe[events.Point] {
	return events.Some(events.Point{X: x * 1000, Y: y * 1000, Z: 2700})
}

func (b *building) say(clock string, list ...events.Payload) *events.Event {
	var e *events.Event
	for _, p := range list {
		e = b.Lead.Say(clock, p)
	}
	return e
}

func (b *building) rows(l layout) []events.DeviceListed {
	lamp := func(t events.Tag, room events.RoomID, c events.CircuitID, p events.Maybe[events.Point]) events.DeviceListed {
		if l.bare {
			p = events.Maybe[events.Point]{}
		}
		return events.DeviceListed{Device: t, Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "3", Room: room, Circuit: c, Place: p}
	}
	rows := []events.DeviceListed{
		lamp("a1", "3.01", "C1", spot(12, 0)), lamp("a2", "3.02", "C2", spot(12, 6)),
		lamp("b1", "3.10", "C3", spot(24, 0)), lamp("b2", "3.11", "C4", spot(24, 6)),
		lamp("3-1", "3.12", "C5", spot(33, 2)), lamp("3-2", "3.12", "C5", spot(33, 4)), lamp("3-3", "3.12", "C5", spot(32, 3)),
		lamp("9-1", "9.01", "C9", spot(4, 4)),
	}
	rows[2].Circuit = "C3"
	if l.oneB {
		rows[3].Circuit = "C3"
	}
	if l.noB2 {
		rows = slices.Delete(rows, 3, 4)
	}
	control := events.DeviceListed{Device: "3-9", Is: events.WallControl, Hub: "H1", Radio: events.Mesh, Power: events.Battery, Floor: "3", Room: "3.12"}
	if !l.bare {
		control.Place = spot(32, 4)
	}
	return append(rows, control)
}

func build(t *testing.T, l layout) *building {
	b := &building{Story: tale.New(), T: t}
	b.bo = b.Join("bo", events.Tech)
	hub := events.HubListed{Hub: "H1", Circuit: "C0"}
	if !l.bare {
		hub.Place = spot(0, 0)
	}
	b.say("08:01", events.RoomListed{Room: "3.12", Floor: "3"}, hub, events.HubListed{Hub: "H2"})
	b.say("08:02", events.HubChannel{Hub: "H1", Radio: events.Mesh, Channel: 20}, events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"})
	rows := b.rows(l)
	for _, d := range rows {
		b.say("08:03", d)
	}
	for i, d := range rows {
		b.say("08:30", events.DevicePaired{Device: d.Device, Hub: "H1", Serial: events.Serial("SN-" + string(rune('a'+i)))})
	}
	b.home("09:10", "x1")
	b.say("09:30", events.PushDone{Hub: "H1", Program: "r1"})
	for _, d := range rows {
		if !l.unheard {
			b.say("09:40", events.DeviceHeard{Device: d.Device, Hub: "H1"})
		}
	}
	if !l.unsigned {
		b.say("10:00", events.WorkSigned{Of: events.Site(), Scope: "commissioned", Signer: "Ann", As: "commissioning lead"})
	}
	b.bo.Hear(b.Lead)
	return b
}

// home brings the records home.
func (b *building) home(clock, id string) {
	b.say(clock, events.RecordsExported{Export: id, Heads: tale.Cut(b.Lead, b.bo)}, events.RecordsMerged{Export: id})
}

// asks about a subject, with what is special about the question.
func (b *building) asks(about events.Subject, more ...func(*callback.Question)) callback.Explanation {
	q := callback.Question{About: about, Now: b.Now().Moment.When.Value}
	for _, m := range more {
		m(&q)
	}
	return callback.Explain(b.History(), q)
}

func symptom(s callback.Symptom) func(*callback.Question) {
	return func(q *callback.Question) { q.Symptom = s }
}

func kinds(e callback.Explanation) []callback.CauseKind {
	var out []callback.CauseKind
	for _, c := range e.Causes {
		out = append(out, c.Kind)
	}
	return out
}

// first is the likeliest cause, which must be of a kind.
func first(t *testing.T, e callback.Explanation, kind callback.CauseKind) callback.Cause {
	t.Helper()
	require.NotEmpty(t, e.Causes, e.Words)
	require.Equal(t, kind, e.Causes[0].Kind, "%v\n%s", kinds(e), e.Causes[0].Words)
	return e.Causes[0]
}

func evidenceOf(list []callback.Evidence) []events.Ref {
	var out []events.Ref
	for _, e := range list {
		out = append(out, e.Event)
	}
	return out
}
