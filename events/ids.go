package events

import (
	"cmp"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"

	"github.com/maruel/natural"
)

// Names people give to things. They are compared byte for byte.
type (
	// Tag is the designer's name for a position on the schedule, such as 2-114.
	Tag string
	// HubID names a hub, such as H2.
	HubID string
	// Serial is what the label of a physical unit says.
	Serial string
	// CircuitID names a supply circuit, such as C3-7.
	CircuitID string
	// FloorID names a floor as the schedule does: "2", "B1", "roof".
	FloorID string
	// RoomID names a room as the schedule does.
	RoomID string
	// Program names a revision of a hub's control program, such as r7.
	Program string
)

// ByName orders names as people do, 2-9 before 2-10, and tells all apart.
func ByName[T ~string](a, b T) int {
	return cmp.Or(natural.Compare(string(a), string(b)), strings.Compare(string(a), string(b)))
}

// base32Text is RFC 4648 base32 in lower case, without padding.
var base32Text = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

const (
	keyChars  = 52 // base32 of 32 bytes
	feedRand  = 13 // base32 of 8 bytes
	feedChars = keyChars + 1 + feedRand
)

// Key is an Ed25519 public key in base32 (52 characters). A member is known by
// its feed key.
type Key string

// KeyOf writes a public key as text.
func KeyOf(pub ed25519.PublicKey) Key { return Key(base32Text.EncodeToString(pub)) }

// Public returns the key itself, or an error where the text is not the one
// canonical spelling of 32 bytes.
func (k Key) Public() (ed25519.PublicKey, error) {
	b, err := decodeBase32(string(k), ed25519.PublicKeySize)
	if err != nil {
		return nil, fmt.Errorf("read key: %w", err)
	}
	return b, nil
}

// Short is the first eight characters, enough for people to tell members apart.
func (k Key) Short() string { return strings.ToValidUTF8(string(k[:min(8, len(k))]), "") }

// SiteID is the base32 SHA-256 of the site's root public key (52 characters).
type SiteID string

// SiteOf derives a site's id from its root key.
func SiteOf(root ed25519.PublicKey) SiteID {
	sum := sha256.Sum256(root)
	return SiteID(base32Text.EncodeToString(sum[:]))
}

// FeedID names one installation's append-only log: its feed key, a dot, and 64
// random bits that set apart the feeds which one key may need over time.
type FeedID string

// NewFeedID joins a feed key with 64 bits that the caller drew at random.
func NewFeedID(key Key, random [8]byte) FeedID {
	return FeedID(string(key) + "." + base32Text.EncodeToString(random[:]))
}

// ParseFeedID checks that s is a feed id in its one canonical spelling.
func ParseFeedID(s string) (FeedID, error) {
	if len(s) != feedChars || s[keyChars] != '.' {
		return "", fmt.Errorf("read feed id %q: not a key, a dot and %d characters", clip(s), feedRand)
	}
	if !isBase32(s[:keyChars], 32) {
		return "", fmt.Errorf("read feed id %q: %w", clip(s), errBase32(32))
	}
	if !isBase32(s[keyChars+1:], 8) {
		return "", fmt.Errorf("read feed id %q: %w", clip(s), errBase32(8))
	}
	return FeedID(s), nil
}

// Key is the feed key that signs this feed.
func (f FeedID) Key() Key {
	if len(f) < keyChars {
		return ""
	}
	return Key(f[:keyChars])
}

// Short tells one feed from another on a screen.
func (f FeedID) Short() string {
	if len(f) != feedChars {
		return clip(string(f))
	}
	return f.Key().Short() + "." + string(f[keyChars+1:keyChars+5])
}

// Seq numbers the events of a feed: 1, 2, 3, with no gaps, never reused.
type Seq uint64

// Hash is the SHA-256 of the signed bytes of an event. The zero value stands
// before the first event of a feed and is written as "".
type Hash [32]byte

