package events

import (
	"maps"
	"slices"
	"sync"
)

// codec reads and writes the body of one kind.
type codec struct {
	read   func(*walk) Payload
	write  func(*walk, Payload)
	record bool
	unread Payload // what stands for one that was passed over
}

// body ties a payload struct to the field list of its pointer.
type body[T Payload] interface {
	*T
	fields(*walk)
}

// field is the codec of a field fact: something that happened on site, folded
// at the point in time it happened.
func field[T Payload, P body[T]]() *codec { return kindOf[T, P](false) }

// record is the codec of a record: something said about the log itself, which
// applies whole, whatever moment is asked for.
func record[T Payload, P body[T]]() *codec { return kindOf[T, P](true) }

func kindOf[T Payload, P body[T]](record bool) *codec {
	var blank T
	drafts := sync.Pool{New: func() any { return P(new(T)) }}
	return &codec{
		unread: Unread{Of: blank.Kind()},
		read: func(w *walk) Payload {
			v := drafts.Get().(P)
			w.object(func() { v.fields(w) })
			p := *v
			*v = blank
			drafts.Put(v)
			return p
		},
		write: func(w *walk, p Payload) {
			v, ok := p.(T)
			if !ok { // an Opaque of this kind, or a pointer
				w.fail("payload is %T, not %T", p, v)
			}
			w.object(func() { P(&v).fields(w) })
		},
		record: record,
	}
}

// kinds is every kind of version 1. Kinds never change: a new shape is a new
// kind, and a new line here.
var kinds = map[Kind]*codec{
	"site.opened":       record[SiteOpened](),
	"settings.changed":  record[SettingsChanged](),
	"feed.started":      record[FeedStarted](),
	"member.joined":     record[MemberJoined](),
	"member.admitted":   record[MemberAdmitted](),
	"member.revoked":    record[MemberRevoked](),
	"clock.compared":    record[ClockCompared](),
	"conflict.resolved": record[ConflictResolved](),
	"event.voided":      record[EventVoided](),

	"hub.assigned":     field[HubAssigned](),
	"member.asked":     field[MemberAsked](),
	"floor.listed":     field[FloorListed](),
	"floor.struck":     field[FloorStruck](),
	"room.listed":      field[RoomListed](),
	"room.struck":      field[RoomStruck](),
	"hub.listed":       field[HubListed](),
	"hub.struck":       field[HubStruck](),
	"device.listed":    field[DeviceListed](),
	"device.struck":    field[DeviceStruck](),
	"wall.listed":      field[WallListed](),
	"wall.struck":      field[WallStruck](),
	"device.renamed":   field[DeviceRenamed](),
	"drawing.placed":   field[DrawingPlaced](),
	"device.placed":    field[DevicePlaced](),
	"wifi.surveyed":    field[WifiSurveyed](),
	"test.planned":     field[TestPlanned](),
	"hub.ready":        field[HubReady](),
	"hub.lost":         field[HubLost](),
	"hub.channel":      field[HubChannel](),
	"hub.loaded":       field[HubLoaded](),
	"device.fitted":    field[DeviceFitted](),
	"device.paired":    field[DevicePaired](),
	"device.refused":   field[DeviceRefused](),
	"device.skipped":   field[DeviceSkipped](),
	"device.unpaired":  field[DeviceUnpaired](),
	"device.replaced":  field[DeviceReplaced](),
	"device.heard":     field[DeviceHeard](),
	"link.measured":    field[LinkMeasured](),
	"power.off":        field[PowerOff](),
	"power.on":         field[PowerOn](),
	"hold.placed":      field[HoldPlaced](),
	"hold.lifted":      field[HoldLifted](),
	"records.exported": field[RecordsExported](),
	"records.merged":   field[RecordsMerged](),
	"push.done":        field[PushDone](),
	"push.failed":      field[PushFailed](),
	"fault.found":      field[FaultFound](),
	"fault.assigned":   field[FaultAssigned](),
	"fault.cleared":    field[FaultCleared](),
	"fault.reopened":   field[FaultReopened](),
	"check.done":       field[CheckDone](),
	"work.signed":      field[WorkSigned](),
	"note.added":       field[NoteAdded](),
	"photo.added":      field[PhotoAdded](),
}

// Kinds lists every kind that this version understands, sorted.
func Kinds() []Kind { return slices.Sorted(maps.Keys(kinds)) }

// IsRecord says whether events of this kind are about the log itself and apply
// whole, whatever moment is asked for; others are field facts with a time.
func (k Kind) IsRecord() bool {
	c, known := kinds[k]
	return known && c.record
}

// EncodeBody writes a payload in canonical form. It fails where the payload
// breaks a rule of shape, saying which field and why.
func EncodeBody(p Payload) ([]byte, error) {
	c, ok := kinds[p.Kind()]
	if !ok {
		return nil, errUnknownKind(p.Kind())
	}
	var w walk
	c.write(&w, p)
	if w.err != nil {
		return nil, w.err
	}
	return w.buf, nil
}

// DecodeBody reads what EncodeBody writes, and nothing else.
func DecodeBody(k Kind, b []byte) (Payload, error) {
	var x Lexicon
	return x.decodeBody(k, b)
}

func (x *Lexicon) decodeBody(k Kind, b []byte) (Payload, error) {
	c, ok := kinds[k]
	if !ok {
		return nil, errUnknownKind(k)
	}
	w := &x.body
	*w = walk{buf: b, reading: true, words: x}
	p := c.read(w)
	if w.err == nil && w.pos != len(b) {
		w.fail("%w: bytes after the end", errNotCanonical)
	}
	err := w.err
	*w = walk{}
	return p, err
}
