package events_test

import (
	"fmt"
	"reflect"

	"github.com/oklog/ulid/v2"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// A generator of every payload, by reflection: it knows what the types of
// fields mean, not how they are written, so it can't share a mistake with the
// codec.

// names are short texts that try what a writer of JSON gets wrong.
var names = rapid.OneOf(
	rapid.SampledFrom([]string{"2-114", "H2", "é", "e\u0301", "\"", "\\", "\\n", "</script>", "a&b", "a\u2028b", "\ufffd", "😀", "null", "0", ",\"sig\":\""}),
	rapid.StringMatching(`[A-Za-z0-9"\\/<>&'éß漢😀:{}\[\],._-]{1,30}`),
)

var lines = rapid.OneOf(names, rapid.StringMatching(` [a-z\\" ]{1,300} `))

var remarks = rapid.OneOf(lines, rapid.StringMatching(`[a-z\n\t"\\]{1,200}`))

var (
	keys = rapid.Map(rapid.SliceOfN(rapid.Byte(), 32, 32), func(b []byte) events.Key { return events.KeyOf(b) })

	feeds = rapid.Custom(func(t *rapid.T) events.FeedID {
		return events.NewFeedID(keys.Draw(t, "key"), [8]byte(rapid.SliceOfN(rapid.Byte(), 8, 8).Draw(t, "random")))
	})

	hashes = rapid.Map(rapid.Uint64(), func(n uint64) events.Hash { return events.HashOf(fmt.Append(nil, n)) })

	seqs     = rapid.Map(rapid.Uint64Range(1, 1<<53-1), func(n uint64) events.Seq { return events.Seq(n) })
	instants = rapid.Map(rapid.Int64Range(0, 1<<53-1), func(n int64) events.Instant { return events.Instant(n) })

	refs = rapid.Custom(func(t *rapid.T) events.Ref {
		return events.Ref{Feed: feeds.Draw(t, "feed"), Seq: seqs.Draw(t, "seq"), Hash: hashes.Draw(t, "hash").Short()}
	})

	intervals = rapid.Custom(func(t *rapid.T) events.Interval {
		a := rapid.Int64Range(-1<<53+1, 1<<53-1).Draw(t, "a")
		b := rapid.Int64Range(-1<<53+1, 1<<53-1).Draw(t, "b")
		return events.Interval{From: events.Instant(min(a, b)), To: events.Instant(max(a, b))}
	})

	signatures = rapid.Map(rapid.Uint64(), func(n uint64) events.Signature { return events.Sign(benKey, fmt.Append(nil, n)) })

	subjects = rapid.Custom(func(t *rapid.T) events.Subject {
		class := rapid.SampledFrom([]events.Class{
			events.OfSite, events.OfMember, events.OfHub, events.OfDevice, events.OfCircuit, events.OfRoom, events.OfFloor, events.OfWall,
		}).Draw(t, "class")
		return events.Subject{Class: class, ID: names.Draw(t, "id")}
	})
)

// byType draws a value of a type that always means the same.
var byType = map[reflect.Type]func(*rapid.T) any{
	typeOf[events.Key]():        as(keys),
	typeOf[events.FeedID]():     as(feeds),
	typeOf[events.Hash]():       as(hashes),
	typeOf[events.Seq]():        as(seqs),
	typeOf[events.Instant]():    as(instants),
	typeOf[events.Ref]():        as(refs),
	typeOf[events.Interval]():   as(intervals),
	typeOf[events.Signature]():  as(signatures),
	typeOf[events.Subject]():    as(subjects),
	typeOf[events.DeviceKind](): as(rapid.SampledFrom(events.DeviceKinds)),
	typeOf[events.Radio]():      as(rapid.SampledFrom(events.Radios)),
	typeOf[events.Power]():      as(rapid.SampledFrom(events.Powers)),
	typeOf[events.How]():        as(rapid.SampledFrom(events.Hows)),
	typeOf[events.Source]():     as(rapid.SampledFrom(events.Sources)),
	typeOf[events.RefusedWhy](): as(rapid.SampledFrom(events.RefusedWhys)),
	typeOf[events.SkippedWhy](): as(rapid.SampledFrom(events.SkippedWhys)),
	typeOf[events.VoidWhy]():    as(rapid.SampledFrom(events.VoidWhys)),
	typeOf[events.Role]():       as(rapid.SampledFrom(events.Roles)),
	typeOf[events.StartWhy]():   as(rapid.SampledFrom(events.StartWhys)),
	typeOf[events.Severity]():   as(rapid.SampledFrom(events.Severities)),
	typeOf[events.TestKind]():   as(rapid.SampledFrom(events.TestKinds)),
}

// byField draws a value where the name of the field says more than its type.
var byField = map[string]func(*rapid.T) any{
	"SHA256":         as(rapid.Map(hashes, events.Hash.String)),
	"WarrantyStart":  as(rapid.SampledFrom([]string{"2026-03-31", "2024-02-29", "0001-01-01", "9999-12-31"})),
	"WarrantyMonths": as(rapid.IntRange(1, 1200)),
	"Note":           as(remarks), "Text": as(remarks), "Symptom": as(remarks), "Action": as(remarks),
	"Caption": as(lines), "Contact": as(lines), "Reading": as(lines), "Limit": as(lines), "Who": as(lines),
	"Level":     as(rapid.IntRange(-99, 999)),
	"Channel":   as(rapid.IntRange(1, 233)),
	"Width":     as(rapid.IntRange(1, 320)),
	"RSSI":      as(rapid.IntRange(-174, 80)),
	"LQI":       as(rapid.IntRange(0, 255)),
	"PDR":       as(rapid.Int64Range(0, 1_000_000)),
	"Thickness": as(rapid.Int64Range(1, 10_000)),
	"Turn":      as(rapid.Int64Range(-360_000, 360_000)),
	"Ms":        as(rapid.Int64Range(0, 1<<53-1)),
	"Offset":    as(rapid.Int64Range(-1<<53+1, 1<<53-1)),
	"RoundTrip": as(rapid.Int64Range(0, 1<<53-1)),
	"Bytes":     as(rapid.Int64Range(1, 1<<53-1)),
}

func typeOf[T any]() reflect.Type { return reflect.TypeFor[T]() }

func as[T any](g *rapid.Generator[T]) func(*rapid.T) any {
	return func(t *rapid.T) any { return g.Draw(t, fmt.Sprintf("%T", *new(T))) }
}

// mayBeEmpty lists the fields that a payload of this kind need not have.
func (v vector) mayBeEmpty() map[string]bool {
	found := map[string]bool{}
	s := reflect.ValueOf(v.minimal)
	for i := range s.NumField() {
		if f := s.Field(i); f.IsZero() || f.Kind() == reflect.Map && f.Len() == 0 {
			found[s.Type().Field(i).Name] = true
		}
	}
	return found
}

var models = vectors()

// payloadOf draws what a kind may say.
func payloadOf(model vector) *rapid.Generator[events.Payload] {
	may := model.mayBeEmpty()
	return rapid.Custom(func(t *rapid.T) events.Payload {
		v := reflect.New(reflect.TypeOf(model.full)).Elem()
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if !f.IsExported() || may[f.Name] && rapid.Bool().Draw(t, f.Name+" left out") {
				continue
			}
			draw(t, f.Name, v.Field(i))
		}
		return sensible(v.Interface().(events.Payload))
	})
}

