package nearby

import "time"

// How often, how long and how much: none of these is a promise to other
// processes, and each may change alone.
const (
	every  = 30 * time.Second // between two rounds of asking, and two looks at the interfaces
	window = 2 * time.Second  // how long a round listens; answers take milliseconds

	mostLinks      = 16   // interfaces used; the oldest first, before those of virtual machines
	mostSaid       = 8    // addresses announced of one interface
	mostBytes      = 9000 // of a packet: RFC 6762 §17, with its headers
	mostPackets    = 1024 // read from one socket in a round
	mostARound     = 64   // addresses found in one round
	mostAltogether = 512  // different addresses found by one run of Look
)
