package seal_test

import (
	"bytes"
	"encoding/base64"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

func TestTheDoorRefuses(t *testing.T) {
	v := chain(t, 2)[1]
	line, signed := string(v.Line()), string(v.Signed())
	sig := line[len(line)-90 : len(line)-2]
	prev := v.Prev().String()
	swap := func(old, new string) []byte { return signedAs(benKey, strings.Replace(signed, old, new, 1)) }
	for _, c := range []struct {
		name string
		line []byte
		want error // nil: any
	}{
		{"nothing", nil, seal.ErrTail},
		{"a tail alone", forged(nil, events.Signature(sig)), seal.ErrTail},
		{"no tail", []byte(signed + "}"), seal.ErrTail},
		{"a line feed at the end", []byte(line + "\n"), seal.ErrTail},
		{"a line feed inside", swap(`"body":{`, "\"body\":\n{"), seal.ErrTail},
		{"half a line", []byte(line[:len(line)/2]), seal.ErrTail},
		{"its first byte gone", []byte(line[1:]), nil},
		{"its last byte gone", []byte(line[:len(line)-1]), seal.ErrTail},
		{"a tail with a space", []byte(signed + `, "sig":"` + sig + `"}`), seal.ErrTail},
		{"a tail of another name", []byte(signed + `,"sgn":"` + sig + `"}`), seal.ErrTail},
		{"something after the signature", []byte(signed + `,"sig":"` + sig + `","x":1}`), seal.ErrTail},
		{"a signature too short", []byte(signed + `,"sig":"` + sig[:84] + `"}`), seal.ErrTail},
		{"a signature in hex", []byte(signed + `,"sig":"` + strings.Repeat("0a", 44) + `"}`), seal.ErrTail},
		{"a signature in the URL alphabet", forged([]byte(signed), events.Signature("-_"+sig[2:])), seal.ErrTail},
		{"a signature with its padding bits set", forged([]byte(signed), events.Signature(sig[:85]+string(sig[85]+1)+"==")), seal.ErrTail},
		{"a signature with a carriage return", forged([]byte(signed), events.Signature(sig[:87]+"\r")), seal.ErrTail},
		{"more than 64 KiB", signedAs(benKey, signed+strings.Repeat(" ", 64<<10)), seal.ErrTooLong},
		{"a byte more than 64 KiB", signedAs(benKey, signed+strings.Repeat(" ", 64<<10+1-len(line))), seal.ErrTooLong},

		{"another key", signedAs(fixedKey(9), signed), seal.ErrSignature},
		{"all zeros for a signature", forged([]byte(signed), events.Signature(base64.StdEncoding.EncodeToString(make([]byte, 64)))), seal.ErrSignature},
		{"the signature of the line before", forged([]byte(signed), events.Signature(chain(t, 1)[0].Line()[len(chain(t, 1)[0].Line())-90:][:88])), seal.ErrSignature},
		{"moved to another feed of the key", forged(bytes.Replace([]byte(signed), []byte(benFeed), []byte(feedOf(benKey, 2)), 1), events.Signature(sig)), seal.ErrSignature},

		{"a header in another order", signedAs(benKey, `{"site":"`+string(site)+`","v":1`+strings.TrimPrefix(signed, `{"v":1,"site":"`+string(site)+`"`)), nil},
		{"a header with a space", swap(`"seq":2`, `"seq": 2`), nil},
		{"a header with an extra field", swap(`"seq":2`, `"mood":1,"seq":2`), nil},
		{"no version", swap(`"v":1,`, ``), nil},
		{"version 0", swap(`"v":1`, `"v":0`), nil},
		{"version 1.0", swap(`"v":1`, `"v":1.0`), nil},
		{"no site", swap(`"site":"`+string(site)+`"`, `"site":""`), nil},
		{"a feed that is a path", swap(string(benFeed), "../../etc/passwd"), nil},
		{"seq 0", swap(`"seq":2`, `"seq":0`), nil},
		{"seq 1 after something", swap(`"seq":2`, `"seq":1`), nil},
		{"seq 2 after nothing", swap(prev, ``), nil},
		{"seq 2^53", swap(`"seq":2`, `"seq":9007199254740992`), nil},
		{"seq with a leading zero", swap(`"seq":2`, `"seq":02`), nil},
		{"prev in upper case", swap(prev, strings.ToUpper(prev)), nil},
		{"prev all zero", swap(prev, strings.Repeat("0", 64)), nil},
		{"prev cut short", swap(prev, prev[:16]), nil},
		{"a byte order mark", signedAs(benKey, "\ufeff"+signed), nil},
		{"a space before", signedAs(benKey, " "+signed), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := seal.Open(c.line)
			require.Error(t, err)
			if c.want != nil {
				require.ErrorIs(t, err, c.want)
			}
			run, err := seal.OpenRun([][]byte{c.line})
			require.Error(t, err)
			require.Empty(t, run)
		})
	}
}

