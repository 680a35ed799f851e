package walk

import (
	"math"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// pace is how long things take; all of it is settings.
type pace struct {
	pair          time.Duration
	pairOf        map[events.DeviceKind]time.Duration
	ready, settle time.Duration
	push, check   time.Duration
	stairs, room  time.Duration
	cmPerSecond   int64
}

func paceOf(s *projection.Site) pace {
	minutes := func(k events.SettingKey) time.Duration { return s.Settings.Span(k, time.Minute) }
	p := pace{
		pair: minutes(events.PairMinutes), pairOf: map[events.DeviceKind]time.Duration{},
		ready: minutes(events.ReadyMinutes), settle: minutes(events.SettleMinutes),
		push: minutes(events.PushMinutes), check: minutes(events.CheckMinutes),
		stairs: s.Settings.Span(events.StairsSeconds, time.Second), room: s.Settings.Span(events.RoomSeconds, time.Second),
		cmPerSecond: s.Settings.Int(events.WalkSpeed),
	}
	kinds, err := events.ParseMinutesOf(s.Settings.Value(events.PairMinutesOf))
	if err != nil {
		return p // a later version's words: the plain time serves
	}
	for k, n := range kinds {
		p.pairOf[k] = time.Duration(n) * time.Minute
	}
	return p
}

// toPair is how long it takes to pair a device once one stands there.
func (p pace) toPair(d *projection.Device) time.Duration {
	if t, ok := p.pairOf[d.Is]; ok {
		return t
	}
	return p.pair
}

// spot is where somebody or something is, as far as anybody knows.
type spot struct {
	level   int
	leveled bool // the level is known
	floor   events.FloorID
	room    events.RoomID
	at      events.Maybe[events.Point]
}

// walk is the way from one spot to another: the stairs between their levels, and
// on foot as the crow flies, or a fixed time to another room where places are not
// known.
func (p pace) walk(a, b spot) (time.Duration, int64) {
	if a == (spot{}) {
		return 0, 0 // they begin where their first stop is
	}
	var t time.Duration
	switch {
	case a.leveled && b.leveled:
		t = time.Duration(max(a.level-b.level, b.level-a.level)) * p.stairs
	case a.floor != b.floor:
		t = p.stairs
	}
	if !a.at.Known || !b.at.Known {
		if a.floor != b.floor || a.room != b.room {
			t += p.room
		}
		return t, 0
	}
	mm := apart(a.at.Value, b.at.Value)
	return t + time.Duration(mm*100/p.cmPerSecond)*time.Millisecond, mm
}

// apart is the distance in plan, in mm.
func apart(a, b events.Point) int64 {
	return int64(math.Round(math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y))))
}
