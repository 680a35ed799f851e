// Package checks says what a site still owes before it may be handed over: which
// functional tests, of what, against which limits, drawn by which sample, and what
// came of them; and its faults, each with its whole story. It is pure: a [Book] is
// a function of the facts of a moment.
//
//	Site ──▶ Of ──▶ Book ─┬─ Rooms: Tests, each with Limits, State and Results
//	 (facts)              ├─ Groups: sensors that are alike, and those drawn
//	                      └─ Signed: who put a name under what, and what was owed then (At)
//	Site ──▶ Faults ──▶ Troubles with their Steps and Photos
//
// # What is owed
//
// A room owes what somebody planned for it (test.planned; the last plan of a test
// stands), and what its schedule asks for where nobody planned that:
//
//	occupancy, vacancy   of occupant sensors, by the sample
//	daylight             where a daylight sensor is
//	manual               where a wall control is
//	egress               where a device is marked emergency, with the caution
//	answer               of each paired device: paired is not reachable
//
// A sensor is what its type says: vacancy where that has the word vacancy or
// absence, daylight where it has daylight or photocell, occupancy where it has
// occupancy, presence or motion; and occupancy where it has none of these. One that
// says both daylight and another owes both. Nothing is made up beyond that: where
// the schedule does not tell, the book says that it is not known, and how to plan
// it. Devices in no known room owe their tests themselves.
//
// # The sample
//
// By IECC C408.3.1.1 (as adopted) up to seven occupant sensors on a site are all
// tested; of more, at least ten percent and at least one of each sensor type and
// space geometry; and where thirty percent or more of those fail, all that are
// identical. The three numbers are the settings sample_all_up_to, sample_percent
// and sample_widen_percent. Alike are sensors of one test, maker, model, type text
// and geometry of their space. Where the schedule tells no type or no geometry,
// nothing shows that two are alike, and each is drawn.
//
// Laws of the draw:
//
//	Blind.   Each sensor's lot is a hash of site, group and its first tag, and the
//	         lowest lots are drawn: nobody can pick the easy ones.
//	Same.    Whoever knows the same schedule draws the same.
//	Steady.  One more sensor in a group brings in one at most and puts out one at
//	         most, and does not touch other groups. A new name is no new lot.
//	Strict.  Shares are rounded up. A failure counts wherever it was found, as if
//	         that sensor had been drawn, and for good, also where it was repeated
//	         with success or the unit was replaced; what passed outside the sample
//	         counts for nothing.
//
// # What counts as done
//
// The last result that counts is the state of a test. One of a device does not
// count any more once the device was paired, reset, replaced or pushed after it;
// one of a room, once any device in it was. A failed test is repeated until it
// passes, and the repeat names the failure. A check of a room covers all that the
// room owes of that test; a room also passes by checks of every device that the
// test is about. Where a room has several occupant sensors, those that are drawn
// want a check of their own, since one of the room does not tell which of them saw
// somebody. For answer, having been heard by the hub since it was paired will do.
// What was tested though nothing asked for it is listed too, and owed only where it
// failed and was not repeated with success.
//
// # Limits
//
// A limit has a name that ends in its unit. Where no plan says otherwise it is a
// setting of the site:
//
//	off_within_s        off_within_minutes   20 min   IECC C405.2.1.1
//	auto_on_percent     auto_on_percent      50 %     IECC C405.2.1.1
//	override_within_s   override_minutes     120 min  IECC C408.3.1.1
//	average_cfc         egress_average_cfc   1 fc     IBC 1008.3.5
//	minimum_cfc         egress_minimum_cfc   0.1 fc   IBC 1008.3.5
//	max_to_min          egress_max_to_min    40:1     IBC 1008.3.5
//
// Some older adoptions say 30 min for the first. 1 cfc is a hundredth of a
// foot-candle; 1 fc = 10.764 lx. The figures are from secondary texts and adopted
// codes; the code in force where the site is governs.
//
// [Doubts] reads numbers with units out of a reading and holds them against the
// limits, for a word with whoever says that it passed. It refuses nothing: what
// happened is recorded.
package checks
