// Package mesh says who can reach whom, through whom, and what breaks it, at a
// moment, from the facts of a [projection.Site] and nothing else. It is pure, and
// it never invents a path: of a bare list of tags, kinds and hubs the answer is
// unknown, in words, and everything else still works.
//
// # The ladder of knowledge
//
// Every rung is of use without the next one:
//
//	a device list     observation alone: who was heard, who took a push
//	floor and room    which slabs lie between two places
//	places            links are predicted
//	walls             listed walls count where they are crossed
//	measurements      a measured link stands instead of the predicted one; where
//	                  both its ends have places it also helps to calibrate
//
// # The cast
//
// [Survey] works out a [Ground]: what radio can do between the places of a site,
// whoever is paired. [Ground.Net] puts those on it who are on the air at the
// moment, or under a supposition ([What]), and gives a [Net], which answers for
// every device ([Reach]), for islands, single points of failure and the best
// place of one more relay. [Compare] tells what a supposition changes.
// [Ground.Model] names the recommendation, its edition and row, and the
// calibration; it belongs beside every answer, and [Ground.Notes] beside that.
//
// A Ground hangs on places, walls, measurements and settings, and not on who is
// paired or has power. So Ground.Mend makes that of another moment from the last:
// a hub's links are shared where none of its devices came, went or moved and no
// measurement came out otherwise, and else worked out anew for those alone. It is
// at every moment what Survey would have had, to the last bit. What was told of
// measurements is taken over where they and all nodes are the same. Only where a
// measurement changes the calibration, every prediction is another.
//
// A device hangs on the links of its own hub alone: who asks many moments for one
// device takes the ground of that hub (Ground.Of).
//
// So with a Net, as far as nothing is supposed: Net.Mend takes over the paths of a hub
// whose links are shared and which has the same devices on the air, and each answer
// where device, hub and day are as they were for all that it is told from.
//
// # Nodes
//
// A network per hub: the devices scheduled on it or paired to it. A device relays
// only for devices paired to the same hub. On the air are hubs that are not
// struck, not lost and not on a circuit that is off, and devices that are paired,
// not struck and not dark. A hub that is entered as lost and was seen to hear or
// push a device after that is back. Mesh devices on mains relay (routers); those
// on battery sleep, and may end a path but never carry one (leaves). Star devices
// are one hop from the hub, over a radio of their own, and nobody relays for
// them. A device of which no radio is known counts as mesh, as everywhere.
// With [What].Planned all scheduled devices that pair are taken to be paired and
// powered, and every hub to be there; what is struck is not.
//
// # Links
//
// A link is predicted only between two known places: by the model, the radios and
// the limits that the settings name, from the straight distance, the slabs and
// the walls between. Slabs are the floors from the lower level, not counting it,
// up to the higher. The level is that of the device's floor, else its room's,
// else the highest floor that is not above it. A floor that is not listed and
// named by a number (B1 is -1) lies at 3.5 m for each; where no floor is known at
// all a slab is taken for every 3.5 m of height. Walls count on their own floor,
// for links with both ends on it, where the straight line crosses them in plan.
// Whoever sits on a wall is not cut off by it.
//
// A measured link needs no places. Of each way the newest entry counts that has a
// level (RSSI) or a share delivered (PDR), and of two measured ways the worse. A
// level gives the margin; its doubt is measured_doubt_cdb when fresh, twice that
// at the age of measured_days, and grows on in a line; it is as old as at the last
// full hour (UTC), so that links stay what they are while people work. A share
// short of 99 % gives the margin by the error curve, if that is less than the level
// gives; the curve is too steep to tell more of a share above that than that the
// margin is not below 0, so the level or the prediction stands, raised to that. A
// star device heard by its hub with a level is a measured link too. LQI is kept and
// shown, and says nothing of the margin: its scale is the maker's own (IEEE
// 802.15.4).
//
// A link is sure if its mean margin is at least fade_margin_cdb, or if it was
// measured, within measured_days, to deliver at least 99 % both ways (or the one
// way that was measured). It is possible if the upper end of its margin's range
// is not below 0. Everything is rounded to centi-dB and millionths before
// anything is compared, so that every machine prints the same.
//
// # Answers
//
// The first that holds:
//
//	no       it has no power, or its hub is not on the air; Why says since when
//	yes      observed: heard, or took a push, within observed_days, it missed no
//	         push since, its hub did not change channel since without a push, and
//	         no router that may have carried it has gone since
//	yes      a path of sure links leads to the hub; unknown instead if it missed a
//	         push since it was last heard
//	unknown  a path of possible links does
//	no       none does, and its own place, the hub's, and for a mesh device those
//	         of all routers on the hub's network are known: nobody is left who
//	         might carry it
//	unknown  else; Why says what is missing
//
// A router has gone if it was on the hub's network and is struck, unpaired,
// paired elsewhere, without power, or supposed away. Any that went since may have
// carried the device, unless it still has its place on the network, all the routers
// that were there have places, and no chain of possible links leads from it to the
// device but by the hub. Whichever way it is answered, an observation is shown with
// its time, so that it is seen to age.
//
// The basis of an answer is observed, or what the links of its path are: measured
// if all are, else predicted; none where nothing is known. For a no by power or
// hub it is observed, from the entry that says so.
//
// # Paths
//
// The best path is that of the least expected transmissions, ETX = 1/(df·dr)
// summed over its links (De Couto et al., MobiCom 2003), over sure links, else
// over possible ones. Of a link whose share was measured df and dr are those; of
// any other df·dr is the middle of its chance, once, since what lies between is
// the same both ways. The margin of a path is that of its weakest link, its chance
// the product of theirs. An observed device may have a path drawn that is
// predicted; without places or measured links it has none, and no hops.
//
// # What breaks
//
// A single point is a device, or a circuit with all it feeds (as scheduled or
// learned from what went dark), without which others have no path of sure links
// left; the hub's own circuit takes everybody. Only answers of yes with such a
// path are judged: of a path that is known by observation alone, nobody knows
// what carries it. An island is a group of powered devices, linked surely among
// themselves, whose answer is not yes; it is sure if all their answers are no.
//
// # What is not modelled
//
// How busy the air is, and other radio (that is for the planner of channels).
// How far off a place is. Furniture, people, doors and lifts, but for what the
// model's averages hold. That a measured device was moved or replaced since.
// Which hop a mesh hub's RSSI of a device was. Limits on hops or on the number of
// neighbours, which differ by product.
//
// Where one hub has more than two million pairs of devices within reach of each
// other, each keeps its nearest links and a share of the others; [Ground.Notes]
// says so. [Net.BestRelay] tries a lattice of places, not all there are.
package mesh
