// Package depot keeps the sealed entries of many sites in a JetStream cluster, for
// relays that have nothing of their own but a secret.
//
// # The streams
//
// Everything is in one stream, PAIRWALK, on disk, on three servers, without any
// limit that would make it forget:
//
//	pairwalk.log.<site>.<feed>          the lines of a feed; a feed's id is two tokens
//	pairwalk.seat.<instance>.<site>     that a relay is a member of a site
//
// A message of a feed is a chunk: up to 256 KiB of lines that follow each other, each
// ended by a line feed, just as a journal's file has them. Where nobody has the line
// before them, the journal's mark for a hole stands first. Forks are chunks of the
// same subject. One sort of message has no lines: the mark that a relay's own feed
// must not be gone on with.
//
//	Pairwalk-First, Pairwalk-Last    number and hash of the first and last line, for people
//	Pairwalk-Ended                   why the own feed ends; Pairwalk-Last: after which line
//	Pairwalk-Check                   a seat's check value, made with the relay's secret
//
// Pictures are in the object store PAIRWALK_PICTURES, by the SHA-256 of their content.
//
// # The laws
//
// Published before it is shown. A site's store is a journal in memory, filled from the
// stream and following it, so that reading has the journal's own laws. What is to be
// stored is first given to the cluster, no more of it than is new; once a quorum has
// it on disk, it is taken into memory, acknowledged and shown.
//
// Nobody writes blindly. Every message names the one on its subject that it was
// written after, and the cluster refuses it where another came between. Then the store
// catches up, asks again what is new, and writes that. So relays that take in the same
// lines at once keep them once, and no number of an own feed is used twice.
//
// What was sent and not confirmed is not forgotten. A line of the own feed whose
// outcome is not known is sent again as it is, before anything else is; the next line
// follows it. Its number is never given to another for as long as the site is open;
// after that only a line that the cluster did not keep can lose its number.
//
// The cluster is not trusted. Whoever runs it can withhold and delete; it can't forge,
// since every line read comes in by the door of package seal, every picture is compared
// with its name, and a seat bears a check value. What is altered or gone is a Problem
// and counts as missing. Chunks after it wait. Peers who hold what is missing give it
// again, the store publishes it again, and what waited comes in.
//
// Without a quorum nothing is acknowledged: writing fails with [ErrNoQuorum], reading
// goes on, and once enough servers are back everything goes on by itself. Members who
// are on the same relay exchange with each other all the while.
//
// # An instance
//
// A relay is a [Secret] of 32 bytes. Its feed key and bus key on every site follow from
// it by HKDF, each for one use and one site. Its own feed is in the stream like all
// others: started anew, with an empty disk, it goes on with it. It begins another where
// it can't be sure of the last one: its lines there are damaged or gone (torn), a peer
// shows more of it than the cluster has (restored), or other lines (diverged). That is
// written into the stream before the lines that show it.
//
// Two processes with one secret are one member that argues with itself. They do no
// harm: the cluster takes one line for each number.
//
// What a relay learns only for itself is lost with it, by intent: how fresh colleagues'
// logs are, where they were met, who was refused. An entry's receipt is the time at
// which the cluster took it, and proves no elapsed time.
//
// # Put back, or lost
//
// A stream that holds less than it did, or was made anew, was put back from a backup
// or lost. Relays that run notice within seconds, read every open site anew, give the
// cluster what they held and it lacks, and go on in a new feed of their own. What was
// put back while none ran is found as said above, from the first peer who holds more.
// Where the cluster is lost with its backups, relays are invited again and have
// everything back from any member's device.
//
// # The cast
//
// [Office] is the sites of one relay, for package relay; it makes members whose
// log is a [Store] and whose pictures are a shelf of the gallery. A chunk is what a
// message holds; a letter is a message on its way. The cluster is the connection and
// the stream. [NewCredentials] makes what a cluster and its relays know each other by;
// cluster/nats.conf is the servers' configuration.
package depot
