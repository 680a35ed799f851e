package invite

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// wrapped breaks text into lines of n.
func wrapped(text string, n int, between string) string {
	var lines []string
	for len(text) > n {
		lines, text = append(lines, text[:n]), text[n:]
	}
	return strings.Join(append(lines, text), between)
}

func TestParseAfterMail(t *testing.T) {
	token := byAna(t, offer(events.Tech))
	text := token.String()
	require.NotContains(t, text, "\n")
	for name, text := range map[string]string{
		"as it was":                 text,
		"wrapped":                   wrapped(text, 72, "\n"),
		"wrapped by another system": wrapped(text, 72, "\r\n"),
		"indented":                  "    " + wrapped(text, 60, "\n    ") + "\n\n",
		"in groups":                 wrapped(text, 4, " "),
		"no-break spaces":           wrapped(text, 40, "\u00a0"),
		"capitals, as from a QR":    strings.ToUpper(text),
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Parse(text)
			require.NoError(t, err)
			require.Equal(t, token, got)
		})
	}
}

func TestParseErrorsSayWhatToDo(t *testing.T) {
	text := byAna(t, offer(events.Tech)).String()
	long := strings.Repeat("pairwalk1:", 2000)
	for _, tt := range []struct {
		name, text string
		err        error
	}{
		{"nothing", "", ErrNotToken},
		{"a greeting", "Dear Ben, here is your invite", ErrNotToken},
		{"another address", "https://harbour.example", ErrNotToken},
		{"no version", "pairwalk:" + text[10:], ErrNotToken},
		{"the start left out", text[5:], ErrNotToken},
		{"a whole file", long, ErrNotToken},
		{"a later version", "pairwalk2:" + text[10:], ErrVersion},
		{"a much later version", "pairwalk10-practice:" + text[10:], ErrVersion},
		{"the prefix alone", "pairwalk1", ErrDamaged},
		{"the prefix and a colon", "pairwalk1:", ErrDamaged},
		{"a broken prefix", "pairwalk1-pracice:" + text[10:], ErrDamaged},
		{"a real one called practice", "pairwalk1-practice:" + text[10:], ErrDamaged},
		{"the end left out", text[:len(text)-1], ErrDamaged},
		{"half of it", text[:len(text)/2], ErrDamaged},
		{"a letter more", text + "a", ErrDamaged},
		{"two in a row", text + text, ErrDamaged},
		{"a letter of no base32", text[:40] + "1" + text[41:], ErrDamaged},
		{"a capital of another alphabet", strings.Replace(text, "k", "\u212a", 1), ErrNotToken},
		{"two letters changed places", text[:60] + text[61:62] + text[60:61] + text[62:], ErrDamaged},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Parse(tt.text)
			require.ErrorIs(t, err, tt.err)
		})
	}
}

// A slip of one letter anywhere is told from a forgery.
func TestEveryLetterCounts(t *testing.T) {
	text := byAna(t, offer(events.Tech)).String()
	for i := len("pairwalk1:"); i < len(text); i++ {
		slip := []byte(text)
		if slip[i]++; slip[i] > 'z' || slip[i] == '8' {
			slip[i] = 'b'
		}
		_, err := Parse(string(slip))
		require.ErrorIs(t, err, ErrDamaged, "letter %d", i)
	}
	for n := range len(text) {
		_, err := Parse(text[:n])
		require.Error(t, err, "cut to %d", n)
	}
}

// textOf makes a token's text of any content, with a checksum that fits: what
// somebody can do who knows the format and has no key.
func textOf(lead string, content []byte) string {
	return lead + ":" + tokenText.EncodeToString(append(bytes.Clone(content), checksum(lead, content)...))
}

func TestEveryByteIsSigned(t *testing.T) {
	token := byAna(t, offer(events.Tech))
	content := appendSignature(token.content(), token.signature)
	_, err := Parse(textOf(prefix, content))
	require.NoError(t, err)
	for i := range content {
		bad := bytes.Clone(content)
		bad[i] ^= 1 << (i % 8)
		_, err := Parse(textOf(prefix, bad))
		require.ErrorIs(t, err, ErrForged, "byte %d", i)
	}
	for n := range content {
		_, err := Parse(textOf(prefix, content[:n]))
		require.ErrorIs(t, err, ErrForged, "cut to %d bytes", n)
	}
	_, err = Parse(textOf(prefix, append(bytes.Clone(content), 0)))
	require.ErrorIs(t, err, ErrForged)
	_, err = decode(append(bytes.Clone(content), 0))
	require.ErrorIs(t, err, errShape)
	_, err = Parse(textOf(prefix+practiceMark, content))
	require.ErrorIs(t, err, ErrForged)
}

