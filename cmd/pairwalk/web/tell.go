package web

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/label"
	"pairwalk/syncd/member"
)

// act does something, and answers with a document.
type act func(w http.ResponseWriter, r *http.Request) (any, error)

// acts are what may be told, below /api/.
func (p *Page) acts() map[string]act {
	return map[string]act{
		"log": telling(p.log), "void": telling(p.void), "correct": telling(p.correct), "exchange": telling(p.swap),
		"resolve": telling(p.resolve), "asked": telling(p.asked), "set": telling(p.set),
		"assign": telling(p.assign), "admit": telling(p.admit), "revoke": telling(p.revoke), "invite": telling(p.invite),
		"import": p.importFile, "fieldsheet": telling(p.fieldSheet), "bundle": p.bundleIn, "merged": telling(p.merged),
		"picture": p.photo, "drawing": p.drawing, "call": telling(p.call), "hangup": telling(p.hangUp),
	}
}

// telling is an act that is told a document.
func telling[T any](do func(r *http.Request, said T) (any, error)) act {
	return func(w http.ResponseWriter, r *http.Request) (any, error) {
		var said T
		if err := read(w, r, &said); err != nil {
			return nil, err
		}
		return do(r, said)
	}
}

func (p *Page) act(a act) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		doc, err := a(w, r)
		p.tell(w, doc, err)
	}
}

// logged is what came of recording.
type logged struct {
	V          int                  `json:"v"`
	Entries    []member.EntryAnswer `json:"entries"`
	Flagged    []string             `json:"flagged"`
	NotCounted []string             `json:"not_counted"`
	Cautions   []string             `json:"cautions"`
	Again      bool                 `json:"again"` // it had been recorded before
}

// recorded runs what records entries, and tells what they brought with them.
func (p *Page) recorded(record func() ([]events.Event, error)) (any, error) {
	before := p.m.Now()
	evs, err := record()
	if err != nil {
		return nil, err
	}
	after := p.m.Now()
	marks := p.m.Marks(before, after, evs)
	return logged{
		V: member.AnswerVersion, Entries: member.EntriesOf(after, evs),
		Flagged: full(marks.Flagged), NotCounted: full(marks.Doubted), Cautions: full(marks.Cautions),
	}, nil
}

// recordedOne is recorded for a single entry.
func (p *Page) recordedOne(e func() (events.Event, error)) (any, error) {
	return p.recorded(func() ([]events.Event, error) {
		one, err := e()
		return []events.Event{one}, err
	})
}

// log records entries, all or none. The number that the page drew for them makes
// it safe to ask again.
func (p *Page) log(r *http.Request, said struct {
	Once    string `json:"once"`
	By      string `json:"by"`
	Entries []struct {
		Kind events.Kind     `json:"kind"`
		Body json.RawMessage `json:"body"`
		When string          `json:"when"`
	} `json:"entries"`
}) (any, error) {
	once, err := hex.DecodeString(said.Once)
	if err != nil || len(once) != len(member.Once{}) || member.Once(once) == (member.Once{}) {
		return nil, wrongf("once is 20 hex digits that were drawn, not %q", said.Once)
	}
	if len(said.Entries) == 0 {
		return nil, wrongf("there is no entry to record")
	}
	entries := make([]member.Entry, len(said.Entries))
	for i := range entries {
		entries[i] = member.Entry{By: said.By, Once: onceOf(once, i)}
	}
	if evs, ok := p.m.Repeated(entries...); ok { // before anything is judged by what is known now
		doc, err := p.recorded(func() ([]events.Event, error) { return evs, nil })
		if l, isLogged := doc.(logged); isLogged {
			l.Again = true
			return l, err
		}
		return doc, err
	}
	for i, x := range said.Entries {
		if entries[i].Payload, err = events.DecodeBody(x.Kind, x.Body); err != nil {
			return nil, wrongf("%s: %w", x.Kind, err)
		}
		if err := fieldAct(x.Kind); err != nil {
			return nil, err
		}
		if entries[i].When, err = p.when(x.When); err != nil {
			return nil, err
		}
	}
	payloads := make([]events.Payload, len(entries))
	for i := range entries {
		payloads[i] = entries[i].Payload
	}
	if err := p.m.Known(payloads...); err != nil {
		return nil, err
	}
	return p.recorded(func() ([]events.Event, error) { return p.m.Record(r.Context(), entries...) })
}

