// Package walk says what to do next, in which order to walk a hub's devices, and
// what is open on a floor that one is about to leave. It knows no geometry; the
// whole of it works on a bare list of tags, kinds and hubs.
//
// # The order (R3)
//
// Near the hub first, then outward, so that there is a path home when the push
// comes: the hub's own floor, then the other floors by their distance in levels,
// the lower of two first; on a floor the hub's own room, then rooms and tags in
// natural order, 2-9 before 2-10. A floor that is not listed has the level its
// name says if that is a number, B1 being -1. One whose level nobody knows comes
// after those, and a device whose floor nobody knows comes last; [Next] says so.
//
// # The next act
//
// [Next] ranks what a member could do now, the most useful first. Hubs they are
// assigned to come before others; somebody assigned to none begins with hubs that
// nobody is assigned to. Among those the one they last worked on leads. Then:
//
//	lift     a hold of my own
//	ask      a colleague, if nothing else keeps the push back
//	resolve  a conflict of identity
//	ready    a hub, and a program that lists what is about to be paired (R2)
//	pair     the next device; mesh first, star ones fill the wait (R8, R9)
//	export, merge   once the walk on a hub is done (R7)
//	push     where settle says ready
//	check    what took its push: does it answer? (R10); then planned tests
//	serial   to read from a label
//	pair     once more, what was skipped or refused, with the reason (R6)
//	mend     open faults
//
// After all of these, for every hub, come devices that need somebody else's word
// first: emergency ones, to pair, to check or to read, which carry their caution
// wherever they appear; holds of others, and power that is off. To wait comes last of all. Held, dark and struck
// devices are not suggested, and kinds that never pair never are.
//
// Mesh devices that are left to pair come before the star ones although the hub
// is settling already: the wait runs from the last of them, and only then is
// there a wait to fill.
package walk
