package syncd

import (
	"encoding/json"
	"errors"
	"fmt"

	"pairwalk/events"
)

// Sample is one comparison of two clocks: theirs minus mine is Offset, within
// half of RoundTrip either way, in milliseconds (θ and δ of RFC 5905 §8).
type Sample struct {
	Mine, Theirs events.Reading
	Offset       int64
	RoundTrip    int64
}

type readingWire struct {
	Wall events.Instant `json:"wall"`
	Boot string         `json:"boot,omitempty"`
	Mono int64          `json:"mono,omitempty"`
}

type clockWire struct {
	V    int         `json:"v"`
	Got  readingWire `json:"got"`
	Sent readingWire `json:"sent"`
}

func readingOf(s events.Stamp) readingWire { return readingWire{s.Wall.At, s.Mono.Boot, s.Mono.Ms} }

// AnswerClock is the answer to somebody who compares clocks: this device's, read
// twice.
func AnswerClock(now func() events.Stamp) []byte {
	w := clockWire{V: Version, Got: readingOf(now())}
	w.Sent = readingOf(now())
	b, err := json.Marshal(w)
	if err != nil {
		panic("write clock: " + err.Error()) // strings and numbers always encode
	}
	return b
}

// truncation is how much wider a round trip may be than its readings, which are
// whole milliseconds, say.
const truncation = 2

// ErrStepped says that a clock was set while it was compared: try again.
var ErrStepped = errors.New("a clock was set during the comparison")

// CompareClocks works out what an answer says, of a question that left at t1 and
// was answered at t4 by this device's clocks: θ = ½[(T2−T1)+(T3−T4)] and
// δ = (T4−T1)−(T3−T2), RFC 5905 §8. It needs forward-running clocks on both
// sides, since only they show that no clock was set meanwhile.
func CompareClocks(t1 events.Stamp, answer []byte, t4 events.Stamp) (Sample, error) {
	var w clockWire
	if len(answer) > 1024 {
		return Sample{}, errors.New("read clock: too many bytes")
	}
	if err := json.Unmarshal(answer, &w); err != nil {
		return Sample{}, fmt.Errorf("read clock: %w", err)
	}
	if w.V != Version {
		return Sample{}, fmt.Errorf("read clock: version %d is not known here", w.V)
	}
	in := func(t int64) bool { return t >= 0 && t < maxSeq }
	for _, r := range []readingWire{w.Got, w.Sent} {
		if !in(int64(r.Wall)) || !in(r.Mono) || r.Boot == "" || events.CheckName(r.Boot) != nil {
			return Sample{}, errors.New("read clock: no reading of a clock")
		}
	}
	if !t1.Mono.Known() || t1.Mono.Boot != t4.Mono.Boot || w.Got.Boot != w.Sent.Boot {
		return Sample{}, errors.New("compare clocks: no forward-running clock on one side")
	}
	mine, theirs := t4.Mono.Ms-t1.Mono.Ms, w.Sent.Mono-w.Got.Mono
	if int64(t4.Wall.At-t1.Wall.At)-mine > truncation || mine-int64(t4.Wall.At-t1.Wall.At) > truncation ||
		int64(w.Sent.Wall-w.Got.Wall)-theirs > truncation || theirs-int64(w.Sent.Wall-w.Got.Wall) > truncation {
		return Sample{}, ErrStepped
	}
	if mine < theirs || theirs < 0 {
		return Sample{}, errors.New("compare clocks: the answer was longer in the making than on its way")
	}
	there, back := int64(w.Got.Wall-t1.Wall.At), int64(w.Sent.Wall-t4.Wall.At)
	trip := max(mine-theirs, there-back) // cut readings of the two clocks may differ
	return Sample{
		Mine:      events.Reading{Wall: t4.Wall.At, Mono: t4.Mono},
		Theirs:    events.Reading{Wall: w.Sent.Wall, Mono: events.Mono{Boot: w.Sent.Boot, Ms: w.Sent.Mono}},
		Offset:    (there + back) / 2,
		RoundTrip: trip + truncation + (there+back)&1, // a half was cut off too
	}, nil
}
