// Package walk says what to do next, and in which order to walk a hub's devices.
//
// # The order
//
// Without places the walk goes as a technician would by the schedule: near the
// hub first, then outward (rule R3), so that there is always a path home when
// the push comes. Near means the hub's own floor, then the floors by their
// distance in levels, the lower of two first; on a floor the hub's own room
// first, then rooms and tags in natural order, 2-9 before 2-10. A device whose
// floor nobody knows comes last. No path is invented.
//
// # The next act
//
// [Next] ranks everything this log knows to be open, the first being the most
// useful now:
//
//	lift     a hold of my own
//	ask      a colleague, where nothing else keeps a push back
//	push     a hub that may go
//	ready    a hub with devices to pair
//	pair     the next device of the walk
//	…        serials to read, checks to do, faults to mend, conflicts to settle
//
// While a mesh hub settles, its star devices and other hubs come first: pairing
// another mesh device on it would begin the wait again (rules R8 and R9). Devices
// that were skipped or refused come after untouched ones, with their reason; held,
// dark and struck ones are not suggested, and kinds that never pair never are.
// Emergency devices come last and carry their caution.
package walk
