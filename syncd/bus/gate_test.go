package bus

import (
	"bufio"
	"crypto/ed25519"
	"encoding/base64"
	"flag"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"text/tabwriter"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/stretchr/testify/require"

	"pairwalk/events/journal/journaltest"
)

var update = flag.Bool("update", false, "write the table of who may say and hear what anew")

// alone is a member's server with nobody on it, whose counts are a test's own.
func alone(t *testing.T, h *hand) *hub {
	t.Helper()
	b, err := startHub(newGate(h, h.id(), func(Notice) {}), journaltest.Site(), "127.0.0.1:0", usual.ping, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	t.Cleanup(b.stop)
	return b
}

// subjects that Kim tries, where Ann's is the server and Ben another member.
func subjects(ann, ben, kim *hand) []string {
	a, b, k := ann.id(), ben.id(), kim.id()
	return []string{
		toAll(sayHere, k), toAll(sayHere, b), toAll(sayHere, "*"),
		toAll(sayChanged, k), toAll(sayChanged, b), toAll(sayChanged, "*"),
		toAll(sayGone, k), toAll(sayGone, b), toAll(sayGone, "*"),
		request(b, k, askHave), request(b, k, askPull), request(b, k, askClock), request(b, k, askHeld), request(b, k, askPiece), request(b, k, "other"),
		request(b, a, askHave), request(b, a, askPull), request(b, a, askClock), request(b, a, askHeld), request(b, a, askPiece),
		request(b, "*", askHave), request(b, "*", askPull), request(b, "*", askClock), request(b, "*", askHeld), request(b, "*", askPiece),
		request(k, "*", askHave), request(k, "*", askPull), request(k, "*", askClock), request(k, "*", askHeld), request(k, "*", askPiece), request(k, "*", "other"),
		request("*", "*", askPull), "m.>",
		inbox(k, b, "token"), inbox(k, "*", "*"), "in." + string(k) + ".>",
		inbox(b, k, "token"), inbox(b, a, "token"), inbox(b, "*", "*"), "in." + string(b) + ".>", "in.>",
		"$SRV.PING", "$SRV.INFO.pairwalk", "$SYS.>", "$SYS.REQ.USER.INFO", "$SYS.REQ.SERVER.PING", "$JS.API.INFO", "$JS.>",
		"_INBOX.token", "_INBOX.>", "have", "other", "*", ">",
	}
}

// attempt is a way to come in as Kim, or as somebody else.
type attempt struct {
	name    string
	present func(*wire)
}

func attempts(t *testing.T, ann, kim, viewer, revoked, stranger *hand) []attempt {
	other := alone(t, kim) // a server of Kim's own, where Ann calls in good faith
	return []attempt{
		{"member", func(w *wire) { w.presents(kim.key, w.sign(kim.key), kim.joined) }},
		{"viewer", func(w *wire) { w.presents(viewer.key, w.sign(viewer.key), viewer.joined) }},
		{"no key", func(w *wire) { w.presents(nil, "", kim.joined) }},
		{"stranger", func(w *wire) { w.presents(stranger.key, w.sign(stranger.key), kim.joined) }},
		{"revoked", func(w *wire) { w.presents(revoked.key, w.sign(revoked.key), revoked.joined) }},
		{"other's key", func(w *wire) { w.presents(ann.key, w.sign(kim.key), ann.joined) }},
		{"relayed", func(w *wire) { // what a third signed for Kim's server, over this very nonce
			sig := ed25519.Sign(viewer.key, statement(keyText(kim.key), w.nonce))
			w.presents(viewer.key, base64.RawURLEncoding.EncodeToString(sig), viewer.joined)
		}},
		{"replayed", func(w *wire) { // what a third signed on an earlier call
			w.presents(viewer.key, signedAt(t, w.RemoteAddr().String(), viewer.key), viewer.joined)
		}},
		{"bare nonce", func(w *wire) { // what nats.go signs for any server
			w.presents(kim.key, base64.RawURLEncoding.EncodeToString(ed25519.Sign(kim.key, w.nonce)), kim.joined)
		}},
		{"other server", func(w *wire) { // a signature from a call at Kim's own server
			w.presents(viewer.key, signedAt(t, other.listen.String(), viewer.key), viewer.joined)
		}},
	}
}

// signedAt is a key's signature for a call that was hung up again.
func signedAt(t *testing.T, addr string, key ed25519.PrivateKey) string {
	w := rings(t, addr)
	defer w.Close()
	return w.sign(key)
}

// Who may say and hear what, tried from outside, as a table in testdata. A cell
// is hear/say; "out" is somebody who was not let in.
func TestGate(t *testing.T) {
	var site roster
	ann, ben, kim := site.hire("Ann", 1), site.hire("Ben", 2), site.hire("Kim", 3)
	viewer, revoked := site.hire("Viv", 4), site.hire("Rob", 5)
	site.bar(revoked.id(), "was revoked")
	stranger := site.stranger("Sam", 6)
	h := alone(t, ann)
	all := attempts(t, ann, kim, viewer, revoked, stranger)

	rows := [][]string{{"subject"}}
	for _, s := range subjects(ann, ben, kim) {
		rows = append(rows, []string{s})
	}
	for _, a := range all {
		rows[0] = append(rows[0], a.name)
		me := kim
		if a.name == "viewer" {
			me = viewer
		}
		for i, cell := range tried(t, h, a, subjects(ann, ben, me)) {
			rows[i+1] = append(rows[i+1], cell)
		}
	}
	names := strings.NewReplacer(string(ann.id()), "ANN", string(ben.id()), "BEN", string(kim.id()), "ME")
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintln(w, names.Replace(strings.Join(r, "\t")))
	}
	require.NoError(t, w.Flush())
	golden(t, "gate.txt", b.String())
}

