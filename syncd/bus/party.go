package bus

import (
	"context"
	"crypto/ed25519"
	"log/slog"

	"pairwalk/events"
	"pairwalk/syncd"
)

// Party is the member whom a bus carries the exchange for. Its methods are called
// from many goroutines at once; none of them may wait for the network or call
// back into the bus.
type Party interface {
	// BusKey names us on every bus, and is what our server is known by.
	BusKey() ed25519.PrivateKey
	// Joined is our own sealed member.joined line: it shows who we are to a
	// server that never heard of us.
	Joined() []byte
	// Stamp is this device's clocks now.
	Stamp() events.Stamp
	// NameOf is what people call the holder of a bus key.
	NameOf(bus events.Key) string

	// Admits is nil if the key may come onto our bus, or else one plain reason.
	// Joined is the line the caller showed, empty if none.
	Admits(bus events.Key, joined []byte) error
	// Trusts says whether we may call at the server of this key.
	Trusts(server events.Key) bool
	// Refused counts an attempt to come onto our bus. The key is what the caller
	// claimed to be, proven or not, and may be empty.
	Refused(from, why string, bus events.Key)

	// Watch signals whenever our log has grown.
	Watch() (grew <-chan struct{}, stop func())
	Have() syncd.Have
	// Answer is the reply to a peer's pull, written into room as far as that reaches.
	Answer(pull, room []byte) []byte

	// Hear takes in a peer's whole have, asked for at that reading of our clocks,
	// or with the zero Stamp what it has besides.
	Hear(peer events.Key, have syncd.Have, asked events.Stamp)
	// Left forgets a peer. What was asked of it may still be followed by Answered
	// or Unanswered.
	Left(peer events.Key)
	Asks() []syncd.Ask
	// Came is told of a reply before Answered is: there may be more to ask meanwhile.
	Came(ask syncd.Ask, reply []byte)
	// Answered returns with the entries of a reply verified, durable and folded. A
	// *syncd.Complaint is in the error where the peer is at fault.
	Answered(ctx context.Context, ask syncd.Ask, reply []byte) (syncd.Got, error)
	Unanswered(ask syncd.Ask)
	Compared(ctx context.Context, peer events.Key, samples []syncd.Sample) (recorded bool, err error)
	Towards(peer events.Key) syncd.Standing
}

// Pictures is what a [Party] has besides that carries pictures: the same for them,
// on the same terms. The bus asks for what PictureAsks gives once it has sent what
// Asks does. A round with a peer begins with Hear and ends with Left.
type Pictures interface {
	PictureAsks() []syncd.PictureAsk
	// PictureAnswered returns with what a reply brought kept, and says how many
	// pictures are whole with it.
	PictureAnswered(ctx context.Context, ask syncd.PictureAsk, reply []byte) (int, error)
	PictureUnanswered(ask syncd.PictureAsk)
	ShowHeld(question []byte) []byte
	ShowPiece(peer events.Key, question []byte) []byte
}

// Options of a bus. The zero value calls at others and runs no server.
type Options struct {
	Listen string       // host:port of our own server, "" for none; port 0 picks one
	Log    *slog.Logger // what a developer wants to see; nil for nothing
	Notice func(Notice) // what a person should see, one call at a time; may be nil. It must not call Close.
}

// NoticeKind says what a Notice is about.
type NoticeKind string

// The kinds, and what their notices hold besides.
const (
	Up          NoticeKind = "up"          // our call was taken: Addr, Peer (whose server)
	Down        NoticeKind = "down"        // a line that was up is gone: Addr, Peer, Why
	Unreachable NoticeKind = "unreachable" // our call failed, for another reason than last time: Addr, Why; never of a spare one
	Here        NoticeKind = "here"        // somebody answers on a bus: Peer, Addr
	Left        NoticeKind = "left"        // and no longer does: Peer
	Took        NoticeKind = "took"        // N entries from Peer are in our log now
	Pictured    NoticeKind = "pictured"    // N pictures from Peer are here now
	Same        NoticeKind = "same"        // Peer and we hold the same log now
	Refused     NoticeKind = "refused"     // our server sent somebody away: Addr (host), Why; Peer if proven
	Complaint   NoticeKind = "complaint"   // Peer is at fault, in another way than last time: Why
	Revoked     NoticeKind = "revoked"     // Peer was cut off, being no member any more: Addr, Why
	Trouble     NoticeKind = "trouble"     // what Peer sent could not be kept here: Why
)

// Notice is something that changed and that a person should see.
type Notice struct {
	Kind NoticeKind
	Peer events.Key
	Addr string
	N    int
	Why  string // plain words
}

// Call is how it goes with one address that we call at.
type Call struct {
	Addr     string
	Server   events.Key // whose server it is, as far as is known
	Up       bool
	Spare    bool   // not up and not needed: it leads to this device itself, or to a bus that another address reaches
	Why      string // why it is not up, in plain words
	Attempts int
}

// Peer is somebody who is on a bus with us now.
type Peer struct {
	Key      events.Key
	Name     string
	At       string // address of the bus, or of the first of several
	From, To int    // entries we took from it and it took from us, since we met
	syncd.Standing
}
