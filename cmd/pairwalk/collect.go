package main

import (
	"os"
	"runtime"
	"runtime/debug"
)

// collectLate lets the collector of garbage rest until there is enough for it to do.
// Most commands are over before that, and a collection of next to nothing costs them
// a fair part of their time. From the first one on it works as usual; whoever has set
// GOGC or GOMEMLIMIT knows better.
func collectLate() {
	const enough = 192 << 20
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	usual, limit := debug.SetGCPercent(-1), debug.SetMemoryLimit(enough)
	first := new([64]byte) // found to be garbage by the first collection
	runtime.AddCleanup(first, func(usual int) {
		debug.SetGCPercent(usual)
		debug.SetMemoryLimit(limit)
	}, usual)
}
