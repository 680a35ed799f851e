package main

import (
	"strconv"

	"golang.org/x/sys/windows"
	"golang.org/x/sys/windows/registry"

	"pairwalk/events"
)

// bootCount is where the system counts its boots.
const bootCount = `SYSTEM\CurrentControlSet\Control\Session Manager\Memory Management\PrefetchParameters`

// bootClock reads milliseconds since boot, counting sleep, and the number of the
// boot. It is absent where the system does not tell.
func bootClock() events.Mono {
	key, err := registry.OpenKey(registry.LOCAL_MACHINE, bootCount, registry.QUERY_VALUE)
	if err != nil {
		return events.Mono{}
	}
	defer key.Close()
	boot, _, err := key.GetIntegerValue("BootId")
	if err != nil {
		return events.Mono{}
	}
	return events.Mono{Boot: "boot-" + strconv.FormatUint(boot, 10), Ms: windows.DurationSinceBoot().Milliseconds()}
}
