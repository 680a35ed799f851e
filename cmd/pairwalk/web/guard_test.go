package web_test

import (
	"bufio"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
)

// Everything that may be asked and told, as the package doc lists it.
var (
	questions = strings.Fields("now hubs status trouble story show reach layout course team settings channels walk leave explain differs checks faults pictures doctor bundle handover hello changes picture/" + noPicture)
	acts      = strings.Fields("log void correct exchange resolve asked assign admit revoke set import fieldsheet invite " +
		"bundle records homecoming merged picture drawing label call hangup")
)

const noPicture = "0000000000000000000000000000000000000000000000000000000000000000"

// routes are all of them, as METHOD /path.
func routes() []string {
	var out []string
	for _, q := range questions {
		out = append(out, "GET /api/"+q)
	}
	for _, a := range acts {
		out = append(out, "POST /api/"+a)
	}
	return out
}

// TestTheRoutesAreTheOnesOfTheDoc reads the sources, so that no route comes to be
// that these tests, or the doc, do not know of.
func TestTheRoutesAreTheOnesOfTheDoc(t *testing.T) {
	source := func(file string) string {
		b, err := os.ReadFile(file)
		require.NoError(t, err)
		return strings.ReplaceAll(string(b), "//\t", "")
	}
	var routed []string
	for _, m := range regexp.MustCompile(`HandleFunc\("(GET|POST) /api/([a-z]+)`).FindAllStringSubmatch(source("page.go"), -1) {
		routed = append(routed, m[1]+" "+m[2])
	}
	for file, method := range map[string]string{"ask.go": "GET", "tell.go": "POST"} {
		body := regexp.MustCompile(`(?s)return map\[string\](?:question|act)\{(.*?)\n\t\}`).FindStringSubmatch(source(file))
		require.NotNil(t, body, file)
		for _, m := range regexp.MustCompile(`"([a-z]+)": *(?:telling\()?p\.`).FindAllStringSubmatch(body[1], -1) {
			routed = append(routed, method+" "+m[1])
		}
	}
	var tested []string
	for _, r := range routes() {
		method, path, _ := strings.Cut(r, " /api/")
		name, _, _ := strings.Cut(path, "/")
		tested = append(tested, method+" "+name)
	}
	require.ElementsMatch(t, tested, routed)

	doc := strings.ReplaceAll(source("doc.go"), "\n//", "")
	var said []string
	for method, lead := range map[string]string{"GET": "GET asks: ", "POST": "POST records: "} {
		_, list, ok := strings.Cut(doc, lead)
		require.True(t, ok)
		list, _, _ = strings.Cut(list, ".")
		for _, word := range regexp.MustCompile(`[a-z]+`).FindAllString(strings.ReplaceAll(list, "/SHA256", ""), -1) {
			said = append(said, method+" "+word)
		}
	}
	require.ElementsMatch(t, tested, append(said, "GET changes")) // which the doc tells of by itself
}

func plain(x *page, route string) *http.Request {
	method, path, _ := strings.Cut(route, " ")
	return x.request(method, path, nil, func(r *http.Request) { r.Header.Del("Authorization") })
}

func TestNothingIsToldWithoutTheToken(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	for name, give := range map[string]func(*http.Request){
		"none":                func(r *http.Request) {},
		"wrong":               func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+strings.Repeat("a", len(token))) },
		"the start of it":     func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+token[:len(token)-1]) },
		"longer":              func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+token+"x") },
		"twice":               func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+token+" "+token) },
		"empty":               func(r *http.Request) { r.Header.Set("Authorization", "Bearer ") },
		"in another case":     func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+strings.ToUpper(token)) },
		"under another name":  func(r *http.Request) { r.Header.Set("Authorization", "Basic "+token) },
		"under no name":       func(r *http.Request) { r.Header.Set("Authorization", token) },
		"in the query":        func(r *http.Request) { r.URL.RawQuery = "t=" + token + "&token=" + token + "&access_token=" + token },
		"in a cookie":         func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "token", Value: token}) },
		"in a second header":  func(r *http.Request) { r.Header["Authorization"] = []string{"Bearer x", "Bearer " + token} },
		"as another's header": func(r *http.Request) { r.Header.Set("Proxy-Authorization", "Bearer "+token) },
	} {
		t.Run(name, func(t *testing.T) {
			for _, route := range routes() {
				r := plain(x, route)
				give(r)
				refused(t, http.StatusUnauthorized, x.ask(r))
			}
		})
	}
	require.Len(t, x.member.entries(), before)
	require.Empty(t, x.met.told)
}

