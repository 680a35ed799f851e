// Package walk plans everybody's whole job, outward from the hubs, and says what
// is a member's next useful act and what is open on a floor that one is about to
// leave. The whole of it works on a bare list of tags, kinds and hubs; places,
// walls and measured links make it better.
//
// # The order (R3)
//
// Near the hub first, then outward, so that there is a path home when the push
// comes. Where nothing is known of places [Order] goes by the hub's own floor, then
// the other floors by their distance in levels, the lower of two first; on a floor
// the hub's own room, then rooms and tags in natural order, 2-9 before 2-10. A
// floor that is not listed has the level its name says if that is a number, B1
// being -1. One whose level nobody knows comes after those, and a device whose
// floor nobody knows comes last; Next says so.
//
// Where the ground knows links, [OrderOn] goes to the nearest device that has a
// sure link to the hub or to a router that was paired before it: so each has a
// path home when its turn comes. Routers that are paired already and have no path
// yet come home with the first router linked surely to one of them that does, and
// carry others from then on; so do those of a hub that is to be made ready again.
// Devices that did not work before come after the others, and last those that no
// order gives a sure path. Then the walk is
// shortened by moving and turning stretches of it (Or-opt, 2-opt), as long as that
// takes nobody's path. The way is the straight line in plan at walk_cm_s, and
// stairs_seconds for every level; room_seconds to another room where places are
// not known. All of these are settings (common practice, no source).
//
// # The whole job
//
// [Plan] plays the job through, from the present state: whoever is free first
// takes their next useful act, which is
//
//	push      a hub of theirs that has settled, its records home first (R7, R8)
//	pair      on their hubs in turn: the hub made ready first (R2), its mesh
//	          devices, then its star ones, which fill the wait (R9)
//	check     that every device of a pushed hub answers (R10)
//	wait      until a hub settles, or somebody else is through
//	help      where most is left to pair
//
// Members keep the hubs they are assigned to, and the rest goes, the longest first,
// to whoever has least to do. Where several work on one hub, each takes the nearest
// device that has a path by then; one without only once nobody is at work on what
// might give it one. It is a good plan and not proved the best one. One more pair
// of hands never costs time: a plan for fewer is taken if it is over as soon.
//
// Emergency devices are never in the plan, since they need the authority's word
// first; nor is what is held, dark, struck, or never pairs, nor the functional tests
// that come after. The notes say so, and of how many devices nobody knows whether
// they will have a path. Bringing records home and merging them is counted with no
// time, since that is up to the office.
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
//	check    what took its push: does it answer? (R10) What may well not comes
//	         first; then the functional tests that are owed, of which [checks]
//	         draws the sample
//	serial   to read from a label
//	pair     once more, what was skipped or refused, with the reason (R6)
//	mend     open faults
//
// After all of these, for every hub, come devices that need somebody else's word
// first: emergency ones, to pair, to check or to read, and tests of egress lighting,
// which carry their caution wherever they appear; holds of others, and power that is off. To wait comes last
// of all. Held, dark and struck devices are not suggested, and kinds that never
// pair never are.
//
// Where links are known, those devices come first that have a sure path now, the
// nearest to where the member was last seen to work before the others, and the
// reason says how far it is, what it joins through, and with which margin. One that
// would be an island for now says which device to pair first.
//
// Mesh devices that are left to pair come before the star ones although the hub is
// settling already: the wait runs from the last of them, and only then is there a
// wait to fill.
package walk
