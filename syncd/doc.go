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
//	held   {"v":1,"pictures":["<sha256>",…]}
//	reply  {"v":1,"held":"101…"}, a digit for each
//	piece  {"v":1,"picture":"<sha256>","from":0,"max":262144}
//	reply  {"v":1,"picture":"<sha256>","is":"piece","from":0,"of":123456}, then, after a line feed, bytes
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
// Nobody waits for a disk. As soon as a reply is here ([Exchange.Came]), the next is
// asked for from where it says that it ends; it is opened, kept and judged meanwhile.
// Where it turns out that it does not end so, what builds on it connects to nothing
// and is thrown away, and only the one who lied there is at fault. Past [MaxAhead]
// bytes that are here and not kept yet, nobody is asked for anything.
//
// Nothing is fetched twice but what was on its way or not kept yet when an exchange
// broke off (MaxReply bytes of each peer where the network did, and as many as
// MaxAhead where the process died), and, where a feed forked, lines before the
// fork: it is looked for by steps back that double; and a line after some that
// were damaged, if only it can vouch for them.
//
// # Pictures
//
// Entries name pictures by their content ([events.Picture]); these follow the
// entries, and no entry waits for one: a picture is asked for only while no pull
// is on its way from a peer that answers ([Exchange.Busy]), and of each peer one
// piece of at most [MaxPiece] bytes at a time. A held asks which of some pictures
// are there, a piece for bytes of one, from any byte on: what came before a link
// broke or a process died is not fetched again. Whoever may pull entries may have
// the pictures that these name, and no others.
//
// A member of an older version has no ear for either question. It is asked more
// and more rarely, and exchanges entries as before.
//
// Only the whole picture tells whether its bytes are right. One that came out
// wrong is thrown away; where it was one peer's work from the first byte on, that
// peer is at fault and is not asked for this picture again. Where several had a
// hand in it nobody is blamed, and the next try is one peer's alone. So k liars
// cost at most k+1 pictures more than one honest peer. A picture larger than
// [events.MaxPicture] is never asked for, a piece of another size than was asked
// for is a fault, and a whole of another size than an entry says is left alone. A
// peer that names what it does not hand over is passed over for the round after a
// few of those. Where pieces do not come through in time, smaller ones are asked
// for.
//
// # The cast
//
// [Have], [Pull] and [OpenReply] are the messages; [Answer] serves one's own
// [Log] to others, from the bytes of its lines as they are. [Exchange] is one
// member's side of the exchange with all its peers: it says what to ask
// ([Exchange.Asks]), and is told what was heard, what came of a request, and who went
// away. [Gallery] is the same for pictures, on a [Shelf], with [AnswerHeld],
// [AnswerPiece] and [OpenPicture]. [CompareClocks] is apart from all that.
package syncd