func TestEveryRouteOfTheDocIsThere(t *testing.T) {
	x := small(t).serve()
	for _, route := range routes() {
		if route == "GET /api/changes" {
			continue // it does not end
		}
		method, path, _ := strings.Cut(route, " ")
		a := x.ask(x.request(method, path, nil))
		require.NotContains(t, []int{http.StatusUnauthorized, http.StatusForbidden, http.StatusMethodNotAllowed}, a.code, route)
		require.NotContains(t, string(a.body), "no such page", route)
	}
}

func TestThePageItselfNeedsNoTokenAndTellsNothingOfTheSite(t *testing.T) {
	x := small(t).serve()
	info := x.member.Info()
	for _, path := range append(referred(t, x), "/") {
		a := x.ask(plain(x, "GET "+path))
		require.Equal(t, http.StatusOK, a.code, path)
		for _, told := range []string{info.Name, string(info.ID), string(info.Key), "2-114", token} {
			require.NotContains(t, string(a.body), told, path)
		}
	}
	for _, path := range []string{"/index.html", "/page", "/api", "/api/", "/api/nothing", "/../web.go", "/page/page.js", "/.git", "/page.js/"} {
		a := x.ask(plain(x, "GET "+path))
		require.NotEqual(t, http.StatusOK, a.code, path)
	}
}

// referred are the files that the page names.
func referred(t *testing.T, x *page) []string {
	var out []string
	for _, m := range regexp.MustCompile(`(?:href|src)="([a-z.]+)\?([0-9a-f]{16})"`).FindAllStringSubmatch(string(x.get("/").body), -1) {
		out = append(out, "/"+m[1]+"?"+m[2])
	}
	require.GreaterOrEqual(t, len(out), 2)
	return out
}

func TestOnlyUnderItsOwnNames(t *testing.T) {
	x := small(t).serve()
	addr, port := x.near.Listener.Addr().String(), portOf(x.near)
	before := len(x.member.entries())
	for _, host := range []string{
		"rebound.example", "rebound.example:" + port, "127.0.0.1", "localhost", "127.0.0.1:1", "127.0.0.2:" + port, "127.1:" + port, "[::1]:" + port,
		"localhost.:" + port, "127.0.0.1.:" + port, "x.localhost:" + port, "user@" + addr, addr + "@rebound.example", addr + ".rebound.example",
		"0x7f.1:" + port, "2130706433:" + port, addr + "0", "0" + port, addr + ":" + port, "0.0.0.0:" + port,
	} {
		for _, route := range append(routes(), "GET /", "GET /page.js", "HEAD /", "PUT /api/log", "OPTIONS /api/log", "GET /nowhere") {
			method, path, _ := strings.Cut(route, " ")
			if strings.HasSuffix(path, "changes") && host == "" {
				continue
			}
			a := x.ask(x.request(method, path, nil, func(r *http.Request) { r.Host = host }))
			require.Equal(t, http.StatusMisdirectedRequest, a.code, "%s as %s", route, host)
			if method != http.MethodHead {
				refused(t, http.StatusMisdirectedRequest, a)
			}
		}
	}
	require.Len(t, x.member.entries(), before)
	for _, host := range []string{addr, "localhost:" + port, "LocalHost:" + port} { // names have no case, RFC 4343
		require.Equal(t, http.StatusOK, x.get("/api/hello", func(r *http.Request) { r.Host = host }).code, host)
	}
}

