package events

import "time"

// Instant is a moment in milliseconds since 1970-01-01 UTC, by some clock.
type Instant int64

// InstantOf rounds a time down to the millisecond.
func InstantOf(t time.Time) Instant { return Instant(t.UnixMilli()) }

// Time is the instant in UTC.
func (i Instant) Time() time.Time { return time.UnixMilli(int64(i)).UTC() }

// Add moves an instant by d.
func (i Instant) Add(d time.Duration) Instant { return i + Instant(d.Milliseconds()) }

// Sub is the time from o to i, at most what a Duration holds (292 years).
func (i Instant) Sub(o Instant) time.Duration { return i.Time().Sub(o.Time()) }

// String is RFC 3339 in UTC with milliseconds.
func (i Instant) String() string { return i.Time().Format("2006-01-02T15:04:05.000Z07:00") }

// Interval is a span of time [From, To], both ends in it.
type Interval struct{ From, To Instant }

// At is the interval of one instant.
func At(i Instant) Interval { return Interval{i, i} }

// Around is i ± tol.
func Around(i Instant, tol time.Duration) Interval { return Interval{i.Add(-tol), i.Add(tol)} }

// Middle is the point halfway, rounded down.
func (v Interval) Middle() Instant { return v.From + (v.To-v.From)/2 }

// Wall is what a device's own clock showed, right or wrong.
type Wall struct {
	At     Instant
	Offset int16 // minutes east of UTC, as the device was set
}

// Mono is a reading of a clock that only ever runs forward: milliseconds since
// the boot with this id, counting suspend. The zero value means the platform
// has none.
type Mono struct {
	Boot string
	Ms   int64
}

// Known says whether the platform has such a clock.
func (m Mono) Known() bool { return m.Boot != "" }

// Stamp is one look at both clocks of a device.
type Stamp struct {
	Wall Wall
	Mono Mono
}

// Base is wall minus mono: it stays the same, within a few milliseconds, until
// somebody or something sets the wall clock.
func (s Stamp) Base() int64 { return int64(s.Wall.At) - s.Mono.Ms }