// payloads draws what any kind may say.
var payloads = rapid.Custom(func(t *rapid.T) events.Payload {
	return payloadOf(rapid.SampledFrom(models).Draw(t, "kind")).Draw(t, "payload")
})

// draw fills v, a field of that name.
func draw(t *rapid.T, name string, v reflect.Value) {
	if make, ok := byType[v.Type()]; ok {
		v.Set(reflect.ValueOf(make(t)))
		return
	}
	if make, ok := byField[name]; ok && v.Kind() != reflect.Struct {
		v.Set(reflect.ValueOf(make(t)).Convert(v.Type()))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(names.Draw(t, name))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, name))
	case reflect.Int, reflect.Int16, reflect.Int64:
		v.SetInt(rapid.Int64Range(1, 1_000_000_000).Draw(t, name))
	case reflect.Slice:
		for range rapid.IntRange(2, 6).Draw(t, name+" many") {
			v.Set(reflect.Append(v, drawn(t, name, v.Type().Elem())))
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for range rapid.IntRange(1, 6).Draw(t, name+" many") {
			v.SetMapIndex(drawn(t, name, v.Type().Key()), drawn(t, name, v.Type().Elem()))
		}
	case reflect.Struct:
		if known := v.FieldByName("Known"); known.IsValid() { // a Maybe
			known.SetBool(true)
			draw(t, name, v.FieldByName("Value"))
			return
		}
		for i := range v.NumField() {
			part := v.Field(i)
			if maybe := part.Kind() == reflect.Struct && part.NumField() == 2 && part.Type().Field(1).Name == "Known"; maybe && rapid.Bool().Draw(t, "left out") {
				continue
			}
			draw(t, v.Type().Field(i).Name, part)
		}
	default:
		t.Fatalf("no way to draw %s of type %s", name, v.Type())
	}
}

