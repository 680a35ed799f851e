// Package checkup says whether one installation is well, and what to do about what
// is not. It reads nothing itself: whoever has the disk, the clocks and the log in
// reach hands in [Readings], and gets [Finding]s, in a fixed order.
//
// # What is looked at
//
//	disk     room, writing, what a sync costs, where the folder lies, who else may read it
//	clock    the wall clock against the boot clock, colleagues' clocks, the zone
//	keys     whether they can be read and fit, where the join stands, who else leads
//	journal  every line and signature, what is missing, forked, put aside; pictures
//	peers    who has been heard, what only this device holds, where others are met
//	mark     the two copies of what is known of the own feed
//
// What is the whole installation's comes first; then it is told of one site after
// the other.
//
// # A finding
//
// Its Kind stays the same in every version and language: programs branch on it. Its
// State is
//
//	well    nothing to do
//	look    nothing is broken, and somebody should know
//	wrong   something is lost, refused or about to be; do what it says
//
// Words is one sentence, Do what helps, and Run a command line where there is one.
// A finding whose kind is a fault of the journal ("journal.damaged") names every
// place. What could not be read is a finding too; nothing is passed over in silence.
//
// # The laws
//
// Looking changes nothing and repairs nothing: what the next opening will mend by
// itself is said (journal.mends), and was found by opening a copy in memory. What
// cannot honestly be known is not claimed: a folder may be kept in step with
// another place by a program that leaves no trace, and no finding says it is not.
// One look is one moment; while another process has the site open, what it is
// writing is not taken for damage, since only what two readings agree on is told.
package checkup
