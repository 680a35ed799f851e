//go:build race

package simtest_test

// seeds is how many worlds a test lives through unless it is told. The race
// detector makes signatures ten times as slow, and has little to find: a world is
// one goroutine, and worlds share nothing. Here it sees a sample.
const seeds = 60

const raced = true
