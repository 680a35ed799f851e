// Package album keeps the pictures that entries speak of, in files beside the
// journal, each named by the SHA-256 of its content.
//
// # The files
//
// They lie in one folder of the site's:
//
//	pictures/<sha256>          a picture, whole
//	pictures/<sha256>.part     the beginning of one that is on its way
//	pictures/<sha256>.damaged  what was read back otherwise than it was kept
//	pictures/<sha256>.new      a picture being written; swept away when found
//
// Other files are left alone.
//
// # The laws
//
// A name is a proof. Nothing stands under a picture's name but its content: it is
// compared before it is put there, and again whenever it is read. One that turns
// out to be another is put aside and counts as missing, so that it is fetched
// again; the next whole one takes its place.
//
// Whole or not at all. A picture is written to a fresh file, synced, renamed, and
// the folder synced; only then is it held.
//
// A part is only ever a claim. It is written as its pieces come and never synced:
// a crash of the process keeps it, a power cut may take its end, and the next
// piece is asked for from wherever it ends. It is read back whole, compared, and
// written afresh before it becomes a picture, so that what a torn or failed write
// left in it can't. A wrong one is thrown away ([ErrWrong]).
//
// Bounded. No picture has more than [events.MaxPicture] bytes, and no part grows
// past that. Up to recentMost bytes of pictures that others are just fetching stay
// in memory, so that a piece does not cost the reading of a whole.
//
// # The cast
//
// [Album] is the folder, for many goroutines; one call at a time is served.
package album
