// Package callback answers the call that comes months after handover: what in the
// log would explain a complaint, likeliest first ([Explain]). It is pure, and it
// reads the log alone: it can't see into a ceiling. What differs between any two
// moments is told by package between.
//
// # The answer
//
// A [Question] names devices (one, or all of a room, floor, circuit or hub), the
// time asked about, and the symptom if one is known. Facts are those at the end of
// that time, as known to whom the question says. A time is told with its day, unless
// that is the day of asking. The [Explanation] has
//
//	Head    what was logged since handover, the newest signature for the whole site
//	Ask     what to ask on the telephone first: what tells the causes apart
//	Causes  likeliest first, each with the entries for and against it
//	Left    devices that no cause explains
//	Notes   what was noted since on what is asked about
//	Words   the whole in a few sentences; Nothing says that no cause was found, and
//	        Open that none of them explains it: then what came and went is told too
//
// A [Cause] is never named without an entry in view that stands. Each [Judge] knows
// one sort of cause and looks at facts as they stand: what was put right since is
// no cause. Only the symptom intermittent asks for what came and went.
//
//	power         its own circuit or its own supply is off, says the log
//	hub-power     the circuit of its hub is
//	hub-lost      its hub was logged as lost, or was struck
//	path-circuit  a circuit went that feeds routers on its way home
//	path-router   a router on its way home went: dark, unpaired, replaced, struck, elsewhere
//	last-path     that took the last of several ways home
//	link          a link on its way home was measured weaker than before
//	channel       its hub changed channel, and no push followed
//	early-push    it was pushed before the settle time was over
//	not-merged    it was pushed before its pairing was in the design file
//	missed        it missed the last push, or refused or was skipped and never done
//	not-listed    the program on its hub does not list it
//	program       its hub holds a newer program than it took
//	push-failed   the last push to its hub came to nothing
//	replaced      another unit went in, and was not paired and pushed since
//	unpaired      it was reset or taken off its hub
//	struck        it was taken off the schedule
//	serial        it is not sure which unit sits there
//	other-hub     it is paired to another hub than the schedule says
//	not-pushed    it was paired and never took a push
//	not-paired    it is on the schedule, and was never paired
//	never-heard   its hub was never seen to hear it
//	check         a test of it or its room failed, and was never passed after
//	fault         a fault on it, its room, circuit, hub or floor is open: what somebody
//	              saw, and a cause only as far as it says what is wrong
//	hold          somebody holds it or its circuit
//	moved         it, or what is on its way home, was placed elsewhere, or walls came
//	cuts          its power, or its way home, came and went (intermittent alone)
//	single        it hangs on one device or circuit, and no entry says that this went
//	              (no answer, intermittent, or no symptom given)
//
// # Paths
//
// A cause on the way home is computed, not asserted: the log is folded again with
// the entries of the cause left out, and mesh judges reach on it. It is named if
// the way home is then better than it is now, if it got worse when that happened
// and is no better since, or if it would be worse without it where all else that
// went is put back. Where another path stands, it is named if that path is the
// poorer one, with that path as evidence against it: what is computed may be wrong.
// A way home that is known by having been heard alone names no router, so on a
// bare list no such cause is found: what went may have carried the device or not.
// Of departures from a hub's network, of weakened links, of cuts, and of moved
// places and walls the newest twelve are looked at.
//
// # Rank
//
// Integer weights, common practice, no source; the parts in their order of weight:
//
//	2000  times the share of the devices asked about that it concerns, of several
//	1000  times how well it explains the symptom: 3 well, 2 it may, 1 hardly, 0 not;
//	      a fault 1, and 2 if its trade or action says what is wrong
//	 500  the newest of its entries lies in the time asked about
//	 300  the log with it left out is better off
//	 200  the way home got worse when it happened
//	   5  times how directly an entry of this kind shows trouble, 0 to 90
//	 100  less one for each day that it lies before the end, down to 0
//	-800  for each entry against it, at most twice
//
// A single point comes after every cause that an entry shows to have happened.
// Equal weights go by the newer entry, then kind, then subject. Where no symptom is
// given, each kind counts as for the symptom it explains best.
//
// # Who knew
//
// Who acted after an entry without having heard of it is named in Acted: a push, a
// channel, a signature that looks careless was right by what they knew. It goes by
// what their entries say they had seen, never by a clock.
package callback
