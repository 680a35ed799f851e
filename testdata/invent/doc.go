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
// radio. Stairs carry emergency fittings. [Bare] is the list of testdata/bare.
//
// # The works
//
// [Works] is the site of the demo, as the files of testdata/works: the plain block
// of 480 devices, put into a house with a yard, a wing and a boiler house, so that
// radio has something to say there (plan.go has a drawing):
//
//   - Floors 2 and 4 have no coordinates: of most of their devices nobody knows.
//   - The boiler house below the yard is lined with steel. What is paired in it
//     is an island until the fitting in its gate (B1-148) and one at the mouth of
//     the passage (B1-134) are paired as well.
//   - The wing of floor 3 hangs on the corridor's circuit C4-7, and the boiler
//     house on the passage's, C1-5: devices on other circuits, with power, lose
//     their path when it goes off.
//   - Links were measured on the day before with test radios. By them the works
//     are a little kinder than the published average; one link is far worse,
//     since it runs through shelving that is on no plan.
//   - The usual channel 25 is quiet in the cellar only: above, a neighbour's Wi-Fi
//     on 13 covers it, and in the cellar another's wide channel covers the rest.
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
