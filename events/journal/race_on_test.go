//go:build race

package journal_test

// stride is how far apart the offsets and the calls are that get damaged in
// turn. The race detector makes signatures ten times as slow, and has nothing to
// find where one goroutine is at work: here it sees a sample.
const stride = 11