// A browser leaves out the port that is usual for the scheme.
func TestTheUsualPortNeedNotBeSaid(t *testing.T) {
	x := small(t).serve(func(o *web.Options) { o.Hosts = []string{"works-laptop:80", "[2001:db8::7]:80", "site-office:443"} })
	for _, host := range []string{"works-laptop", "works-laptop:80", "Works-Laptop", "[2001:db8::7]"} {
		require.Equal(t, http.StatusOK, x.get("/", func(r *http.Request) { r.Host = host }).code, host)
	}
	for _, host := range []string{"site-office", "works-laptop:443", "works-laptop:", "works-laptop.", "works-laptop:80:80", "rebound.example"} {
		refused(t, http.StatusMisdirectedRequest, x.get("/", func(r *http.Request) { r.Host = host }))
	}
	over := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodGet, "https://site-office/", nil) // by TLS
	x.ServeHTTP(over, r)
	require.Equal(t, http.StatusOK, over.Code)
	r.Host = "works-laptop"
	over = httptest.NewRecorder()
	x.ServeHTTP(over, r)
	require.Equal(t, http.StatusMisdirectedRequest, over.Code)
}

// Below the client there are ways to name a host that no client offers.
func TestHostsThatNoBrowserSends(t *testing.T) {
	x := small(t).serve()
	addr := x.near.Listener.Addr().String()
	for _, c := range []struct {
		name, lines string
		code        int
	}{
		{"none, of the old protocol", "GET /api/hello HTTP/1.0\r\n", http.StatusMisdirectedRequest},
		{"an empty one", "GET /api/hello HTTP/1.1\r\nHost:\r\n", http.StatusMisdirectedRequest},
		{"none", "GET /api/hello HTTP/1.1\r\n", http.StatusBadRequest},
		{"two", "GET /api/hello HTTP/1.1\r\nHost: " + addr + "\r\nHost: rebound.example\r\n", http.StatusBadRequest},
		{"another in the request line", "GET http://rebound.example/api/hello HTTP/1.1\r\nHost: " + addr + "\r\n", http.StatusMisdirectedRequest},
		{"another before it", "GET http://" + addr + "@rebound.example/api/hello HTTP/1.1\r\nHost: " + addr + "\r\n", http.StatusMisdirectedRequest},
		{"forwarded", "GET /api/hello HTTP/1.1\r\nHost: rebound.example\r\nX-Forwarded-Host: " + addr + "\r\nForwarded: host=" + addr + "\r\n", http.StatusMisdirectedRequest},
		{"its own", "GET /api/hello HTTP/1.1\r\nHost: " + addr + "\r\n", http.StatusOK},
	} {
		t.Run(c.name, func(t *testing.T) {
			conn, err := net.Dial("tcp", addr)
			require.NoError(t, err)
			defer conn.Close()
			_, err = fmt.Fprintf(conn, "%sAuthorization: Bearer %s\r\nConnection: close\r\n\r\n", c.lines, token)
			require.NoError(t, err)
			got, err := http.ReadResponse(bufio.NewReader(conn), nil)
			require.NoError(t, err)
			defer got.Body.Close()
			require.Equal(t, c.code, got.StatusCode)
		})
	}
}

