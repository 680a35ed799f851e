package events_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// outlineOf is what an outline tells of a line.
func outlineOf(t *testing.T, signed []byte) (events.Event, []byte) {
	t.Helper()
	var words events.Lexicon
	h, n, err := words.ParseHeader(signed)
	require.NoError(t, err)
	return words.Outline(h, n, events.HashOf(signed), signed, func(events.Kind, []byte) bool { return false })
}

// An outline and then the body tell what the whole line does, of every kind; of records
// the outline tells all.
func TestAnOutlineIsTheLineWithoutWhatFactsSay(t *testing.T) {
	for _, v := range vectors() {
		for _, p := range v.payloads() {
			signed, err := benSays(p).Encode()
			require.NoError(t, err)
			want, err := events.Decode(signed)
			require.NoError(t, err)
			got, body := outlineOf(t, signed)
			require.Equal(t, want.Kind(), got.Kind())
			require.True(t, got.Understood())
			if want.Kind().IsRecord() {
				require.Nil(t, body)
			} else {
				unread, ok := got.Payload.(events.Unread)
				require.True(t, ok, "%s was read", want.Kind())
				require.Empty(t, unread.Subjects())
				got.Payload = unread.Read(body)
			}
			require.Equal(t, want, got)
		}
	}
}

// What can't be understood is so to both: at once, or once the body is read.
func TestAnOutlineOfWhatIsNotUnderstood(t *testing.T) {
	signed, err := benSays(events.HubReady{Hub: "H2"}).Encode()
	require.NoError(t, err)
	for name, change := range map[string][2]string{
		"another version": {`{"v":1`, `{"v":2`},
		"a kind to come":  {`"hub.ready"`, `"hub.sings"`},
		"an envelope":     {`"hlc":[`, `"hlc":[0`},
		"a body":          {`{"hub":"H2"}`, `{"hub":""}`},
		"no body":         {`{"hub":"H2"}`, ``},
	} {
		t.Run(name, func(t *testing.T) {
			bad := replaceOnce(t, signed, change[0], change[1])
			want, err := events.Decode(bad)
			require.NoError(t, err)
			require.False(t, want.Understood())
			got, body := outlineOf(t, bad)
			if unread, ok := got.Payload.(events.Unread); ok {
				got.Payload = unread.Read(body)
			}
			require.Equal(t, want, got)
		})
	}
}

func replaceOnce(t *testing.T, b []byte, old, fresh string) []byte {
	t.Helper()
	require.Equal(t, 1, bytes.Count(b, []byte(old)), "%s in %s", old, b)
	return bytes.Replace(b, []byte(old), []byte(fresh), 1)
}