// tried is what a server makes of an attempt, also as seen from inside.
func tried(t *testing.T, h *hub, a attempt, subjects []string) []string {
	// What an earlier connection sent counts once the server has let go of it.
	require.Eventually(t, func() bool { return h.nats.NumClients() == 0 }, patience, time.Millisecond, "the one before %s is gone", a.name)
	before := counts(t, h)
	w := rings(t, h.listen.String())
	defer w.Close()
	a.present(w)
	cells := w.tries(subjects)
	if cells[0] == "out" {
		require.Equal(t, before, counts(t, h), "%s got something through", a.name)
	}
	return cells
}

// counts is how many subscriptions a server holds, and how many messages it took.
func counts(t *testing.T, h *hub) [2]int64 {
	v, err := h.nats.Varz(&server.VarzOptions{})
	require.NoError(t, err)
	return [2]int64{int64(v.Subscriptions), v.InMsgs}
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), got, "run with -update if this is meant")
}

// A reply subject is any sender's choice. With allow_responses a member that
// writes to itself could thereby speak on every subject there is.
func TestNobodyGainsASubjectByReply(t *testing.T) {
	var site roster
	ann, ben, kim := site.hire("Ann", 1), site.hire("Ben", 2), site.hire("Kim", 3)
	w := rings(t, alone(t, ann).listen.String())
	w.presents(kim.key, w.sign(kim.key), kim.joined)
	w.writes("SUB changed.* 1\r\n")
	w.writes("PUB %s %s 2\r\nhi\r\n", toAll(sayChanged, kim.id()), toAll(sayChanged, ben.id()))
	said, open := w.hears()
	require.True(t, open)
	require.Contains(t, said, "MSG "+toAll(sayChanged, kim.id()), "our own echo")
	w.writes("PUB %s 2\r\nhi\r\n", toAll(sayChanged, ben.id()))
	said, _ = w.hears()
	require.Contains(t, said, "Permissions Violation for Publish")
}

// The join line that somebody shows is handed to the log's judgement as it is.
func TestJoinIsShown(t *testing.T) {
	var site roster
	ann, kim := site.hire("Ann", 1), site.hire("Kim", 2)
	w := rings(t, alone(t, ann).listen.String())
	w.presents(kim.key, w.sign(kim.key), nil)
	_, open := w.hears()
	require.False(t, open)
	require.Equal(t, []string{"showed no join"}, ann.refusals)
}

// Our own line comes through the process, with its key like everybody's: without
// one not even that way leads in.
func TestOwnPipeNeedsTheKey(t *testing.T) {
	var site roster
	h := alone(t, site.hire("Ann", 1))
	pipe, err := h.InProcessConn()
	require.NoError(t, err)
	defer pipe.Close()
	r := bufio.NewReader(pipe)
	line, err := r.ReadString('\n')
	require.NoError(t, err)
	require.Contains(t, line, `"nonce":`)
	_, err = fmt.Fprint(pipe, "CONNECT {}\r\n")
	require.NoError(t, err)
	line, err = r.ReadString('\n')
	require.NoError(t, err)
	require.Contains(t, line, "Authorization Violation")
}

// What a client may send is bounded before and after it is known.
func TestLimits(t *testing.T) {
	var site roster
	ann, kim := site.hire("Ann", 1), site.hire("Kim", 2)
	h := alone(t, ann)
	for name, c := range map[string]struct {
		say  func(*wire)
		hear string
	}{
		"a long CONNECT": {func(w *wire) { w.presents(kim.key, w.sign(kim.key), make([]byte, maxControl)) }, "maximum control line exceeded"},
		"a large message": {func(w *wire) {
			w.presents(kim.key, w.sign(kim.key), kim.joined)
			w.writes("PUB %s %d\r\n", toAll(sayChanged, kim.id()), maxPayload+1)
		}, "Maximum Payload Violation"},
		"subscriptions without end": {func(w *wire) {
			w.presents(kim.key, w.sign(kim.key), kim.joined)
			for i := range maxSubs + 1 {
				w.writes("SUB here.* %d\r\n", i)
			}
		}, "maximum subscriptions exceeded"},
		"nonsense": {func(w *wire) { w.writes("GET / HTTP/1.1\r\n") }, "Authorization Violation"},
	} {
		t.Run(name, func(t *testing.T) {
			w := rings(t, h.listen.String())
			c.say(w)
			said, _ := w.hears()
			require.Contains(t, said, c.hear)
		})
	}
}

// Callers who come and go are not remembered for ever.
func TestGateForgets(t *testing.T) {
	var site roster
	h := alone(t, site.hire("Ann", 1))
	kim := site.hire("Kim", 2)
	h.gate.mu.Lock()
	for i := range 2 * maxConns {
		h.gate.in[uint64(1_000_000+i)] = caller{key: kim.id()}
	}
	h.gate.mu.Unlock()
	w := rings(t, h.listen.String())
	w.presents(kim.key, w.sign(kim.key), kim.joined)
	_, open := w.hears()
	require.True(t, open)
	h.gate.mu.Lock()
	defer h.gate.mu.Unlock()
	require.Len(t, h.gate.in, 1)
}
