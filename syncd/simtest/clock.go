package simtest

import (
	"time"

	"pairwalk/events"
)

const million = 1_000_000

// boot is one start of a device: when its boot clock began, and how fast it runs.
type boot struct {
	id   string
	from events.Instant // true time at which it showed 0
	ppm  int64          // how much too fast, within ± 200
}

func (b boot) mono(now events.Instant) int64 {
	run := int64(now - b.from)
	return run + run*b.ppm/million
}

// when is the true time at which the boot clock showed ms, to within a
// millisecond or two.
func (b boot) when(ms int64) events.Instant {
	return b.from + events.Instant(ms*million/(million+b.ppm))
}

// clock is both clocks of a device.
type clock struct {
	boot
	base int64 // wall minus mono, until somebody sets the wall
}

// at is what the device shows at a true time.
func (c *clock) at(now events.Instant) events.Stamp {
	ms := c.mono(now)
	return events.Stamp{
		Wall: events.Wall{At: events.Instant(ms + c.base)},
		Mono: events.Mono{Boot: c.id, Ms: ms},
	}
}

// reach is the true time at which the wall clock will show an instant, if nobody
// sets it.
func (c *clock) reach(wall events.Instant) events.Instant { return c.when(int64(wall) - c.base) }

func (c *clock) set(by time.Duration) { c.base += by.Milliseconds() }

// reboot begins another boot; the wall clock goes on where it was.
func (c *clock) reboot(now events.Instant, id string, up time.Duration) {
	wall := c.at(now).Wall.At
	c.boot = boot{id: id, from: now.Add(-up), ppm: c.ppm}
	c.base = int64(wall) - c.mono(now)
}
