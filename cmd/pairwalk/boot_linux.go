package main

import (
	"os"
	"strings"

	"golang.org/x/sys/unix"

	"pairwalk/events"
)

// bootClock reads milliseconds since boot, counting suspend, and the boot's id.
// It is absent where the kernel does not tell.
func bootClock() events.Mono {
	id, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	boot := strings.TrimSpace(string(id))
	var ts unix.Timespec
	if err != nil || boot == "" || unix.ClockGettime(unix.CLOCK_BOOTTIME, &ts) != nil {
		return events.Mono{}
	}
	return events.Mono{Boot: boot, Ms: ts.Nano() / 1e6}
}
