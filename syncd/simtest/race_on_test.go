//go:build race

package simtest_test

// seeds is how many worlds a test lives through unless it is told. The race
// detector makes signatures ten times as slow, and has nothing to find where one
// goroutine is at work: here it sees a sample.
const seeds = 60
