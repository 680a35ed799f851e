// Package cable is a bad way to a server, for tests: a TCP proxy that cuts,
// stalls, delays, breaks up and garbles what it carries, and never reorders it.
//
// A Cable is whole or cut as a whole (Cut, Mend, Sever): so goes a network. Each
// connection over it may besides have a Weather of its own, which strikes once so
// many bytes have come back from the server: so goes a bad link. Struck tells a
// test that it has, so that nobody has to wait for a while and hope.
package cable
