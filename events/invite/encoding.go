package invite

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/binary"
	"errors"

	"pairwalk/events"
)

// Bits of the first byte, and of a meeting's.
const (
	isPractice  = 1
	isByLead    = 2
	isLeadGrant = 4

	isLeadsBus = 1
	isIPv4     = 2
)

const keyBytes = ed25519.PublicKeySize

var errShape = errors.New("not in the shape of an invite")

var roleLetters = []struct {
	letter byte
	role   events.Role
}{{'l', events.Lead}, {'t', events.Tech}, {'v', events.Viewer}, {'r', events.RelayRole}}

// content is everything that the issuer signs, as the package doc lays it out.
func (t Token) content() []byte {
	var flags byte
	if t.Practice {
		flags |= isPractice
	}
	if t.Lead.Known {
		flags |= isByLead
	}
	if t.Lead.Value.Grant.Known {
		flags |= isLeadGrant
	}
	b := appendKey([]byte{flags}, t.Root)
	if lead := t.Lead.Value; t.Lead.Known {
		b = appendString(b, lead.Name)
		b = appendSignature(appendKey(appendKey(b, lead.Key), lead.Bus), lead.Proof)
		if g := lead.Grant.Value; lead.Grant.Known {
			b = binary.AppendUvarint(appendKey(b, g.Key), uint64(g.Expires))
			b = appendSignature(b, g.Signature)
		}
	}
	b = append(b, letterOf(t.Grant.Role))
	b = binary.AppendUvarint(b, uint64(t.Grant.Expires))
	b = appendSignature(append(b, t.Secret[:]...), t.Grant.Signature)
	b = appendString(appendString(b, t.SiteName), t.Zone)
	b = binary.AppendUvarint(b, uint64(len(t.Meet)))
	for _, m := range t.Meet {
		b = t.appendMeeting(b, m)
	}
	return b
}

func (t Token) appendMeeting(b []byte, m Meeting) []byte {
	form := len(b)
	b = append(b, 0)
	if short, ok := packed(m.Addr); ok {
		b[form] |= isIPv4
		b = append(b, short...)
	} else {
		b = appendString(b, m.Addr)
	}
	if t.Lead.Known && m.Key == t.Lead.Value.Bus {
		b[form] |= isLeadsBus
		return b
	}
	return appendKey(b, m.Key)
}

// decode reads content and the signature after it.
func decode(content []byte) (Token, error) {
	r := reading{rest: content}
	var t Token
	flags := r.byte()
	t.Practice = flags&isPractice != 0
	root := r.bytes(keyBytes)
	t.Root, t.Site = events.KeyOf(root), events.SiteOf(root)
	t.Grant.Issuer = t.Root
	if flags&isByLead != 0 {
		lead := events.MemberJoined{Name: r.string(), Role: events.Lead, Root: t.Root, Key: r.key(), Bus: r.key(), Proof: r.signature()}
		if flags&isLeadGrant != 0 {
			lead.Grant = events.Some(events.Grant{
				Key: r.key(), Role: events.Lead, Expires: r.instant(), Issuer: t.Root, Signature: r.signature(),
			})
		}
		t.Lead, t.Grant.Issuer = events.Some(lead), lead.Key
	}
	t.Grant.Role = roleOf(r.byte())
	t.Grant.Expires = r.instant()
	t.Secret = Secret(r.bytes(len(t.Secret)))
	t.Grant.Key = t.Secret.public()
	t.Grant.Signature = r.signature()
	t.SiteName, t.Zone = r.string(), r.string()
	for range min(r.uvarint(), meetMost+1) {
		t.Meet = append(t.Meet, r.meeting(t.Lead.Value.Bus))
	}
	t.signature = r.signature()
	if r.short || len(r.rest) > 0 {
		return Token{}, errShape
	}
	return t, nil
}

// reading takes fields off the front of an encoding. Past its end every field is
// zero and short is set.
type reading struct {
	rest  []byte
	short bool
}

func (r *reading) bytes(n int) []byte {
	if len(r.rest) < n {
		r.short, r.rest = true, nil
		return make([]byte, n)
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b
}

func (r *reading) uvarint() uint64 {
	v, n := binary.Uvarint(r.rest)
	if n <= 0 {
		r.short, r.rest = true, nil
		return 0
	}
	r.rest = r.rest[n:]
	return v
}

func (r *reading) string() string {
	n := r.uvarint()
	if n > uint64(len(r.rest)) {
		r.short, r.rest = true, nil
		return ""
	}
	return string(r.bytes(int(n)))
}

func (r *reading) byte() byte              { return r.bytes(1)[0] }
func (r *reading) key() events.Key         { return events.KeyOf(r.bytes(keyBytes)) }
func (r *reading) instant() events.Instant { return events.Instant(r.uvarint()) }

func (r *reading) signature() events.Signature {
	return events.Signature(base64.StdEncoding.EncodeToString(r.bytes(ed25519.SignatureSize)))
}

func (r *reading) meeting(leadsBus events.Key) Meeting {
	var m Meeting
	form := r.byte()
	if form&isIPv4 != 0 {
		m.Addr = unpacked(r.bytes(6))
	} else {
		m.Addr = r.string()
	}
	if form&isLeadsBus != 0 {
		m.Key = leadsBus
	} else {
		m.Key = r.key()
	}
	return m
}

func appendString(b []byte, s string) []byte {
	return append(binary.AppendUvarint(b, uint64(len(s))), s...)
}

// appendKey writes a key as its bytes. Text that is no key leaves a gap, and the
// check after encoding refuses the token.
func appendKey(b []byte, k events.Key) []byte {
	pub, err := k.Public()
	if err != nil {
		pub = make([]byte, keyBytes)
	}
	return append(b, pub...)
}

func appendSignature(b []byte, s events.Signature) []byte {
	sig, err := events.ParseSignature(string(s))
	if err != nil {
		sig = make([]byte, ed25519.SignatureSize)
	}
	return append(b, sig...)
}

func letterOf(role events.Role) byte {
	for _, r := range roleLetters {
		if r.role == role {
			return r.letter
		}
	}
	return 0
}

func roleOf(letter byte) events.Role {
	for _, r := range roleLetters {
		if r.letter == letter {
			return r.role
		}
	}
	return ""
}
