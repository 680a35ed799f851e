//go:build !race

package simtest_test

// seeds is how many worlds a test lives through unless it is told.
const seeds = 2000

const raced = false