func drawn(t *rapid.T, name string, of reflect.Type) reflect.Value {
	v := reflect.New(of).Elem()
	draw(t, name, v)
	return v
}

// sensible mends what a random payload may contradict itself in.
func sensible(p events.Payload) events.Payload {
	switch p := p.(type) {
	case events.HubLoaded:
		p.All = p.All && len(p.Lists) == 0
		return p
	case events.DeviceRenamed:
		p.To += "'"
		return p
	case events.DeviceReplaced:
		p.New = p.Old + "'"
		return p
	case events.LinkMeasured:
		p.B = p.A + "'"
		p.LQI = events.Some(17)
		return p
	case events.PowerOff:
		p.Of.Class = events.OfCircuit
		return p
	case events.PowerOn:
		p.Of.Class = events.OfDevice
		return p
	case events.FaultAssigned:
		p.Owner = "Dee"
		return p
	case events.RecordsExported:
		if p.Heads == nil {
			p.Heads = map[events.FeedID]events.Head{}
		}
		return p
	case events.MemberRevoked:
		if p.Heads == nil {
			p.Heads = map[events.FeedID]events.Head{}
		}
		return p
	}
	return p
}

// spoken draws a whole event.
var spoken = rapid.Custom(func(t *rapid.T) *events.Event {
	e := &events.Event{
		Header:  events.NextHeader(events.SiteID(keys.Draw(t, "site")), feeds.Draw(t, "feed"), events.Head{}),
		HLC:     events.HLC{L: instants.Draw(t, "l"), C: rapid.Int64Range(0, 1<<53-1).Draw(t, "c")},
		Wall:    events.Wall{At: instants.Draw(t, "wall"), Offset: rapid.Int16Range(-1440, 1440).Draw(t, "offset")},
		Payload: payloads.Draw(t, "payload"),
	}
	copy(e.ID[:], rapid.SliceOfN(rapid.Byte(), len(ulid.ULID{}), len(ulid.ULID{})).Draw(t, "id"))
	if rapid.Bool().Draw(t, "later") {
		e.Seq, e.Prev = max(2, seqs.Draw(t, "seq")), hashes.Draw(t, "prev")
	}
	if rapid.Bool().Draw(t, "has mono") {
		e.Mono = events.Mono{Boot: names.Draw(t, "boot"), Ms: rapid.Int64Range(0, 1<<53-1).Draw(t, "ms")}
	}
	if rapid.Bool().Draw(t, "has when") {
		e.Told = events.NewTold(events.Some(intervals.Draw(t, "when")), "")
	}
	if rapid.Bool().Draw(t, "has doer") {
		e.Told = events.NewTold(e.When(), names.Draw(t, "by"))
	}
	e.Seen = sortedRefs(rapid.SliceOfNDistinct(refs, 0, 4, func(r events.Ref) events.FeedID { return r.Feed }).Draw(t, "seen"))
	return e
})
