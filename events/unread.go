package events

// Unread stands for a payload that its reader passed over: its kind is known, and
// what it says is not. Whoever folds it takes no fact from it. It is never written.
type Unread struct {
	said
	Of Kind
}

// Kind is the kind as written.
func (p Unread) Kind() Kind { return p.Of }

// Subjects is empty: nobody looked.
func (Unread) Subjects() []Subject { return nil }

func (p Unread) String() string { return "not read: " + string(p.Of) }

// Read decodes a body that was passed over; one that makes no sense is Opaque.
func (p Unread) Read(body []byte) Payload {
	read, err := DecodeBody(p.Of, body)
	if err != nil {
		return Opaque{Of: p.Of, Why: err.Error()}
	}
	return read
}
