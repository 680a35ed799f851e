// Package seal signs events, and opens them by the exact bytes that were signed.
//
// # The law of the bytes
//
// A sealed line is the signed bytes (everything that [events.Event.Encode]
// writes), then a tail of fixed length:
//
//	,"sig":"<88 characters of strict base64>"}
//
// The signature is Ed25519 over "pairwalk event v1\n" and the signed bytes. The
// hash of an event is SHA-256 of the signed bytes alone: a signature has more
// than one valid encoding, so a hash over it would let a relay forge a fork.
// Lines are never re-encoded; what was signed is what is stored and passed on.
//
// # The door
//
// Lines from outside come in through [Open] and [OpenRun]. They look at the
// header, the tail, the size and the chain, and at nothing else: a kind that is
// not known here and a body that makes no sense pass. A line is authentic if it
// is validly signed, or if a later line that chains to it is.
//
// Only this package makes a [Verified], and a journal takes nothing else.
package seal
