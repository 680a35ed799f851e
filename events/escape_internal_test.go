package events

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The rules of shape keep most controls out of events, so only from inside can
// the whole of RFC 8785 §3.2.2.2 be tried.
func TestEscapes(t *testing.T) {
	for s, want := range map[string]string{
		"\u20ac$\u000f\nA'B\"\\\\\"/": `"€$\u000f\nA'B\"\\\\\"/"`, // the example of RFC 8785 §3.2.2
		"\b\t\n\f\r":                  `"\b\t\n\f\r"`,
		"\x00\x01\x1f":                `"\u0000\u0001\u001f"`,
		"\x7f\u0080</&>":              "\"\x7f\u0080</&>\"",
		"":                            `""`,
	} {
		require.Equal(t, want, string(appendString(nil, s)))
	}
	for _, other := range []string{
		`"\u000F"`, `"\u0008"`, `"\u0009"`, `"\u000A"`, `"\u0041"`, `"\u0020"`, `"\/"`, `"\u00"`, `"\u0+1"`, `"\u001"`,
		"\"\x00\"", "\"\n\"", "\"\x1f\\n\"", `"\u001F"`, `"\U001f"`, `"\n`, `"\`, `"`, ``, "\"\\n\xff\"",
	} {
		w := walk{buf: []byte(other), reading: true}
		w.readString()
		require.ErrorIs(t, w.err, errNotCanonical, "%q", other)
	}
}

func TestAnyTextReadsBackAndIsJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.RuneFrom([]rune("\x00\x01\x1f\b\f\n\r\t \"\\/u0é\u2028😀")))).Draw(t, "text")
		quoted := appendString(nil, s)
		w := walk{buf: quoted, reading: true}
		require.Equal(t, s, w.readString())
		require.NoError(t, w.err)
		require.Equal(t, len(quoted), w.pos)
		var plain string
		require.NoError(t, json.Unmarshal(quoted, &plain))
		require.Equal(t, s, plain)
	})
}