func TestNoOtherOriginMayTell(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	own := "http://" + x.near.Listener.Addr().String()
	for name, from := range map[string]map[string]string{
		"another site":               {"Sec-Fetch-Site": "cross-site"},
		"another host of the domain": {"Sec-Fetch-Site": "same-site"},
		"another site, of its name":  {"Sec-Fetch-Site": "cross-site", "Origin": own},
		"an old browser elsewhere":   {"Origin": "http://rebound.example"},
		"another port":               {"Origin": "http://127.0.0.1:1"},
		"nowhere":                    {"Origin": "null"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, act := range acts {
				a := x.post("/api/"+act, `{}`, func(r *http.Request) {
					for k, v := range from {
						r.Header.Set(k, v)
					}
				})
				refused(t, http.StatusForbidden, a)
				uncrossed(t, a)
			}
		})
	}
	require.Len(t, x.member.entries(), before)
	for i, from := range []map[string]string{
		{"Sec-Fetch-Site": "same-origin", "Origin": own}, {"Origin": own}, {"Sec-Fetch-Site": "none"}, {},
	} {
		a := x.post("/api/log", post(once(i), "note.added", `{"of":"site:site","text":"x"}`), func(r *http.Request) {
			for k, v := range from {
				r.Header.Set(k, v)
			}
		})
		require.Equal(t, http.StatusOK, a.code, "%v", from)
		uncrossed(t, a)
	}
	a := x.ask(x.request(http.MethodOptions, "/api/log", nil, func(r *http.Request) {
		r.Header.Set("Origin", "http://rebound.example")
		r.Header.Set("Access-Control-Request-Method", "POST")
	}))
	require.NotEqual(t, http.StatusOK, a.code)
	uncrossed(t, a)
}

// What another site can send without asking first: a form, a picture's address, and
// the offer to go on as something other than HTTP. It has no token, whatever it sends
// along, and a browser that is not told otherwise hands it no answer.
func TestAFormOrAnUpgradeGetsNowhere(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	addr := x.near.Listener.Addr().String()
	entry := post(once(1), "note.added", `{"of":"site:site","text":"x"}`)
	for name, lines := range map[string]string{
		"a form":               "POST /api/log HTTP/1.1\r\nOrigin: http://rebound.example\r\nContent-Type: application/x-www-form-urlencoded\r\n",
		"a form of plain text": "POST /api/log HTTP/1.1\r\nOrigin: null\r\nContent-Type: text/plain\r\n",
		"an old browser's":     "POST /api/log HTTP/1.1\r\nContent-Type: multipart/form-data; boundary=x\r\n",
		"a method in a field":  "POST /api/now HTTP/1.1\r\nX-HTTP-Method-Override: GET\r\n",
		"a web socket":         "GET /api/changes HTTP/1.1\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Protocol: bearer, " + token + "\r\n",
		"HTTP/2 in clear":      "GET /api/now HTTP/1.1\r\nConnection: Upgrade, HTTP2-Settings\r\nUpgrade: h2c\r\nHTTP2-Settings: AAMAAABkAAQAAP__\r\n",
		"a stream of events":   "GET /api/changes?token=" + token + " HTTP/1.1\r\nAccept: text/event-stream\r\nSec-Fetch-Site: cross-site\r\n",
	} {
		t.Run(name, func(t *testing.T) {
			conn, err := net.Dial("tcp", addr)
			require.NoError(t, err)
			defer conn.Close()
			connection := "Connection: close\r\n"
			if strings.Contains(lines, "Upgrade") {
				connection = ""
			}
			_, err = fmt.Fprintf(conn, "%sHost: %s\r\nCookie: token=%s\r\nContent-Length: %d\r\n%s\r\n%s", lines, addr, token, len(entry), connection, entry)
			require.NoError(t, err)
			got, err := http.ReadResponse(bufio.NewReader(conn), nil)
			require.NoError(t, err)
			defer got.Body.Close()
			require.Contains(t, []int{http.StatusUnauthorized, http.StatusForbidden, http.StatusMethodNotAllowed}, got.StatusCode)
			uncrossed(t, answer{header: got.Header})
		})
	}
	require.Len(t, x.member.entries(), before)
}

// uncrossed checks that no other origin is told that it may read an answer.
func uncrossed(t *testing.T, a answer) {
	t.Helper()
	for name := range a.header {
		require.False(t, strings.HasPrefix(name, "Access-Control"), name)
	}
}