// HashOf hashes the signed bytes of a line.
func HashOf(signed []byte) Hash { return sha256.Sum256(signed) }

// String is 64 hex digits, or "" for the zero hash.
func (h Hash) String() string {
	if h == (Hash{}) {
		return ""
	}
	return hex.EncodeToString(h[:])
}

// ParseHash reads what String writes.
func ParseHash(s string) (Hash, error) {
	var h Hash
	if s == "" {
		return h, nil
	}
	if err := decodeHex(h[:], s); err != nil {
		return Hash{}, fmt.Errorf("read hash %q: %w", clip(s), err)
	}
	if h == (Hash{}) {
		return h, fmt.Errorf("read hash %q: all zero", clip(s))
	}
	return h, nil
}

// Short is the hash8 of the wire format.
func (h Hash) Short() Hash8 { return Hash8(h[:8]) }

// Hash8 is the first eight bytes of a Hash.
type Hash8 [8]byte

// String is sixteen hex digits.
func (h Hash8) String() string { return hex.EncodeToString(h[:]) }

// ParseHash8 reads what String writes.
func ParseHash8(s string) (Hash8, error) {
	var h Hash8
	if err := decodeHex(h[:], s); err != nil {
		return Hash8{}, fmt.Errorf("read short hash %q: %w", clip(s), err)
	}
	return h, nil
}

// Ref names one event for good: feed/seq/hash8. It is comparable.
type Ref struct {
	Feed FeedID
	Seq  Seq
	Hash Hash8
}

// String is feed/seq/hash8.
func (r Ref) String() string {
	if r.IsZero() {
		return ""
	}
	return string(r.Feed) + "/" + strconv.FormatUint(uint64(r.Seq), 10) + "/" + r.Hash.String()
}

// IsZero says whether r names nothing.
func (r Ref) IsZero() bool { return r == Ref{} }

// MarshalText lets a Ref stand in JSON as its string.
func (r Ref) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// ParseRef reads what String writes.
func ParseRef(s string) (Ref, error) {
	parts := strings.Split(s, "/")
	if len(parts) != 3 {
		return Ref{}, fmt.Errorf("read reference %q: not feed/seq/hash", clip(s))
	}
	feed, err := ParseFeedID(parts[0])
	if err != nil {
		return Ref{}, err
	}
	n, err := parseInt(parts[1], 1, maxInt)
	if err != nil {
		return Ref{}, fmt.Errorf("read reference %q: %w", clip(s), err)
	}
	h, err := ParseHash8(parts[2])
	if err != nil {
		return Ref{}, err
	}
	return Ref{feed, Seq(n), h}, nil
}

// Compare orders references by feed, then seq, then hash.
func (r Ref) Compare(o Ref) int {
	if c := strings.Compare(string(r.Feed), string(o.Feed)); c != 0 {
		return c
	}
	if r.Seq != o.Seq {
		if r.Seq < o.Seq {
			return -1
		}
		return 1
	}
	return strings.Compare(string(r.Hash[:]), string(o.Hash[:]))
}

// Head is the newest event known of a feed: its place and whole hash. The zero
// value is the head of an empty feed.
type Head struct {
	Seq  Seq
	Hash Hash
}

// decodeBase32 reads the one canonical spelling of n bytes.
func decodeBase32(s string, n int) ([]byte, error) {
	if !isBase32(s, n) {
		return nil, errBase32(n)
	}
	return base32Text.DecodeString(s)
}

// errBase32 says how many bytes were expected.
type errBase32 int

func (e errBase32) Error() string { return fmt.Sprintf("not %d bytes in lower-case base32", int(e)) }

// decodeHex reads exactly len(dst) bytes of lower-case hex.
func decodeHex(dst []byte, s string) error {
	if !readHex(dst, s) {
		return fmt.Errorf("not %d lower-case hex digits", 2*len(dst))
	}
	return nil
}

// clip shortens outside text for an error message.
func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "…"
	}
	return s
}
