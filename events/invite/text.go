package invite

import (
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"fmt"
	"strings"
	"unicode"
)

// Errors of Parse. Each says what to do.
var (
	ErrNotToken = errors.New("this is not an invite: an invite begins with pairwalk1")
	ErrVersion  = errors.New("this invite was made by another version of pairwalk: install the version your lead has")
	ErrDamaged  = errors.New("this invite is mistyped or cut off: copy it again, from its first character to its last")
	ErrForged   = errors.New("this invite does not prove that it comes from the site it names: do not use it, and ask your lead for a new one")
)

const (
	brand         = "pairwalk"
	prefix        = brand + "1"
	practiceMark  = "-practice"
	checksumBytes = 4
	textMost      = 16 << 10
)

// tokenText is RFC 4648 base32 in lower case, without padding: no sign in it gets
// lost in a mail, and a QR code holds its capitals in five and a half bits.
var tokenText = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// String is the token as one line of text: the secret included, for that is what
// an invite is.
func (t Token) String() string {
	lead := prefix
	if t.Practice {
		lead += practiceMark
	}
	content := appendSignature(t.content(), t.signature)
	content = append(content, checksum(lead, content)...)
	return lead + ":" + tokenText.EncodeToString(content)
}

// GoString keeps the secret out of debugging output.
func (t Token) GoString() string { return "invite to site " + string(t.Site) }

// Parse reads what String writes, and takes nothing that does not prove itself up
// to the root key it names. White space and capitals do not matter. Its error is
// one of the four above; whether the invite has expired is for the caller to ask.
func Parse(text string) (Token, error) {
	text, err := normal(text)
	if err != nil {
		return Token{}, err
	}
	lead, body, _ := strings.Cut(text, ":")
	switch rest, ours := strings.CutPrefix(lead, brand); {
	case !ours:
		return Token{}, ErrNotToken
	case lead != prefix && lead != prefix+practiceMark:
		return Token{}, otherVersion(rest)
	}
	content, err := tokenText.DecodeString(body)
	if err != nil || len(content) < checksumBytes || tokenText.EncodeToString(content) != body {
		return Token{}, ErrDamaged
	}
	content, sum := content[:len(content)-checksumBytes], content[len(content)-checksumBytes:]
	if string(checksum(lead, content)) != string(sum) {
		return Token{}, ErrDamaged
	}
	t, err := decode(content)
	if err == nil {
		err = t.check()
	}
	if err == nil && t.String() != text {
		err = errors.New("not in its one encoding")
	}
	if err != nil {
		return Token{}, fmt.Errorf("%w (%w)", ErrForged, err)
	}
	return t, nil
}

// normal drops white space and puts capitals down, by ASCII rules alone.
func normal(text string) (string, error) {
	if len(text) > textMost {
		return "", ErrNotToken
	}
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return -1
		case r >= 'A' && r <= 'Z':
			return r + ('a' - 'A')
		}
		return r
	}, text), nil
}

// otherVersion tells a later version's prefix from a broken one of ours.
func otherVersion(rest string) error {
	version := rest[:len(rest)-len(strings.TrimLeft(rest, "0123456789"))]
	switch version {
	case "":
		return ErrNotToken
	case "1":
		return ErrDamaged
	}
	return ErrVersion
}

func checksum(lead string, content []byte) []byte {
	sum := sha256.Sum256(append([]byte(lead), content...))
	return sum[:checksumBytes]
}
