package events

import (
	"fmt"
	"strings"
)

// Kind is the wire name of a sort of event, such as device.paired.
type Kind string

// Payload is what an event says. It is a closed union: the structs of this
// package that the table in kinds.go lists, [Opaque] and [Unread]. Each says its Kind,
// the Subjects it is about (the first is the main one), and itself in words.
type Payload interface {
	Kind() Kind
	Subjects() []Subject
	String() string
	payload()
}

// said is embedded by every variant; it keeps the union closed.
type said struct{}

func (said) payload() {}

// Opaque stands for a payload that this version does not understand. It is kept,
// relayed and shown, and never folded.
type Opaque struct {
	said
	Of  Kind   // the kind as written, "" if that could not be read either
	Why string // what was not understood
}

// Kind is the kind as written.
func (p Opaque) Kind() Kind { return p.Of }

// Subjects is empty: nobody knows.
func (Opaque) Subjects() []Subject { return nil }

func (p Opaque) String() string { return "not understood: " + p.Why }

// join strings parts that are not empty.
func words(parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, " ")
}

// optional is prefix+s, or nothing where s is empty.
func optional[T ~string](prefix string, s T) string {
	if s == "" {
		return ""
	}
	return prefix + string(s)
}

// listed names up to five of many things.
func listed[T ~string](things []T) string {
	const most = 5
	var b strings.Builder
	for i, t := range things {
		if i == most {
			fmt.Fprintf(&b, " and %d more", len(things)-most)
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(string(t))
	}
	return b.String()
}
