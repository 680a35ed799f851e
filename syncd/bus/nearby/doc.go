// Package nearby lets the laptops of one site find each other on a local
// network, by DNS-SD (RFC 6763) over multicast DNS (RFC 6762), and tells a
// stranger on that network nothing about the site. It finds addresses; whether
// anybody there belongs to the site is for the TLS of the bus to prove.
//
// # The records
//
// A process that runs a bus server for others answers questions about one
// instance of one service. With <name> 8 bytes drawn at random for the process:
//
//	_pairwalk._tcp.local.         PTR  <name>._pairwalk._tcp.local.
//	<name>._pairwalk._tcp.local.  SRV  10 1 <port> <name>.local.
//	<name>._pairwalk._tcp.local.  TXT  "v=1" "t=<salt>.<tag>"
//	<name>.local.                 A, AAAA  addresses of the interface
//
//	salt  8 random bytes                                 (13 characters)
//	tag   the first 16 characters of the base32 of       (80 bits)
//	      SHA-256("pairwalk meet v1\n" + site id + "\n" + the 8 bytes of salt)
//
// base32 is RFC 4648 in lower case without padding, in its one canonical
// spelling. Who knows the site id computes the tag again and recognises it; to
// all others it is noise. A later form will say another v, and is passed over.
//
// # What is not said
//
// Not the site, its name or its id; not a person's name, and so not the name of
// the computer either, which is often a person's; not the bus key, which TLS
// pins. What a stranger does learn: that this tool runs here, at which port, and
// that it is the same process as a minute ago, on another network too. A former
// member of the site knows its id and still recognises it.
//
// A tag is a hint and proves nothing: whoever hears it can say it again. All
// that buys is a call that ends at the pinned key.
//
// # Asking
//
// [Look] asks on every interface that carries multicast, over IPv4 and IPv6, with
// the one-shot question of RFC 6762 §5.1: from a port of its own, so that the
// answers come back to that port alone (§6.7). The address of a laptop is where
// its answer came from, on the interface that was asked, with that interface as
// the zone where the address is link-local; only the port is taken from the
// records. So a laptop with several interfaces is found at those that can be
// reached from here and at no other, a change of network leaves no stale
// addresses about, and no record can send members calling at third parties. An
// answer from beyond the local network is dropped (§11). Networks that relay
// multicast DNS between segments are therefore not looked into, and a firewall
// that lets no answer in finds nobody: there, an address or a code to scan does
// the work.
//
// # Bounds
//
// Anybody may answer anything. A packet past the 9000 bytes of §17 is dropped; a
// packet yields one address or none; what is waiting to be read is one packet a
// socket. A round reads so many packets a socket and yields so many addresses,
// and a run of Look only so many different ones (the constants in bounds.go).
// What is refused leaves no trace but a count in the debug log.
//
// # Why not the library's own client
//
// Announcing is hashicorp/mdns. Asking is not, because its client (v1.0.7) keeps
// one address of each family per name, looks at one name per packet, goes on
// writing to an entry after handing it over, remembers every name it is sent,
// and multicasts a further question for each that is incomplete.
package nearby
