package bus

import (
	"crypto/ed25519"
	"encoding/json"
	"net"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// A server of a member gone bad: TLS is right, what it then asks to be signed is
// not. Nothing may come back.
func TestNothingOddIsSigned(t *testing.T) {
	for name, nonce := range map[string]string{
		"an event":   "pairwalk event v1\n{\"v\":1,\"site\":\"…",
		"a call":     "pairwalk bus v1\nabc\nAAAAAAAAAAAAAAA",
		"an invite":  "pairwalk invite v1\n",
		"empty":      "",
		"short":      "AAAAAAAAAAAAAA",
		"long":       strings.Repeat("A", nonceMost+1),
		"plain text": "sign.this.please",
		"line feed":  "AAAAAAA\nAAAAAAA",
		"not ASCII":  "AAAAAAAAAAAAAÄ",
	} {
		t.Run(name, func(t *testing.T) {
			var site roster
			ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
			info, err := json.Marshal(map[string]any{"server_id": "x", "proto": 1, "headers": true, "max_payload": 1 << 20, "tls_required": true, "auth_required": true, "nonce": nonce})
			require.NoError(t, err)
			f := feints(t, ann.key, "INFO "+string(info)+"\r\n")
			b := ben.sits(t, "")
			b.Call(f.addr)
			require.Empty(t, <-f.said, "said to a server that asks for %q", nonce)
			b.hears(Unreachable, "", 1)
			require.Contains(t, b.Calls()[0].Why, errNotBus.Error())
		})
	}
}

// The same server with an honest nonce gets exactly one thing signed, which is of
// no use anywhere else.
func TestWhatIsSigned(t *testing.T) {
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	const nonce = "AbCdEf_-0123456"
	f := feints(t, ann.key, `INFO {"server_id":"x","proto":1,"headers":true,"max_payload":1048576,"nonce":"`+nonce+`"}`+"\r\n-ERR 'Authorization Violation'\r\n")
	b := ben.sits(t, "")
	b.Call(f.addr)
	said := string(<-f.said)
	require.True(t, strings.HasPrefix(said, "CONNECT {"))
	var c struct{ Nkey, Sig string }
	line, _, _ := strings.Cut(strings.TrimPrefix(said, "CONNECT "), "\r\n")
	require.NoError(t, json.Unmarshal([]byte(line), &c))
	key, err := proven(c.Nkey, c.Sig, ann.id(), []byte(nonce))
	require.NoError(t, err)
	require.Equal(t, ben.id(), key)
	for _, server := range []events.Key{ben.id(), ""} {
		_, err = proven(c.Nkey, c.Sig, server, []byte(nonce))
		require.ErrorIs(t, err, errSignature)
	}
	_, err = proven(c.Nkey, c.Sig, ann.id(), []byte("another-nonce-0"))
	require.ErrorIs(t, err, errSignature)
	b.hears(Unreachable, "", 1)
	require.Contains(t, b.Calls()[0].Why, "ask a lead")
}

// A server that greets in clear learns nothing: no CONNECT, no key, no name.
func TestNothingIsSaidInClear(t *testing.T) {
	var site roster
	ben := site.hire("Ben", 2)
	f := feints(t, nil, `INFO {"server_id":"x","proto":1,"max_payload":1048576,"nonce":"AbCdEf_-0123456"}`+"\r\n")
	b := ben.sits(t, "")
	b.Call(f.addr)
	said := <-f.said
	require.Equal(t, byte(0x16), said[0], "a TLS handshake")
	require.NotContains(t, string(said), "CONNECT")
	require.NotContains(t, string(said), b.nkey)
	b.hears(Unreachable, "", 1)
	require.Contains(t, b.Calls()[0].Why, errNotBus.Error())
}

// The certificate tells whose key it is, and nothing of the site or the person.
func TestCertificateTellsNothing(t *testing.T) {
	var site roster
	ann := site.hire("Ann", 1)
	h := alone(t, ann)
	w := rings(t, h.listen.String())
	require.Equal(t, ann.id(), w.server)
	cert := w.ConnectionState().PeerCertificates[0]
	require.Empty(t, cert.Subject.String())
	require.Empty(t, cert.Issuer.String())
	require.Empty(t, cert.DNSNames)
	require.Empty(t, cert.Extensions[1:], "key usage alone")
	require.NotContains(t, string(cert.Raw), string(h.gate.account.Name))
}

func TestWhyNot(t *testing.T) {
	var site roster
	ann, ben := site.hire("Ann", 1), site.hire("Ben", 2)
	stranger := site.stranger("Sam", 3)
	closed, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, closed.Close())
	own := ben.sits(t, "127.0.0.1:0")
	for name, c := range map[string]struct{ addr, why string }{
		"nobody there":   {closed.Addr().String(), "nobody answers there"},
		"no such name":   {"no-such-host.invalid:24517", "no such name"},
		"no port":        {"127.0.0.1", "host:port"},
		"a stranger":     {alone(t, stranger).listen.String(), errNotMember.Error()},
		"ourselves":      {own.addr(), errSelf.Error()},
		"something else": {feints(t, nil, "HTTP/1.1 400 Bad Request\r\n\r\n").addr, errNotBus.Error()},
	} {
		t.Run(name, func(t *testing.T) {
			own.Call(c.addr)
			own.until("told why", func() bool { return strings.Contains(why(own, c.addr), c.why) })
		})
	}
	site.bar(ben.id(), "was revoked") // Ann's server knows; we don't
	addr := alone(t, ann).listen.String()
	own.Call(addr)
	own.until("refused", func() bool { return strings.Contains(why(own, addr), "refused us") })
	require.Empty(t, own.Peers())
}

