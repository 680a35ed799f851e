// Package syncd is the exchange of logs between members, as a state machine:
// haves in, pulls out. It knows no network, no clock and no files.
//
// # How two logs become one
//
// Each side says what it has, asks for what it lacks, checks what it gets and
// keeps it; then its own have has grown. Nobody pushes. What was asked can be
// asked again, of the same member or of another, from any event on; so an
// exchange may break off anywhere, and entries reach those who never meet their
// author.
//
// Messages are bytes, whatever carries them: a bus, a simulator, a browser.
//
//	have   {"v":1,"tips":{"<feed>":[[seq,"hash8"],…],…},"holes":{"<feed>":[seq,…],…}}
//	pull   {"v":1,"feed":"…","tip":[seq,"hash8"],"from":7,"to":0,"prev":"<hash8>","max":262144}
//	reply  {"v":1,"feed":"…","is":"lines"}, then sealed lines, each after a line feed
//	clock  {"v":1,"got":{"wall":ms,"mono":["boot",ms]},"sent":{…}}
//
// A have names the newest line of every branch of every feed (a feed has more
// than one branch only where its author signed two lines for one place), and the
// places below them whose line is missing. A pull asks for the lines that lead
// to such a tip, and past it if there are more, from a number on; prev is the
// hash of the line before, so that the other can tell whether it is the same
// branch. A reply is "lines", "diverged" (the line before is another one here),
// "unknown" (no such tip here) or "refused" (not a pull). A number left out among
// the lines is a hole in the other's log too; the next line proves its hash. Holes
// are mended from the branch they are on, in stretches that begin or end next to a
// line known here.
//
// # Laws
//
// Only lines that package seal opened leave a reply. An unknown feed is looked
// into first: its first few lines must hold a join that is proven back to the
// site's root. Feeds of strangers are counted, not kept, and not passed on.
//
// A peer may lie, stall and send garbage: what it says of itself is never
// believed, only looked into, and what it costs is bounded. It gets at most
// [MaxInFlight] requests at a time, which ask for at most [MaxReply] bytes
// together, one for each feed. A feed is asked of one peer at a time. A peer at
// fault is complained of, and passed over for the next 1, 3, 7, … of its haves;
// one that makes good is a peer like any other.
//
// Nothing is fetched twice but what was on its way when an exchange broke off, at
// most MaxReply bytes of each peer, and, where a feed forked, lines before the
// fork: it is looked for by steps back that double.
//
// # The cast
//
// [Have], [Pull] and [OpenReply] are the messages; [Answer] serves one's own
// [Log] to others. [Exchange] is one member's side of the exchange with all its
// peers: it says what to ask ([Exchange.Asks]), and is told what was heard, what
// came of a request, and who went away. [CompareClocks] is apart from all that.
package syncd
