// Package invent makes up sites and histories of any size, for tests and
// benchmarks. Everything follows from a seed: the same seed gives the same bytes
// on every machine. Nothing in it is about a real place, person or product.
//
// # The building
//
// [Site] is one plain block: a basement and floors above it, each a grid of
// rooms with about eight devices. A room belongs to one hub and a supply
// circuit; the hubs share the rooms from the bottom to the top. Most devices
// speak mesh on mains; sensors run on batteries; every seventh room is on star
// radio. Stairs carry emergency fittings. [Works] is such a site as the files of
// testdata/works, and [Bare] the list of testdata/bare.
//
// # The history
//
// A [Job] is the log of a team on such a site. The first member opens the site
// as lead, lists the schedule and admits the others, who then commission their
// hubs from the near devices to the far ones (ready, load, fit, pair; some
// refuse, some are skipped), wait, export, merge, push and check, and go on to
// look after the building: faults, power cuts, replaced units, holds, second
// thoughts. Each has a clock that is wrong by up to three minutes and drifts,
// and hears of the others only when they meet; its seen heads say exactly what
// it had heard. A pairing may therefore be done twice by two who had not.
//
// Events come in the order of true time, which nobody in the log can see.
//
//	for line := range invent.History(1, 4, 10_000).Lines() { … } // signed
//	for e := range invent.History(1, 8, 1_000_000).Events() { … } // fake hashes, fast
package invent