// why is how it stands with an address.
func why(d *desk, addr string) string {
	for _, c := range d.Calls() {
		if c.Addr == addr {
			return c.Why
		}
	}
	return ""
}

// Each reason is told once, however often a call fails for it.
func TestReasonToldOnce(t *testing.T) {
	var site roster
	ben := site.hire("Ben", 2).sits(t, "")
	addr := alone(t, site.stranger("Sam", 3)).listen.String()
	ben.Call(addr)
	ben.until("called often", func() bool {
		ben.Call(addr) // at once, not after a pause
		return ben.Calls()[0].Attempts > 10
	})
	require.Equal(t, 1, ben.count(Unreachable, ""))
}

func TestTwoAddressesOfOneServer(t *testing.T) {
	var site roster
	a, b := site.hire("Ann", 1).sits(t, "127.0.0.1:0"), site.hire("Ben", 2).sits(t, "")
	b.Call(a.addr())
	b.hears(Up, a.id(), 1)
	again := strings.Replace(a.addr(), "127.0.0.1", "localhost", 1)
	b.Call(again)
	b.until("told that it is the same", func() bool { return why(b, again) == errTwice.Error() })
	require.Equal(t, 1, b.count(Up, a.id()))
}

// A call that leads where we are already is no news and lacks nothing: it shows
// as spare, until it is needed.
func TestSpareCalls(t *testing.T) {
	var site roster
	ann := site.hire("Ann", 1)
	a, b := ann.sits(t, "127.0.0.1:0"), site.hire("Ben", 2).sits(t, "127.0.0.1:0")
	first := a.addr()
	second := strings.Replace(first, "127.0.0.1", "localhost", 1)
	b.Call(first)
	b.hears(Up, a.id(), 1)
	b.Call(second)
	b.Call(b.addr())
	b.until("both tried", func() bool { return why(b, second) == errTwice.Error() && why(b, b.addr()) == errSelf.Error() })
	require.Equal(t, map[string]bool{first: false, second: true, b.addr(): true}, spare(b))

	require.NoError(t, a.Close())
	b.hears(Unreachable, "", 2) // by either address; only now is anybody out of reach
	require.Equal(t, map[string]bool{first: false, second: false, b.addr(): true}, spare(b))
	require.NotContains(t, b.story(), errTwice.Error())
	require.NotContains(t, b.story(), errSelf.Error())

	a = ann.sits(t, first)
	b.hears(Up, a.id(), 2)
	b.until("one up and one spare", func() bool { s := spare(b); return s[first] != s[second] })
}

// spare is which addresses a desk calls at to no end.
func spare(d *desk) map[string]bool {
	out := map[string]bool{}
	for _, c := range d.Calls() {
		out[c.Addr] = c.Spare
	}
	return out
}

func FuzzProven(f *testing.F) {
	key := busKey(1)
	nkey, err := nkeyOf(publicOf(key))
	require.NoError(f, err)
	f.Add(nkey, "AAAA", "AbCdEf_-0123456")
	f.Add("", "", "")
	f.Add("UAAA", "====", "\n")
	f.Fuzz(func(t *testing.T, nkey, sig, nonce string) {
		k, err := proven(nkey, sig, keyText(key), []byte(nonce))
		if err == nil { // only who holds a key gets here
			pub, err := k.Public()
			require.NoError(t, err)
			require.Len(t, pub, ed25519.PublicKeySize)
		}
	})
}