// The door looks at nothing else. What it lets in and this version can't read
// is there to be kept, relayed and shown.
func TestTheDoorLetsInWhatIsNotUnderstood(t *testing.T) {
	signed := string(chain(t, 1)[0].Signed())
	envelope := strings.TrimPrefix(signed[:strings.Index(signed, `"kind"`)], header(1, 1, ""))
	for _, c := range []struct {
		name, signed string
		kind         events.Kind
	}{
		{"a later version", header(99, 1, "") + envelope + `"kind":"hub.ready","body":{"hub":"H2"}`, ""},
		{"a later version of another shape", header(2, 1, "") + `,"body":[[[1.5e9]]]`, ""},
		{"an unknown kind", header(1, 1, "") + envelope + `"kind":"hub.purrs","body":{"loud":0.5}`, "hub.purrs"},
		{"a body with spaces", header(1, 1, "") + envelope + `"kind":"hub.ready","body":{ "hub": "H2" }`, "hub.ready"},
		{"a body of floats", header(1, 1, "") + envelope + `"kind":"hub.channel","body":{"hub":"H2","radio":"mesh","channel":25.0}`, "hub.channel"},
		{"a body that is no JSON", header(1, 1, "") + envelope + "\"kind\":\"hub.ready\",\"body\":\xff\x00\r{{{", "hub.ready"},
		{"no body", header(1, 1, "") + `,"mood":"good"`, ""},
		{"nothing but a header", header(1, 1, ""), ""},
		{"an envelope of another shape", header(1, 1, "") + `,"hlc":"noon","kind":"hub.ready","body":{"hub":"H2"}`, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			line := signedAs(benKey, c.signed)
			v, err := seal.Open(line)
			require.NoError(t, err)
			require.Equal(t, string(line), string(v.Line()), "bytes in, bytes out")
			e := v.Event()
			require.False(t, e.Understood())
			require.Equal(t, c.kind, e.Kind())
			require.Equal(t, v.Hash(), e.Hash)
			require.Equal(t, v.Ref(), e.Ref())
			require.NotEmpty(t, e.Payload.String())
		})
	}
}

// Whatever single bit of a sealed line flips, the line is refused.
func TestEveryBitOfALineCounts(t *testing.T) {
	line := chain(t, 2)[1].Line()
	for at := range line {
		for bit := range 8 {
			changed := bytes.Clone(line)
			changed[at] ^= 1 << bit
			_, err := seal.Open(changed)
			require.Error(t, err, "byte %d (%q), bit %d", at, line[at], bit)
		}
	}
}

// Trusted is for a keeper who checked once: it asks for everything but the
// signature.
func TestTrustedChecksAllButTheSignature(t *testing.T) {
	v := chain(t, 1)[0]
	broken := forged(v.Signed(), events.Sign(fixedKey(9), []byte("x")))
	trusted, err := seal.Trusted(broken)
	require.NoError(t, err)
	require.Equal(t, v.Hash(), trusted.Hash())
	require.ErrorIs(t, trusted.CheckSignature(), seal.ErrSignature)
	require.NoError(t, v.CheckSignature())
	_, err = seal.Trusted(v.Line()[1:])
	require.Error(t, err)
}
