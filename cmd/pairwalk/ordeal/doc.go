// Package ordeal puts the real command through what a laptop in a basement goes
// through: it is killed, its disk is full, its power goes. It holds tests alone.
//
// # The ledger
//
// Every test keeps a ledger outside of the process it torments. An entry stands
// in it from the moment the command said so: its JSON document came through whole
// and it ended well, or the page answered with it. After each blow the site is
// opened anew, and
//
//   - every entry of the ledger is there, under its own number and as it was said;
//   - no number, of those that were ever seen, stands for another entry;
//   - verify, before anything is mended, finds nothing but a torn end that nobody
//     was told of, and nothing at all once the site was opened;
//   - work goes on.
//
// # The blows
//
//	kill_test.go       SIGKILL, at random moments: single commands, and a serving
//	                   process with its socket and its page
//	full_test.go       a tmpfs of a megabyte or two that runs full
//	power_*_test.go    a disk that forgets what was not synced (package powercut),
//	                   under a boot id that changes as after a real reboot
//
// How often is a flag: -kills and -cuts. Where a mount is not permitted a test
// says so and is skipped.
package ordeal
