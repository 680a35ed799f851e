// Package spectrum gives hubs channels so that neighbours disturb each other least.
// It is pure: the same facts give the same plan on every machine.
//
// There are two layers. The solver knows nothing of hubs and radios: [Least] shares
// out channels so that what is disturbed costs least, [Fewest] so that the fewest
// are needed. [For] makes the solver's [Problem] from a [projection.Site] and puts
// its answer into words.
//
// # The unit
//
// A system is a hub that speaks mesh with its mesh devices: those paired to it, else
// scheduled on it, and not struck. All of it is on one channel. Everything is
// counted in expected disturbed devices, in thousandths: a device (the hub is one
// too) is disturbed if it hears somebody else's signal above its own noise. So the
// amounts of Wi-Fi and of neighbours can be added, and a plan's cost is a number of
// devices that anybody can picture.
//
//	cost = Σ Wi-Fi on each system's channel + Σ what two systems on one channel do to each other
//
// # Two systems on one channel
//
// Of every member of one system (of 200, evenly picked, in a larger one) the chance
// is taken that it hears the member of the other that comes in strongest, and both
// ways are added up. One system's signals come from one side and through the same
// walls, so more of them are not taken to be more chances. The level is that of
// [radio.Predictor], by the distance and the slabs between, calibrated if the site's
// measured links support it; the noise is thermal noise and the noise figure. The
// middle of [radio.Estimate.Chance] is the chance, rounded to millionths at once.
// Two systems hear each other if any member of one is more likely to hear the other
// than not: that is what [Options].Apart keeps apart and [Plan].Fewest counts by.
//
// No geometry is invented. Members without a place count like the others of their
// system on average. Where a system has no place at all, it and every other that has
// members on the same level or the next, or of which no level is known, are taken to
// disturb each other alike: as one device, or, where other systems have places, as
// those do on average. That is told ([Assumed]).
//
// # Wi-Fi
//
// A survey says what was heard at a place. A device goes by the nearest place
// surveyed on its floor; one of which only the floor is known by all its places on
// average. A newer survey of a place replaces the older. An access point overlaps a
// channel if the centres are less than half its width and 1 MHz apart (IEEE
// 802.15.4-2020 and 802.11-2020 give the centres); which side a 40 MHz channel
// extends to is not surveyed, so either counts. In the 2 MHz of a mesh channel there
// is RSSI − 10·log10(W/2) of it, spread at the device as the model spreads links of
// one length. A device is disturbed if any overlapping access point is above its
// noise, each by itself. Where nothing was surveyed nothing is known, and told so.
//
// # Who may have which channel
//
// A hub with mesh devices paired keeps its channel, unless [Options].Move; if the
// log has none for it, it is taken to be on the usual one, and told. Others may
// have what allowed_channels lists. In North America channel 26 often needs reduced
// power (seen in a secondary text): it is planned only where nothing else is left.
// Among plans that cost the same the one with the fewest hubs off their present
// channel is taken (off usual_channel, for those that have none), and then low
// numbers for the first hubs. So a hub alone, or hubs that can't hear each other,
// get the usual channel unless Wi-Fi says otherwise. What a move costs in work is
// told in words ([Assignment].Moves), and weighs only among equals.
//
// # The proof
//
// A good assignment is found first, by threshold accepting and tabu search with
// fixed seeds. Then a branch and bound looks for a better one, and finding none is
// the proof ([Result].Exact). Its bounds are those of Russian doll search (hubs are
// taken in from the last one up, each stage bounding the next), of groups that all
// disturb each other, and of there being more hubs than free channels. Channels that
// are alike for every hub are tried once. The proof has a [Budget], counted in
// partial assignments and never in time. Beyond it the answer is the best that was
// found, LowerBound is what was proved so far, and Exact is false. It is also true
// where the cost is proved and only that no fewer hubs change is not. That no lower
// channel numbers do is never proved: they are lowered as far as moving single
// hubs, and exchanging two hubs or two channels, goes.
//
// Fewest bounds the span by groups that all keep apart: in the order of their
// channels the distances along the way are a path, no shorter than a least spanning
// tree.
//
// # What is not counted
//
// How busy anybody's air is: duty cycles, traffic, how long a survey listened. How
// far above the noise a signal is, once it is. Adjacent mesh channels: 5 MHz apart,
// a receiver's filter is taken to keep them out. Star radio. Listed walls between
// systems. Wi-Fi of 5 GHz, and radios that no survey knows of.
package spectrum
