// Package bundle carries a log in one file.
//
// A bundle holds every event that its maker had, and proves three things: that
// each event is authentic, that nothing in the file was touched, and that this
// maker held exactly these heads when it was made. The last lets a reader judge
// what a colleague had said by then.
//
// # The text
//
// A bundle is text in lines that end with a line feed, compressed:
//
//	{"pairwalk":"bundle","v":1,"site":"…","name":"…","practice":true,
//	 "maker":"<feed>","maker_name":"…","made":{"wall":[ms,offset_min],"mono":["boot",ms]},
//	 "heads":{"<feed>":[seq,"hash"],…}}                      the manifest, in one line
//	{"v":1,"site":"…","feed":"…","seq":1,…,"sig":"…"}        an event, exactly as it was sealed
//	{"hole":2,"feed":"…","hash":"…"}                         a line the maker lacks
//	{"v":1,"site":"…","feed":"…","seq":3,…,"sig":"…"}
//	{"lines":3,"sha256":"…","sig":"…"}                       the trailer
//
// The manifest is JSON with its keys in this order, maps sorted by their bytes,
// and "practice" and "mono" absent where false or unknown; strings are escaped as
// encoding/json does without its HTML escapes. It is read only in the one form in
// which it is written.
//
// Feeds follow in the order of their bytes, and the lines of each in the order of
// seq. Where a feed forked, its other branches come after its main one, sorted by
// the seq and hash of their first lines: each begins after some line above it in
// the same feed (or at seq 1) and runs on from there. The manifest names the last
// line of the main branch; those of the others are [Bundle.Forks].
//
// A hole stands where its line would. Its hash is the prev of the line after it,
// which proves it; the hash of a hole before another hole is "", since nothing in
// the file would prove it. No feed ends in a hole.
//
// The trailer counts the events and holes, has the SHA-256 of every byte before
// it, and the maker's Ed25519 signature over
//
//	pairwalk bundle v1\n<site>\n<lines>\n<sha256>\n
//
// # The file
//
// The text is one gzip member (RFC 1952), with no name and no time in its header.
// A second, empty member follows whose comment is "pairwalk " and the SHA-256 of
// the first member's bytes: a decompressor looks at neither its header nor the
// padding between its blocks, and no byte of a bundle may change unseen. Any gzip
// program unpacks the file into the text. The same log gives the same bytes.
//
// # An excerpt
//
// A handover pack holds a log as it was known at some moment, perhaps long ago. Its
// bundle is an excerpt: "made" is zero in it, {"wall":[0,0]}, so that the same
// entries give the same bytes whenever its maker seals them; and the maker says only
// that these entries are authentic and lead to these heads, not that there were no
// more. After "made" stands "pages":"<sha256>", a checksum of the rest of the pack,
// by which the maker seals that too. No other bundle has it.
//
// # Whole or not at all
//
// [Read] checks the whole file before it gives anything out. Each run of lines is
// opened as a peer's would be, by [seal.OpenRun]: its last line must be validly
// signed, and vouches for those before it. Text past [MaxText] and files past
// [MaxFile] are refused before they fill the memory.
//
// Whether the maker and the authors are members of the site is not asked here;
// that is a question for the log as a whole.
package bundle
