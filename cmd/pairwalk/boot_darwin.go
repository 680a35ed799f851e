package main

import (
	"golang.org/x/sys/unix"

	"pairwalk/events"
)

// bootClock reads milliseconds since boot, counting sleep, and the boot's id.
// On this platform CLOCK_MONOTONIC goes on while the machine sleeps. It is
// absent where the kernel does not tell.
func bootClock() events.Mono {
	boot, err := unix.Sysctl("kern.bootsessionuuid")
	var ts unix.Timespec
	if err != nil || boot == "" || unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) != nil {
		return events.Mono{}
	}
	return events.Mono{Boot: boot, Ms: ts.Nano() / 1e6}
}
