package bus

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// FuzzSenderOf reads who spoke from any subject, and who would be answered: a name
// read from where the server holds it to its sender is a key, and never our own.
func FuzzSenderOf(f *testing.F) {
	self, other := keyText(busKey(1)), keyText(busKey(2))
	for _, s := range []string{
		toAll(sayHere, other), toAll(sayChanged, self), request(self, other, askPull), inbox(self, other, "TOKEN"), inbox(other, self, hello),
		"", ".", "m..", "in.*.>.x", "here." + string(other) + ".x", strings.Repeat(".", 300),
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, subject string) {
		for n := range 5 {
			from, ok := senderOf(subject, n, self)
			if !ok {
				continue
			}
			require.NotEqual(t, self, from)
			_, err := from.Public()
			require.NoError(t, err)
			require.Equal(t, string(from), strings.Split(subject, ".")[n])
			require.NotContains(t, string(from), "*")
			for _, allowed := range permissions(from).Publish.Allow {
				require.Contains(t, allowed, string(from), "whoever it is speaks for itself alone")
			}
		}
	})
}

// FuzzCheckNonce asks for a signature under anything: only what looks drawn is
// signed, and what is signed can't be taken for anything else that keys sign.
func FuzzCheckNonce(f *testing.F) {
	for _, s := range []string{"AbCdEf_-0123456", "", "short", strings.Repeat("a", 65), "pairwalk member v1\n", "AbCdEf_-012345\n6", `{"v":1,"site":"x"}`} {
		f.Add([]byte(s))
	}
	server := keyText(busKey(1))
	f.Fuzz(func(t *testing.T, nonce []byte) {
		if checkNonce(nonce) != nil {
			return
		}
		said := string(statement(server, nonce))
		require.NotContains(t, string(nonce), "\n")
		require.True(t, strings.HasPrefix(said, domain+string(server)+"\n"))
		require.Equal(t, 2, strings.Count(said, "\n"))
		_, _, err := events.ParseHeader([]byte(said))
		require.Error(t, err, "no entry begins like this")
	})
}