func TestEveryAnswerIsGuarded(t *testing.T) {
	x := small(t).serve()
	answers := map[string]answer{
		"the page":         x.get("/"),
		"a file":           x.get("/page.js"),
		"no file":          x.get("/nothing.js"),
		"a document":       x.get("/api/hello"),
		"no document":      x.get("/api/nothing"),
		"a refusal":        x.get("/api/show?subject=nothing"),
		"no token":         x.ask(plain(x, "GET /api/hello")),
		"another host":     x.get("/", func(r *http.Request) { r.Host = "rebound.example" }),
		"another origin":   x.post("/api/log", "{}", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }),
		"no such method":   x.ask(x.request(http.MethodPut, "/api/log", nil)),
		"another spelling": x.get("//api//hello"),
		"nothing new":      x.get("/page.js", func(r *http.Request) { r.Header.Set("If-None-Match", x.get("/").header.Get("ETag")) }),
		"a bundle":         x.get("/api/bundle"),
		"records":          x.post("/api/records", ""),
	}
	for name, a := range answers {
		t.Run(name, func(t *testing.T) {
			policy := a.header.Get("Content-Security-Policy")
			for _, part := range []string{"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'", "connect-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'none'"} {
				require.Contains(t, strings.Split(policy, "; "), part)
			}
			require.NotRegexp(t, `unsafe-inline|'unsafe-eval'|https?:|\*`, policy)
			require.Equal(t, "nosniff", a.header.Get("X-Content-Type-Options"))
			require.Equal(t, "no-referrer", a.header.Get("Referrer-Policy"))
			require.Equal(t, "same-origin", a.header.Get("Cross-Origin-Opener-Policy"))
			require.Equal(t, "same-origin", a.header.Get("Cross-Origin-Resource-Policy"))
			require.Contains(t, a.header.Get("Permissions-Policy"), "geolocation=()")
			require.Empty(t, a.header["Set-Cookie"])
			uncrossed(t, a)
		})
	}
	require.Equal(t, http.StatusNotModified, answers["nothing new"].code)
	for _, path := range []string{"/api/hello", "/api/show?subject=nothing", "/api/story", "/api/bundle"} {
		require.Equal(t, "no-store", x.get(path).header.Get("Cache-Control"), path)
	}
}

func TestTheBundleIsKeptByItsDigestAlone(t *testing.T) {
	x := small(t).serve()
	index := x.get("/")
	digest := told[struct{ Page string }](t, x.get("/api/hello")).Page
	require.Regexp(t, `^[0-9a-f]{16}$`, digest)
	require.Contains(t, string(index.body), `name="pairwalk-page" content="`+digest+`"`)
	require.NotContains(t, string(index.body), "{{")
	require.Equal(t, "text/html; charset=utf-8", index.header.Get("Content-Type"))
	require.Equal(t, "no-cache", index.header.Get("Cache-Control"))
	files := referred(t, x)
	require.True(t, slices.ContainsFunc(files, func(f string) bool { return f == "/page.js?"+digest }))
	for _, f := range files {
		name, _, _ := strings.Cut(f, "?")
		require.Equal(t, "max-age=31536000, immutable", x.get(f).header.Get("Cache-Control"), f)
		for _, query := range []string{"", "?", "?0000000000000000", "?" + digest + "0", "?" + digest[:15], "?v=" + digest, "?" + strings.ToUpper(digest) + "x"} {
			require.Equal(t, "no-cache", x.get(name+query).header.Get("Cache-Control"), name+query)
		}
	}
	for name, kind := range map[string]string{
		"/page.js": "text/javascript; charset=utf-8", "/page.css": "text/css; charset=utf-8",
		"/reader.js": "text/javascript; charset=utf-8", "/reader.wasm": "application/wasm",
	} {
		require.Equal(t, kind, x.get(name).header.Get("Content-Type"), name)
	}
}
