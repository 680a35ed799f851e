// Package journal keeps the sealed events of one site in append-only files, and
// yields them back.
//
// # The files
//
// A site has a folder of its own; one more file lies outside of it:
//
//	feeds/<feed>.ndjson            a feed's main branch: line n is event n
//	feeds/<feed>~<hash8>.ndjson    a fork, from its first line, whose hash that is
//	feeds/….damaged-1, ….torn      bytes that were put aside, never read again
//	receipts                       check values, and when we first had what
//	mark                           what is known of the own feed apart from the feed
//	lock                           held by the one process that has the site open
//	<marks folder>/<site>          a copy of the mark, outside the site's folder
//
// Other files are left alone. A file is only ever appended to, or replaced whole
// by another that was synced under the name ….new first.
//
// # The lines
//
// A feed's lines are as they were sealed (package seal). Where no peer could
// supply an event, a hole stands in its place; its hash is what the next line
// says, or "" where that is missing as well:
//
//	{"hole":7,"hash":"<64 hex digits>"}
//
// The lines of receipts and mark end in the CRC-32C of what is before it:
//
//	{"log":"<feed>","from":1,"to":9,"crc":"…","wall":[ms,min],"boot":"…","mono":ms,"check":"…"}
//	{"log":"<feed>","from":1,"to":9,"crc":"…","own":true,"wall":[0,0],"check":"…"}
//	{"opened":true,"wall":[ms,min],"boot":"…","mono":ms,"check":"…"}
//	{"turn":4,"site":"…","feed":"…","boot":"…","clean":true,"seq":9,"hash":"…","check":"…"}
//
// A receipt covers a range of events: crc is the CRC-32C of their lines, and the
// clocks say when this installation first had them, or own that it said them
// itself. The last receipt for an event is the one in force. Receipts are never
// replicated. A mark may further say that its feed must be replaced, why, and
// after which event.
//
// # The laws
//
// Acknowledged is on disk. Append returns once the lines are synced, and the
// folder too where the file is new; Take once the receipts are as well. Nothing
// is shown to anybody before. Appends that wait share a sync.
//
// Checked once. A line's signature was checked as it came in. When the journal
// is opened, lines that fit their check value are believed; every other line is
// checked again. A check value finds accidents: it is no defence against who can
// write these files, and [Verify], which believes no check value, is.
//
// In its own place. A line stands where its own number says, whatever is before
// it. Damage stays where it is: its neighbours are read, and the line after a
// damaged one tells its hash. A line whose signature alone is damaged is proved
// by the next. What a power cut took out of the middle of own lines that were
// never vouched for becomes a hole at once: nobody else will have it.
//
// Never silent, never renumbered. Whatever is wrong is in Problems, with file,
// line and byte, before anything is mended. No number of the own feed is ever
// given to two events.
//
// A write that fails is the last. After it nothing is accepted, what is held can
// be read, and opening the site again checks everything and goes on. Bytes that
// a failed sync may have left in between are then written afresh. Room tries
// whether that would work. Where there is no room to open a site, Look reads it.
//
// # In memory
//
// A line that is on disk is not in memory: of each place is kept where its line
// stands in the file, its hash, and some bytes more. Who asks for lines has them
// read back, a stretch of the file at a time, and each is compared: its content
// with the hash, its signature with a print of it. So a disk that goes bad under an
// open journal gives an error with file and byte ([ErrChanged]), and never another
// line; opening the site again tells it as damage. Who passes lines on is lent their
// bytes, compared in the same way and not parsed again ([Journal.Copies]). A file may
// be replaced while somebody reads it, as by healing: a line that is not where it was
// is looked for where it is now. Files are opened by name for each stretch and stay
// closed in between: a relay has many sites.
//
// Opening reads every file once, some of its lines at a time, and two files side by
// side. Lines are parsed, hashed and summed on all processors, since each depends on
// itself alone. What they say is decoded in the same pass for who wants to know
// (Env.Hear; Env.Skim where bodies can wait), or else by [Events]. Of a line's bytes no
// more is kept. Where a file has to be mended it is read again, and what is not as it
// was read before is an error: nothing is written then.
// The check value of a range follows from those of its lines, so that a receipt for
// lines that are long on disk needs none of them read.
//
// # The own feed
//
// An installation appends to one feed. The danger is a number used twice: an
// event was acknowledged, went to a peer, was lost here, and its number is given
// to another. So the feed ends, and a new one must begin, wherever an event that
// was acknowledged may be lost:
//
//	torn      its end can't be read (the bytes go to ….torn)
//	restored  it is shorter than a mark or a receipt says, or than a peer holds
//	          it; or its folder was copied here, so that no copy of its mark is
//	          outside it, or an older one
//	diverged  it differs from the mark, or a peer holds another line at a place
//
// The one end that is cut without more ado is half a line that an unclean stop
// left in the same boot: a write that nobody was told was done. In a later boot
// it may be what a power cut left of a whole line, and the feed ends.
//
// The mark knows the boot, whether the journal was closed, and the highest event
// of the feed. It is written when the journal is opened, when a feed begins or
// ends, and at close; first outside, then inside, and turn counts the writings,
// so an inner copy that is newer betrays a copied folder.
//
// What the marks can't tell is a copy of the folder put back on the same device
// where the journal was opened only once since that copy was made, and ended
// without a close. The first peer that holds the feed longer tells it then.
//
// # Healing
//
// Take puts a line in the place of a damaged or missing one if its hash is what
// the next line says, or it follows the one before where that is all that is
// known. The feed is written whole to a fresh file, which is swapped in; the
// damaged one is kept aside. A healed event keeps its receipt.
//
// # Forks
//
// Two lines at one place are told apart by hash, so another signature of the
// same event is no fork. The branch that came first here is the main one. Each
// further branch is a strand of its own file that begins after its base, and may
// fork again.
//
// # The cast
//
// [Journal] is an open site, read and written by many goroutines, on two [FS]:
// [Dir] on disk, [Memory] in tests, [Within] for a folder of another, and on an
// [Overlay] to see what opening would do. Inside, a strand is one file: a feed or
// a fork, never changed once readers see it; a writer puts another in its place. A
// place is one number in it. A reading is a strand as its file shows it before any
// repair. A draft is what Take is about to change.
package journal
