//go:build !linux && !darwin && !windows

package main

import "pairwalk/events"

// bootClock is absent: no clock that counts suspend and names its boot is read
// on this platform yet, so waits are not proven by it.
func bootClock() events.Mono { return events.Mono{} }
