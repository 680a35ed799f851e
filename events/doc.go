// Package events says what can happen on a site, and fixes the one order in
// which everyone replays it. It is pure: no clock, no files, no goroutines.
//
// # The cast
//
// An [Event] is one thing said by one installation: an envelope (who, where in
// the feed, by which clocks, having seen what) around a [Payload]. The payloads
// are a closed union of small structs, one for each [Kind]; kinds.go holds the
// one literal table of them. A [Ref] names an event for good. An [HLC] is a
// hybrid logical clock; a [Rank] is the place of an event in the record order.
//
// # The line
//
// On disk and on the wire an event is one line of JSON, written once and never
// re-encoded:
//
//	{"v":1,"site":"…","feed":"…","seq":7,"prev":"…",
//	 "id":"<ULID>","hlc":[ms,n],"wall":[ms,offset_min],"mono":["boot",ms],
//	 "when":[from_ms,to_ms],"by":"…","seen":{"feed":[seq,"hash8"]},
//	 "kind":"device.paired","body":{…},"sig":"<88 characters>"}
//
// (one line, no spaces). The first five fields and the tail are fixed for every
// version; [ParseHeader] reads them and nothing else. The rest is written in one
// canonical form: keys in the order above, maps sorted by their bytes, integers
// below 2^53 and no floats, strings escaped as RFC 8785 §3.2.2.2 prescribes, and
// what may be left out absent rather than null, empty, 0 or false. Canonical form
// is not a check bolted on: one field list per struct (its fields method) both
// writes and reads, so a body that decodes is a body that encodes back to the
// same bytes.
//
//	site   base32 of the SHA-256 of the site's root key       (52 characters)
//	feed   base32 of the member's Ed25519 key "." 64 random bits (52+1+13)
//	prev   hex SHA-256 of the signed bytes of seq-1, "" for the first
//	id     a ULID, for people and for sorting; never trusted as a reference
//	hlc    the hybrid logical clock when the event was recorded
//	wall   this device's clock, right or wrong, and its offset from UTC
//	mono   milliseconds since the boot with that id, counting suspend
//	when   when it happened, if that was not now: an interval
//	by     who did it, if not the member who recorded it
//	seen   heads this member had taken in, as changes since its last event
//
// base32 is RFC 4648 in lower case without padding. hash8 is the first eight
// bytes of a hash, as sixteen hex digits. A reference is feed/seq/hash8.
//
// # What is not understood is kept
//
// A line with an unknown version or kind, or whose body is not in canonical
// form, decodes to an event with an [Opaque] payload. It keeps its place in the
// feed and is relayed and shown, and no projection folds it.
//
// Who needs to know of few things reads no more of field facts than that they were
// said ([Lexicon.Outline]): their payload is [Unread], with the body still to be had.
// No line is ever written from one.
//
// # Many lines
//
// Opening a log reads all its lines, and most of what a line says the one before
// it said as well. A [Lexicon] reads many: a text that was there before is kept
// in memory once, and the site, feed and boot of the line before are compared and
// not looked at again. It changes nothing in what a line means. Each goroutine
// that reads lines has its own.
//
// All events of a log stay in memory, so an event holds little that others hold as
// well: its [Origin] is that of all lines of its feed, and what few are told with
// stands apart ([Told]).
//
// # Record order
//
// Events replay in the order of (rank, feed, seq, hash), where
//
//	rank(e) = max(hlc(e), next(rank(prev)), next(rank(each seen head)))
//
// so that causality wins over any clock, however wrong. [Ranks] computes it.
//
// # Where a new kind goes
//
// Write the struct beside its family (device.go, hub.go, …) with its Kind,
// Subjects, String and fields methods; give it a line in the table of kinds.go;
// run the tests with -update to freeze its wire vector. Kinds never change: a
// new shape is a new kind.
package events
