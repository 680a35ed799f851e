package bus

import (
	"net"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal/journaltest"
)

// A knock finds out who answers, and neither side says a word.
func TestKnock(t *testing.T) {
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	served := ann.sits(t, "127.0.0.1:0")
	require.NoError(t, Knock(t.Context(), served.addr(), journaltest.Site(), ann.id()))
	require.ErrorIs(t, Knock(t.Context(), served.addr(), journaltest.Site(), ben.id()), ErrOther, "Ann's device stands where Ben's was")

	quiet := feints(t, ann.key, "")
	require.NoError(t, Knock(t.Context(), quiet.addr, journaltest.Site(), ann.id()))
	require.Empty(t, <-quiet.said)

	clear := feints(t, nil, "INFO {}\r\n")
	require.ErrorIs(t, Knock(t.Context(), clear.addr, journaltest.Site(), ann.id()), ErrOther, "no bus at all")

	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, ln.Close())
	require.ErrorContains(t, Knock(t.Context(), ln.Addr().String(), journaltest.Site(), ann.id()), "nobody answers there")
	require.ErrorContains(t, Knock(t.Context(), "nowhere", journaltest.Site(), ann.id()), "give it as host:port")

	served.mu.Lock()
	defer served.mu.Unlock()
	for _, n := range served.seen {
		require.NotEqual(t, Refused, n.Kind, "whoever is knocked at is not troubled with it")
	}
}
