// Package radio predicts path loss and link success between two points. It knows
// nothing of events, devices or hubs, and stands on the standard library alone.
//
// There are only a few types in it. A [Model] is one row of a pinned edition of a
// recommendation and gives a loss in dB. A [Profile] is a radio as built and
// mounted, and knows the level it needs. [Between] is what lies between two
// antennas. A [Predictor] joins the three, with a [Fit] by the site's own
// measurements if there is one, and answers with an [Estimate]: never one figure,
// always a mean, how far that may be off, and how single links spread around it.
//
// # The models
//
//	ITU-R P.1238-10   L = 20 log f + N log d + Lf(n) − 28; f in MHz, d in m
//	ITU-R P.1238-13   L = 10·α·log d + β + 10·γ·log f; f in GHz; one floor only
//	ITU-R P.525       free space, and offices' Lf(n)
//
// An edition is part of a model's id: they differ by 6 dB at 10 m in an office.
// The tables were seen in secondary texts. Where one has a gap at a radio's
// frequency the row nearest in frequency stands in; where a recommendation has no
// floors or no shadowing, those of P.1238-10 for offices do. [Model.Caveats] says
// each of these, and over which distances the model was measured, and belongs
// beside what is shown.
//
// # Walls, and why none is counted twice
//
// N of P.1238 was measured in buildings, walls and furniture included: on average
// they are in it. To add the losses of listed walls to it would count them twice.
// But a wall of wet concrete loses more than the average knows. So, where walls
// are listed, the loss is the larger of
//
//	P.1238(d, floors)
//	P.525(d) + Lf(floors) + slabs
//
// the second being what the wave must lose if the listed walls were all there is.
// A plasterboard wall changes nothing, a lift shaft does. Where none is listed
// only the first counts: below free space it may be too, since a corridor guides
// a wave. With P.525 as the model the second is all there is.
//
// A slab by P.2040-3 has a range rather than a loss; [Slab] says how it is made.
// The loss may be anywhere in it, so its standard deviation is the width over √12.
//
// # Doubt and spread
//
// Spread is shadowing: where two links of one length differ, because of what is
// between them that nobody listed. It is the recommendation's σ, or the fit's.
//
// Doubt is how far the mean may be off on this site, on all links together. It is
// worked out from the covariance of four coefficients: an offset at 10 m (± 5 dB),
// the growth per decade of distance (± 4 dB), and factors of the losses of floors
// (± 0.3) and of listed walls (± 0.4). So it is least at 10 m and grows with
// distance and with every floor. These four are assumptions; beside them in the
// code stands what they come from. Calibration makes them smaller.
//
// # Calibration
//
// [Calibrate] fits the same four coefficients to measured links, by least squares
// of the links and of the coefficients' distance from the published ones at once
// (Bayesian ridge regression): a site with few measurements stays near the
// recommendation, one with many goes its own way. The covariance left over is the
// new doubt, at any distance and through any floors.
//
//   - A coefficient is fitted only if the links can tell it: growth with distance
//     if the longest is twice the shortest, floors and walls if three links or more
//     go through them and three do not. Else it stays as published, doubt and all,
//     and Fit.Refused says why. Under five usable links nothing is fitted.
//   - A growth under 10 dB per decade, or a factor under 0, is not believed: it is
//     held there, and told.
//   - The spread of the links around the fit is drawn towards the published σ as if
//     that were five links more.
//   - A packet delivery rate stands for the level at which packets of [ProbeOctets]
//     octets get through as often. A rate of 0 or 1 is only a bound and is left out.
//   - What was too weak to be heard is in no measurement. So a fit to links that
//     were only just heard is too kind; measure near ones too.
//
// # Packets
//
// [BER] and [PER] are those of the 2.4 GHz O-QPSK radio of IEEE 802.15.4. A link
// just holds where 1 % of packets of 20 octets are lost, which is how the standard
// defines sensitivity. For the sub-GHz BPSK radio only its required sensitivity is
// known here.
//
// LQI, the standard's link quality, is nowhere in this package: every make maps it
// to 0 … 255 as it likes (IEEE 802.15.4-2006 §6.9.8), so no margin follows from it,
// and one radio's can't be compared with another's.
//
// # Figures
//
// Lengths are metres, but a slab's is mm; frequencies MHz; losses dB. All are
// float64, and the last bit may differ between processors, since some multiply and
// add in one step and others round in between. Packages above round to whole
// centi-dB at once, so that all machines show the same, unless a value lies on the
// very edge between two: there a last bit may still tip it, by one centi-dB.
package radio
