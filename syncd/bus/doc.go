// Package bus runs an embedded NATS server where members of a site meet, calls at
// those of others, and carries the exchange of package syncd over all of them.
//
// # The bus
//
// Every member may run a server, for instance on a laptop; each is a bus of its
// own, for one site. There a member is known by its bus key (K below, as text),
// and whatever it sends names it in the subject, which the server holds it to:
//
//	here.K       K has come: the others answer to in.K.<theirs>.here
//	changed.K    K's log has grown: the tips that grew, as a have; empty: ask me
//	gone.K       K goes
//	m.P.K.have   K asks P for its have
//	m.P.K.pull   K asks P for lines
//	m.P.K.clock  K asks P for its clock
//	m.P.K.held   K asks P which of some pictures it holds
//	m.P.K.piece  K asks P for a piece of one
//	in.K.P.T     P answers K; T is a token that K drew at random for the question
//
// So K may publish on here.K, changed.K, gone.K, m.*.K.have, m.*.K.pull,
// m.*.K.clock, m.*.K.held, m.*.K.piece and in.*.K.*, and listen to here.*,
// changed.*, gone.*, m.K.*.have, m.K.*.pull, m.K.*.clock, m.K.*.held, m.K.*.piece
// and in.K.*.*: nothing else, not $SRV, $SYS or $JS. There are no allow_responses,
// which would let a client that writes to itself publish anywhere. Who a peer is
// is read from subjects, never from what it says. The have, pull, clock, held and
// piece of a member are micro endpoints without a queue group; a member that
// carries no pictures, or is of an older version, has not the last two.
//
// The one who runs a server could still speak for everybody on it, like any post
// office. It gains little: lines prove themselves, and a have or a clock that lies
// is one member's lie.
//
// # The door
//
// The server speaks TLS 1.3 before anything else, with a self-signed certificate
// of its bus key that holds nothing of the site or the person. The caller goes on
// only if its member trusts that key ([Party]). Then CONNECT holds
//
//	nkey        the caller's bus key, as the nkey of a NATS user
//	sig         its signature over "pairwalk bus v1\n", the server's bus key
//	            as text, "\n", and the nonce the server drew
//	auth_token  base64 of the caller's own member.joined line
//
// and the server asks its member whether that key may come in. The server's key in
// what is signed keeps a member's server from passing a caller's signature on to
// another server; the first line keeps any server from having anything else signed
// (a client of nats.go signs whatever it is sent, so a feed key must not serve
// here). A nonce that nats-server would not draw is not signed at all.
//
// A refused caller hears "authorization violation" and no more. People hear of a
// refusal once for each host and reason; the member counts them all. Whenever the
// log has grown, everybody on a line is looked at again, and whoever is no member
// any more is cut off at once, caller or server.
//
// In the handshake a caller names the site it wants, by a door name: the first 16
// bytes of SHA-256("pairwalk door\n" + site) in hex, as the server name of TLS, which
// goes over the wire in clear. It tells the site to those alone who know its id. A
// server of one site passes it over.
//
// # The hall
//
// A [Hall] is one server for many sites, each an account of its own, so that its
// members meet there and see nothing of the others. It shows the key of the site
// whose door was named; at another door there is no certificate, and TLS says that
// the name is not known. All that a member pins and signs is per site, as ever. A
// [Keeper] opens a site's bus, and it is asked to for nobody who has not signed for
// this call with the key that their join names, where that join is to the site of
// that door and proves itself. Whether it still counts is for the gate of that bus.
// Who is sent away for want of room hears no refusal: the line is shut, and since the
// server has shown a member's key, the caller knows that it may call again.
//
// The member's own line to its own server is a pipe within the process. It signs
// like everybody's (nats-server 2.15 sends a nonce there too); keyless, nothing
// comes in.
//
// # The conversation
//
// One goroutine converses with each peer, on whichever line reaches it. A peer is
// met as soon as it says or asks anything. It is asked for its clock five times
// ([Party.Compared]), then for its have ([Party.Hear]); whatever [Party.Asks] then
// wants is asked for, and every outcome may lead to more. The member hears of a
// reply ([Party.Came]), and what it asks for then is on its way while it checks and
// keeps the reply. Clock and have are asked
// for again in every round of 10 to 30 s: clocks get set, news can be lost, and a
// have tells how fresh the peer is. A peer that leaves two questions in a row
// unanswered has left, and so has one that no line reaches. One that says here
// again has another connection: what it was asked on the last one is lost, and is
// asked anew without waiting.
//
// A call that fails is tried again after 1 s, doubling to 30 s, for ever. One that
// leads to this device itself, or to a bus reached by another address already, is
// spare: no failure, and no news to people.
//
// A link may die without a word. Both ends ping every 2.5 s: the caller gives it up
// within 7.5 s, the server within 10 s, and who runs the server knows a second
// later; where a large write is stuck, 10 s more may pass. Others on that bus learn
// at their next question. The caller calls again as above.
//
// Pictures come after entries: once [Party].Asks has nothing more to say, what
// [Pictures].PictureAsks wants is asked for, one question at a time of each peer.
// That such a question is left unanswered says nothing of the peer: older members
// have no ear for it. When what a peer could give of pictures is here, an empty
// changed tells the others to ask anew.
//
// # Bounds
//
// What strangers can make a server hold: maxConns connections for some seconds
// each (while they hold them all, nobody else gets in), a control line of maxControl
// bytes. What members can: on each line, every
// asker has one goroutine and questionsMost waiting questions, so who floods waits
// behind itself; subscriptions drop what is past their limits; a here is greeted
// back once in a gap. At most peersMost peers are talked to.
//
// So a member that publishes and asks without pause costs the others time, and no
// entries: news that is dropped in the crowd is made up for in the next round. That
// they don't lose each other meanwhile holds only as long as their devices throw
// away what is too much as fast as the server hands it on. All askers share a
// subscription; once it overflows, it drops questions of the honest too, and two
// lost in a row part a pair until the flood ends or lets up. Nor is a member held
// off that saturates the network itself, or a slow link of somebody's: both can
// only be revoked, which cuts them off at once.
//
// # The cast
//
// [Bus] holds it together. hub is our server, or our room in a [Hall]; gate is its
// doorkeeper, a hall's own Check the porch before all gates; dialer makes
// the connection under a line, line is one connection to a bus, peer one member
// on any of them. crier tells people what changed, as [Notice].
package bus
