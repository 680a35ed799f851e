// Package invite lets a new member in without a round trip.
//
// # The root
//
// Every site hangs on one root key, made at its opening and kept on paper: the
// site's id is the hash of its public half. A [Root] is 16 random bytes, which
// people see as twelve words of the BIP-39 English list (the last of them holds
// four bits of checksum). The Ed25519 seed is SHA-256 of "pairwalk root v1\n" and
// those 16 bytes. The root certifies or invites leads and ends their say; day to
// day a lead does the rest, so it has no business on a laptop between times.
//
// The checksum lets one wrong word in sixteen pass. What settles it is the site:
// [Root.For] compares the hash.
//
// # The token
//
// A [Token] is a whole invite in one line of text. It carries everything a
// joiner needs to check the chain from the inviting lead to the root before it
// has seen a single event, and everything it needs to say member.joined with
// proof. Nobody has to answer for it to be used.
//
//	pairwalk1:<base32>            an invite to a real site
//	pairwalk1-practice:<base32>   an invite to a practice site
//
// base32 is RFC 4648 in lower case without padding; [Parse] takes capitals too,
// and white space anywhere, as mail programs leave it. It holds, in this order,
// with strings and counts led by a varint:
//
//	flags       1   1 practice, 2 issued by a lead, 4 that lead was invited by the root
//	root        32  root public key; the site's id is its SHA-256
//	lead            if flag 2: name, feed key 32, bus key 32, proof of its join 64
//	lead grant      if flag 4: invite key 32, expiry varint, root's signature 64
//	role        1   l lead, t tech, v viewer, r relay
//	expires         varint, ms since 1970, by the issuer's clock
//	secret      16  the invite key's seed is SHA-256 of "pairwalk invite key v1\n" and these
//	signature   64  the issuer's, over the grant's statement; it goes into the log
//	site name, time zone
//	meetings        count, then for each: form 1, address, bus key 32
//	signature   64  the issuer's, over "pairwalk token v1\n" and all of the above
//	checksum    4   first bytes of SHA-256 of the prefix up to the colon and all of the above
//
// The form of a meeting has bit 1 where the key is the lead's own bus key (and is
// left out), bit 2 where the address is IPv4, as 4 bytes and 2 of port. There is
// one encoding of a token: what Parse takes, [Token.String] gives back.
//
// # What the errors tell apart
//
// The checksum is there so that a slip of the copying hand ([ErrDamaged]: copy it
// again) is not taken for a forgery ([ErrForged]: do not use it). A token made by
// a later version is [ErrVersion]; one past its time is [ErrExpired], which only
// the caller can ask, since this package has no clock.
//
// A token is a key to the site until it is used or has expired: it is single-use
// and short-lived because a lead's member.admitted makes it so, not by itself.
//
// # Size
//
// A token from a lead whom the root certified, with one IPv4 meeting point at the
// lead's own laptop and names and zone of up to 50 bytes together, takes up to 619
// characters: a QR code of version 13 at the lowest recovery level, 77 columns
// wide with its quiet zone, so it fits a terminal of 80. A second meeting point
// with a key of its own adds some 60 characters (85 columns); a lead whom the root
// invited, some 160 (89 columns).
package invite
