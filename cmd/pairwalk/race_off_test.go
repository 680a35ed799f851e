//go:build !race

package main

// underRace says whether the race detector slows everything down.
const underRace = false
