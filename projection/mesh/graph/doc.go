// Package graph finds paths, dominators and islands in a network that has one
// root, relays that carry a path on, and leaves that only end one. It knows
// nothing of radio or lighting.
//
// # The cast
//
// A [Graph] is made once and never changes: links without direction, each with a
// width (the narrowest link of a path is the path's) and a cost (a path costs the
// sum). A [View] says which nodes are there at the moment, which of them relay, and
// how wide a link has to be to count. Every question is asked of a root and a
// view, and a [Scratch] lends the memory, so that asking often costs none.
//
//	Hops, Cheapest, Widest   a path for every node, as a Tree
//	Dominators               what every path of a node runs through
//	Strands                  who loses every path if one relay goes
//	StrandsWithout           who does if a whole group goes, such as a circuit
//	Disjoint                 which nodes have two paths with nothing in common
//	Islands                  the nodes without a path, by who is linked to whom
//
// # Laws
//
// Determinate: answers depend on the links, not on the order in which they were
// given; ties go as each function says. A node that is not up is on no path. A
// leaf is on no path but its own. The root is reached with no hop, if it is up.
//
// # How
//
// Nodes and links are numbers of 32 bits in slices; nothing in an inner loop looks
// anything up in a map, nor at a link that can change nothing: what a link costs
// lies beside its ends, and whether any is too narrow is known of the whole graph.
// What a group takes with it that goes is asked of one tree of paths, and only those
// whose path in it is gone are looked at again.
//
// Since links have no direction, dominators come from one
// search in depth with low points (Hopcroft and Tarjan 1973) in time that grows
// with the number of links: a node hangs on the head of the block by which it is
// first reached. A leaf hangs on the nearest node that all its relays hang on.
//
// [ETX] is the cost of a link in expected transmissions (De Couto, Aguayo, Bicket
// and Morris, MobiCom 2003).
package graph
