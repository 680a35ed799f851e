// Package between tells what differs between two moments of a site, which entry did
// it, and who knew of that entry and since when. It is pure.
//
// # What differs
//
// [Changes] lays the facts of two moments side by side, each under its subject by
// today's name, and tells every one that is not the same: net differences, so
// what went and came back in between is none; [Passing] tells those. Both moments
// are told by what is known to whom they say, so what was logged late about a time
// before the first is no difference, unless somebody did not know it. Records
// apply to every moment; they are told by when they were made. A change names the
// entry that did it. Where the fact has an entry of its own that is new, it is the
// first that said so. Where it rests on an entry withdrawn since, it is the
// withdrawal. Elsewhere, as for a path lost because a circuit went off far away,
// it is found by asking in between: the last entry before which the fact was not
// yet as at the end, and after which it is. Where no entry did it, time did.
//
// Many moments in between may be asked, each for one fact. So the facts of a moment
// are worked out sort by sort and subject by subject, as they are asked for; what is
// told of an entry is, too; and the ground of one moment is mended from the last, for
// the hub alone whose device is asked about.
//
// # Who knew
//
// [Read] reads a log at a moment: every entry with its two times, when it happened
// and when it was recorded, and for each member the first of their own entries that
// had seen it. Whoever said nothing since may have heard of it all the same, and is
// said to be not known to have it.
package between