// fieldAct says whether a page may record a kind plainly. Records of the log itself
// have acts of their own, which look after what they need.
func fieldAct(k events.Kind) error {
	if k.IsRecord() {
		return wrongf("%s is not told like this", k)
	}
	return nil
}

// onceOf gives each of several entries a number of its own.
func onceOf(once []byte, i int) member.Once {
	if i == 0 {
		return member.Once(once)
	}
	sum := sha256.Sum256(binary.BigEndian.AppendUint32(append([]byte("pairwalk once v1\n"), once...), uint32(i)))
	return member.Once(sum[:10])
}

// when reads the time an entry tells of, "" for now.
func (p *Page) when(text string) (events.Maybe[events.Interval], error) {
	if text == "" {
		return events.Maybe[events.Interval]{}, nil
	}
	s := p.m.Now()
	when, err := intake.ParseWhen(text, p.o.Now().Wall.At.Time().In(s.Location()), s.Location(), s.Settings.Span(events.WhenTolerance, time.Minute))
	if err != nil {
		return events.Maybe[events.Interval]{}, wrong{err}
	}
	return events.Some(when), nil
}

func (p *Page) void(r *http.Request, said struct {
	Ref  string         `json:"ref"`
	Why  events.VoidWhy `json:"why"`
	Note string         `json:"note"`
}) (any, error) {
	e, err := p.m.Entry(said.Ref)
	if err != nil {
		return nil, err
	}
	return p.recordedOne(func() (events.Event, error) { return p.m.Void(r.Context(), e.Ref(), said.Why, said.Note) })
}

func (p *Page) correct(r *http.Request, said struct {
	Ref    string        `json:"ref"`
	Tag    events.Tag    `json:"tag"`
	Serial events.Serial `json:"serial"`
	Hub    events.HubID  `json:"hub"`
	Note   string        `json:"note"`
}) (any, error) {
	e, err := p.m.Entry(said.Ref)
	if err != nil {
		return nil, err
	}
	if err := p.m.Knows(events.Device(said.Tag), events.Hub(said.Hub)); err != nil {
		return nil, err
	}
	return p.recorded(func() ([]events.Event, error) {
		return p.m.Correct(r.Context(), e.Ref(), member.Correction{Tag: said.Tag, Serial: said.Serial, Hub: said.Hub, Note: said.Note})
	})
}

func (p *Page) swap(r *http.Request, said struct {
	A    events.Tag `json:"a"`
	B    events.Tag `json:"b"`
	Note string     `json:"note"`
}) (any, error) {
	return p.recorded(func() ([]events.Event, error) { return p.m.Exchange(r.Context(), said.A, said.B, said.Note) })
}

func (p *Page) resolve(r *http.Request, said struct {
	Key    string `json:"key"`
	Stands string `json:"stands"`
	Why    string `json:"why"`
}) (any, error) {
	return p.recordedOne(func() (events.Event, error) { return p.m.Resolve(r.Context(), said.Key, said.Stands, said.Why) })
}

// asked takes down what a colleague said by voice.
func (p *Page) asked(r *http.Request, said struct {
	Member string       `json:"member"`
	Hub    events.HubID `json:"hub"`
	Last   string       `json:"last"`
}) (any, error) {
	who, err := p.m.Person(said.Member)
	if err != nil {
		return nil, err
	}
	asked := events.MemberAsked{Member: who.Key, Hub: said.Hub, Through: p.o.Now().Wall.At}
	if said.Last != "none" {
		if said.Last == "" {
			return nil, wrongf("say when they last paired anything on it, or none")
		}
		if asked.Last, err = p.when(said.Last); err != nil {
			return nil, err
		}
	}
	return p.one(r.Context(), asked)
}

// one records an entry about what is known here.
func (p *Page) one(ctx context.Context, payload events.Payload) (any, error) {
	if err := p.m.Known(payload); err != nil {
		return nil, err
	}
	return p.recorded(func() ([]events.Event, error) { return p.m.Record(ctx, member.Entry{Payload: payload}) })
}

// label reads what a label says. Nothing is recorded, and what is secret goes no
// further than this.
func (p *Page) label(r *http.Request, said struct {
	Text string `json:"text"`
}) (any, error) {
	got, err := label.Read(said.Text)
	if err != nil {
		return nil, wrong{fmt.Errorf("read label: %w", err)}
	}
	return map[string]any{
		"v": member.AnswerVersion, "form": got.Form, "serial": got.Serial, "gtin": got.GTIN, "eui64": got.EUI64,
		"secret": got.Secret, "text": got.Text, "notes": full(got.Notes),
	}, nil
}
