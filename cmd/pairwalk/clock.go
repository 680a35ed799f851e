package main

import (
	"fmt"
	"time"

	"pairwalk/events"
)

// deviceStamp reads this device's clocks.
func deviceStamp() events.Stamp {
	now := time.Now()
	_, offset := now.Zone()
	return events.Stamp{
		Wall: events.Wall{At: events.InstantOf(now), Offset: int16(offset / 60)},
		Mono: bootClock(),
	}
}

// practiceBoot is the boot that a made-up instant counts from, so that its
// millisecond count follows the made-up time from one command to the next.
const practiceBoot = "practice"

var practiceEpoch = events.InstantOf(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))

// madeUpClock reads PAIRWALK_CLOCK: an RFC 3339 instant from which this process's
// clock runs, or an offset such as +3m or -90s from the real one. The
// forward-running clock follows: an offset moves it along within the real boot,
// and an instant has a boot of its own.
func madeUpClock(spec string, real func() events.Stamp) (func() events.Stamp, error) {
	clock, err := readClock(spec, real)
	if err == nil && clock().Wall.At < 0 {
		err = fmt.Errorf("PAIRWALK_CLOCK is %q, which is before 1970; entries can't be from then", spec)
	}
	return clock, err
}

func readClock(spec string, real func() events.Stamp) (func() events.Stamp, error) {
	if d, err := time.ParseDuration(spec); err == nil {
		return func() events.Stamp {
			s := real()
			s.Wall.At = s.Wall.At.Add(d)
			if s.Mono.Known() {
				s.Mono.Ms = max(0, s.Mono.Ms+d.Milliseconds())
			}
			return s
		}, nil
	}
	at, err := time.Parse(time.RFC3339, spec)
	if err != nil {
		return nil, fmt.Errorf("PAIRWALK_CLOCK is %q; it is a time like 2026-03-02T09:00:00Z or an offset like +3m", spec)
	}
	shift := events.InstantOf(at) - real().Wall.At // as a number: no time.Duration is longer than 292 years
	return func() events.Stamp {
		s := real()
		s.Wall.At += shift
		s.Mono = events.Mono{Boot: practiceBoot, Ms: max(0, int64(s.Wall.At-practiceEpoch))}
		return s
	}, nil
}
