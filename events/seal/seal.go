package seal

import (
	"bytes"
	"cmp"
	"crypto/ed25519"
	"errors"
	"fmt"

	"pairwalk/events"
)

// MaxLine is the largest line the door lets in, without its line feed.
const MaxLine = 64 << 10

const (
	domain    = "pairwalk event v1\n"
	tailStart = `,"sig":"`
	tailEnd   = `"}`
	tailBytes = len(tailStart) + events.SignatureChars + len(tailEnd)
)

// Errors of the door.
var (
	ErrTooLong   = errors.New("line is longer than 64 KiB")
	ErrTail      = errors.New("line has no signature at its end")
	ErrSignature = errors.New("signature does not fit the line")
	ErrChain     = errors.New("line does not follow the one before it")
	ErrWrongKey  = errors.New("key does not sign this feed")
)

// Verified is a line known to be authentic. It holds the line as it was signed;
// its bytes are shared and must not be changed. Only this package makes one; the
// zero value is no line, of no feed.
type Verified struct {
	line   []byte // without line feed
	header events.Header
	body   int32 // where the header ends
	hash   events.Hash
}

// Line is the whole line without its line feed.
func (v Verified) Line() []byte { return v.line }

// Signed is the part of the line that the signature covers.
func (v Verified) Signed() []byte { return v.line[:len(v.line)-tailBytes] }

// Tail is the rest of it, with the signature.
func (v Verified) Tail() []byte { return v.line[len(v.line)-tailBytes:] }

// Cut parts bytes where Signed and Tail of a line of that length part. Nothing of
// them is looked at: it is for comparing them with a line that was let in.
func Cut(line []byte) (signed, tail []byte) {
	n := max(0, len(line)-tailBytes)
	return line[:n], line[n:]
}

// Header is the part of the line that all versions share.
func (v Verified) Header() events.Header {
	if v.header.Origin == nil {
		return events.Header{Origin: &events.Origin{}}
	}
	return v.header
}

// Feed, Seq, Prev and Hash place the line in its chain.
func (v Verified) Feed() events.FeedID { return v.Header().Feed }

// Seq is the line's number in its feed.
func (v Verified) Seq() events.Seq { return v.header.Seq }

// Prev is the hash of the line before.
func (v Verified) Prev() events.Hash { return v.header.Prev }

// Hash is the SHA-256 of the signed bytes.
func (v Verified) Hash() events.Hash { return v.hash }

// Head is the line as the head of its feed.
func (v Verified) Head() events.Head { return events.Head{Seq: v.header.Seq, Hash: v.hash} }

// Ref names the line's event.
func (v Verified) Ref() events.Ref {
	return events.Ref{Feed: v.Feed(), Seq: v.header.Seq, Hash: v.hash.Short()}
}

// Event decodes the line. What is not understood has an Opaque payload.
func (v Verified) Event() events.Event { return v.EventIn(&events.Lexicon{}) }

// EventIn decodes one line of many, which share a lexicon.
func (v Verified) EventIn(words *events.Lexicon) events.Event {
	return words.Decode(v.header, int(v.body), v.hash, v.Signed())
}

// OutlineIn decodes one line of many, but for what field facts say that are not
// wanted; see [events.Lexicon.Outline].
func (v Verified) OutlineIn(words *events.Lexicon, wanted func(events.Kind, []byte) bool) (e events.Event, body []byte) {
	return words.Outline(v.header, int(v.body), v.hash, v.Signed(), wanted)
}

// Seal writes an event, signs it, and returns the line. The event's feed must be
// the key's. It fails where the event breaks a rule of shape or is too long.
func Seal(key ed25519.PrivateKey, e *events.Event) (Verified, error) {
	if e.Feed.Key() != events.KeyOf(key.Public().(ed25519.PublicKey)) {
		return Verified{}, ErrWrongKey
	}
	signed, err := e.Encode()
	if err != nil {
		return Verified{}, err
	}
	if len(signed)+tailBytes > MaxLine {
		return Verified{}, fmt.Errorf("seal %s: %w", e.Kind(), ErrTooLong)
	}
	sig := events.Sign(key, message(signed))
	line := append(signed, tailStart...)
	line = append(line, sig...)
	line = append(line, tailEnd...)
	return parse(line)
}

// Open lets in one line that carries a valid signature of its own.
func Open(line []byte) (Verified, error) {
	v, err := parse(line)
	if err != nil {
		return Verified{}, err
	}
	if err := v.CheckSignature(); err != nil {
		return Verified{}, err
	}
	return v, nil
}

