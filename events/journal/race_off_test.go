//go:build !race

package journal_test

// stride is how far apart the offsets and the calls are that get damaged in
// turn: every one is.
const stride = 1