// Here the forger has a key: a tech's, a lead's, or a site's of his own.
func TestForgedChains(t *testing.T) {
	good := byAna(t, offer(events.Tech))
	mallory := keyOf(66)
	elsewhere := rootFrom(t, 66)
	bens := bensJoin(t)

	for _, tt := range []struct {
		name  string
		token Token
		err   error
	}{
		{"signed by a stranger", resigned(good, mallory, func(*Token) {}), events.ErrBadGrant},
		{"signed by a tech in the lead's name", resigned(good, benKey, func(*Token) {}), events.ErrBadGrant},
		{"signed by a tech in his own name", resigned(good, benKey, func(t *Token) {
			t.Lead.Value.Key, t.Grant.Issuer = public(benKey), public(benKey)
		}), events.ErrBadProof},
		{"signed by a tech with his join for a lead's", resigned(good, benKey, func(t *Token) {
			t.Lead, t.Grant.Issuer = events.Some(bens), public(benKey)
		}), events.ErrBadGrant},
		{"signed by a tech for the root", resigned(good, benKey, func(t *Token) {
			t.Lead, t.Grant.Issuer = events.Maybe[events.MemberJoined]{}, t.Root
		}), events.ErrBadGrant},
		{"a lead made by a lead", resigned(good, anaKey, func(t *Token) { t.Grant.Role = events.Lead }), events.ErrLeadByLead},
		{"a lead's proof for another site", resigned(good, anaKey, func(t *Token) {
			t.Root, t.Site = elsewhere.Key(), elsewhere.Site()
		}), events.ErrBadProof},
		{"another bus key for the lead", resigned(good, anaKey, func(t *Token) { t.Lead.Value.Bus = public(mallory) }), events.ErrBadProof},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Parse(tt.token.String())
			require.ErrorIs(t, err, ErrForged)
			require.ErrorIs(t, err, tt.err)
			require.Equal(t, Token{}, got)
		})
	}
	t.Run("a grant of another token", func(t *testing.T) {
		token := good
		token.Secret = Secret{1}
		token.signature = events.Sign(anaKey, token.statement())
		_, err := Parse(token.String())
		require.ErrorIs(t, err, events.ErrBadGrant)
	})
	t.Run("signed in part by the lead, as a whole by a stranger", func(t *testing.T) {
		token := good
		token.Meet = []Meeting{{Addr: "10.6.6.6:4222", Key: public(mallory)}}
		token.signature = events.Sign(mallory, token.statement())
		_, err := Parse(token.String())
		require.ErrorIs(t, err, ErrForged)
	})
}

// A lead's program may be bent too: what it signs is shown to people and goes into
// logs, so it keeps to their rules.
func TestForgedShapes(t *testing.T) {
	good := byAna(t, offer(events.Tech))
	for _, tt := range []struct {
		name  string
		token Token
	}{
		{"no role", resigned(good, anaKey, func(t *Token) { t.Grant.Role = "" })},
		{"no site name", resigned(good, anaKey, func(t *Token) { t.SiteName = "" })},
		{"a site name that moves the cursor", resigned(good, anaKey, func(t *Token) { t.SiteName = "Harbour\x1b[2J" })},
		{"a lead's name of two lines", resigned(good, anaKey, func(t *Token) { t.Lead.Value.Name = "Ana\nsays" })},
		{"a meeting point that is none", resigned(good, anaKey, func(t *Token) { t.Meet = []Meeting{{Addr: "x", Key: public(anaBus)}} })},
		{"nine meeting points", resigned(good, anaKey, func(t *Token) {
			for range 8 {
				t.Meet = append(t.Meet, good.Meet[0])
			}
		})},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Parse(tt.token.String())
			require.ErrorIs(t, err, ErrForged)
			require.Equal(t, Token{}, got)
		})
	}
}

// There is one way to write a token, even for who holds the key.
func TestOneEncoding(t *testing.T) {
	token := byAna(t, offer(events.Tech))
	content := token.content()
	sign := func(content []byte) string {
		sig := events.Sign(anaKey, append([]byte(tokenDomain), content...))
		return textOf(prefix, appendSignature(content, sig))
	}
	_, err := Parse(sign(content))
	require.NoError(t, err)
	meetings := len(content) - 8 // count, form, 4 bytes of address, 2 of port

	for name, bad := range map[string][]byte{
		"a flag of no meaning":     append([]byte{content[0] | 0x80}, content[1:]...),
		"a long count":             append(append(bytes.Clone(content[:meetings]), 0x81, 0x00), content[meetings+1:]...),
		"an address not packed":    append(append(bytes.Clone(content[:meetings]), 1, isLeadsBus), "\x11192.168.1.20:4222"...),
		"the lead's key spelt out": append(append(append(bytes.Clone(content[:meetings]), 1, isIPv4), content[meetings+2:]...), anaBus[32:]...),
		"a form of no meaning":     append(append(bytes.Clone(content[:meetings]), 1, isIPv4|isLeadsBus|4), content[meetings+2:]...),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Parse(sign(bad))
			require.ErrorIs(t, err, ErrForged)
		})
	}
}

// Whatever Parse takes is written back the same and makes a join with proof.
func FuzzParse(f *testing.F) {
	token := byAna(f, offer(events.Tech))
	f.Add(token.String())
	f.Add(strings.ToUpper(wrapped(token.String(), 60, "\r\n")))
	f.Add("pairwalk1-practice:abc")
	f.Add("pairwalk2:")
	f.Add("pairwalk1:\u212a\xff")
	f.Fuzz(func(t *testing.T, text string) {
		got, err := Parse(text)
		if err != nil {
			known := errors.Is(err, ErrNotToken) || errors.Is(err, ErrVersion) || errors.Is(err, ErrDamaged) || errors.Is(err, ErrForged)
			require.True(t, known, err)
			return
		}
		again, err := normal(text)
		require.NoError(t, err)
		require.Equal(t, again, got.String())
		join := got.Join("Ben", "", public(benKey), public(benBus))
		require.NoError(t, join.Proven(got.Site, events.NewFeedID(public(benKey), [8]byte{})))
	})
}

// The decoder sees any bytes once somebody makes the checksum fit.
func FuzzDecode(f *testing.F) {
	token := byAna(f, offer(events.Tech))
	f.Add(appendSignature(token.content(), token.signature))
	f.Add([]byte{0xff})
	f.Add(bytes.Repeat([]byte{0xff}, 700))
	f.Fuzz(func(t *testing.T, content []byte) {
		got, err := decode(content)
		if err != nil {
			require.ErrorIs(t, err, errShape)
			return
		}
		require.LessOrEqual(t, len(got.Meet), meetMost+1, fmt.Sprint(len(content)))
	})
}
