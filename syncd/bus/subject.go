package bus

import (
	"slices"
	"strings"

	"github.com/nats-io/nats-server/v2/server"

	"pairwalk/events"
)

// What a member is asked for, and what it says to all.
const (
	askHave  = "have"
	askPull  = "pull"
	askClock = "clock"

	askHeld  = "held" // of pictures; so is the next
	askPiece = "piece"

	sayHere    = "here"
	sayChanged = "changed"
	sayGone    = "gone"

	hello = "here" // the token of an answer to here
)

var asked = [...]string{askHave, askPull, askClock}

// shown is what only a member that carries pictures has an ear for.
var shown = [...]string{askHeld, askPiece}

// toAll is the subject on which from says something to everybody.
func toAll(what string, from events.Key) string { return what + "." + string(from) }

// request is the subject on which from asks to for something.
func request(to, from events.Key, what string) string {
	return "m." + string(to) + "." + string(from) + "." + what
}

// inbox is the subject on which from answers to.
func inbox(to, from events.Key, token string) string {
	return "in." + string(to) + "." + string(from) + "." + token
}

const anybody events.Key = "*"

// permissions are everything that a member may say and hear. Each subject it may
// publish on names it as the sender, so that nobody speaks for another.
//
// There is deliberately no allow_responses: a client may put any subject as reply
// into a message, even one to itself, and would be allowed to publish there.
func permissions(k events.Key) *server.Permissions {
	pub := []string{toAll(sayHere, k), toAll(sayChanged, k), toAll(sayGone, k), inbox(anybody, k, "*")}
	sub := []string{toAll(sayHere, anybody), toAll(sayChanged, anybody), toAll(sayGone, anybody), inbox(k, anybody, "*")}
	for _, what := range slices.Concat(asked[:], shown[:]) {
		pub = append(pub, request(anybody, k, what))
		sub = append(sub, request(k, anybody, what))
	}
	return &server.Permissions{
		Publish:   &server.SubjectPermission{Allow: pub},
		Subscribe: &server.SubjectPermission{Allow: sub},
	}
}

// token is the nth token of a subject, or "".
func token(subject string, n int) string {
	for ; n > 0; n-- {
		_, subject, _ = strings.Cut(subject, ".")
	}
	first, _, _ := strings.Cut(subject, ".")
	return first
}

// senderOf is the key at the nth token of a subject; false where it is none, or us.
func senderOf(subject string, n int, self events.Key) (events.Key, bool) {
	key := events.Key(token(subject, n))
	_, err := key.Public()
	return key, err == nil && key != self
}