// OpenRun lets in lines that follow each other in one feed, vouched for by the
// last of them that is validly signed. It returns those up to that one; the
// rest are not authentic, and err says why. No line at all is no error.
//
// The work is one signature check for each line in the worst case, and one in
// all for a run that is whole.
func OpenRun(lines [][]byte) ([]Verified, error) {
	run, broken := chained(make([]Verified, 0, len(lines)), lines, false)
	run, err := authentic(run)
	return run, cmp.Or(err, broken)
}

// OpenRuns is OpenRun for lines among which some may be missing: a run ends where
// the numbers jump. It goes no further than the first line that is not authentic.
func OpenRuns(lines [][]byte) ([][]Verified, error) {
	var runs [][]Verified
	room := make([]Verified, 0, len(lines)) // of all runs
	for len(lines) > 0 {
		run, broken := chained(room, lines, true)
		room, lines = run[len(run):], lines[len(run):]
		run, err := authentic(run)
		if len(run) > 0 {
			runs = append(runs, run)
		}
		if err = cmp.Or(err, broken); err != nil {
			return runs, err
		}
	}
	return runs, nil
}

// chained parses lines into run, which is empty, for as long as each follows the one
// before. Where jumps are allowed, a jump of the numbers ends them without an error.
func chained(run []Verified, lines [][]byte, jumps bool) ([]Verified, error) {
	var words events.Lexicon
	for _, line := range lines {
		v, err := parseIn(&words, line)
		if err != nil {
			return run, err
		}
		if n := len(run); n > 0 && !v.Follows(run[n-1]) {
			if jumps && v.Seq() != run[n-1].Seq()+1 {
				return run, nil
			}
			return run, ErrChain
		}
		run = append(run, v)
	}
	return run, nil
}

// authentic is a chain up to the last line that is validly signed.
func authentic(run []Verified) ([]Verified, error) {
	for n := len(run); n > 0; n-- {
		if run[n-1].CheckSignature() == nil {
			if n < len(run) {
				return run[:n], ErrSignature
			}
			return run, nil
		}
	}
	if len(run) > 0 {
		return nil, ErrSignature
	}
	return nil, nil
}

// Glance is what a line says it is. Nothing of it is checked but its form: it is good
// for asking further, and for nothing else.
func Glance(line []byte) (events.Ref, error) {
	v, err := parse(line)
	if err != nil {
		return events.Ref{}, err
	}
	return v.Ref(), nil
}

// Trusted makes a Verified of a line whose signature its keeper vouches for: a
// journal that checked it once and has proof that not a byte has changed since.
// It checks everything but the signature.
func Trusted(line []byte) (Verified, error) { return parse(line) }

// TrustedIn is [Trusted] for one line of many, which share a lexicon.
func TrustedIn(words *events.Lexicon, line []byte) (Verified, error) { return parseIn(words, line) }

// Follows says whether v comes right after u in the same feed.
func (v Verified) Follows(u Verified) bool {
	return v.Header().Site == u.Header().Site && v.Feed() == u.Feed() &&
		v.header.Seq == u.header.Seq+1 && v.header.Prev == u.hash
}

// CheckSignature checks the line's own signature. A line that a later one vouches for
// may fail it.
func (v Verified) CheckSignature() error {
	sig := v.line[len(v.line)-tailBytes+len(tailStart) : len(v.line)-len(tailEnd)]
	if !events.Signature(sig).VerifiedBy(v.Feed().Key(), message(v.Signed())) {
		return ErrSignature
	}
	return nil
}

// parse reads the header and the tail, by length alone.
func parse(line []byte) (Verified, error) { return parseIn(&events.Lexicon{}, line) }

func parseIn(words *events.Lexicon, line []byte) (Verified, error) {
	if len(line) > MaxLine {
		return Verified{}, ErrTooLong
	}
	n := len(line) - tailBytes
	if n <= 0 || string(line[n:n+len(tailStart)]) != tailStart || string(line[len(line)-len(tailEnd):]) != tailEnd {
		return Verified{}, ErrTail
	}
	if !events.SpellsSignature(line[n+len(tailStart) : len(line)-len(tailEnd)]) {
		return Verified{}, ErrTail
	}
	if bytes.IndexByte(line, '\n') >= 0 {
		return Verified{}, fmt.Errorf("%w: line feed inside", ErrTail)
	}
	header, body, err := words.ParseHeader(line[:n])
	if err != nil {
		return Verified{}, err
	}
	return Verified{line: line, header: header, body: int32(body), hash: events.HashOf(line[:n])}, nil
}

func message(signed []byte) []byte {
	m := make([]byte, 0, len(domain)+len(signed))
	return append(append(m, domain...), signed...)
}
