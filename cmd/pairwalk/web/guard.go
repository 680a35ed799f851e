package web

import (
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"pairwalk/syncd/member"
)

// policy lets the page use nothing but what this process serves. The reader of
// labels is WebAssembly; pictures and the camera are shown from memory.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; style-src 'self'; " +
	"connect-src 'self'; img-src 'self' blob: data:; media-src blob: mediastream:; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

func secure(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(self), screen-wake-lock=(self), microphone=(), geolocation=()")
}

// DrawToken draws a token that nobody can guess.
func DrawToken(random io.Reader) (string, error) {
	b := make([]byte, 24)
	if _, err := io.ReadFull(random, b); err != nil {
		return "", fmt.Errorf("draw token: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// called says whether a request's Host names this page. Browsers leave out the port
// that is usual for the scheme.
func (p *Page) called(r *http.Request) bool {
	usual := ":80"
	if r.TLS != nil {
		usual = ":443"
	}
	return slices.ContainsFunc(p.o.Hosts, func(own string) bool { return strings.EqualFold(own, r.Host) || strings.EqualFold(own, r.Host+usual) })
}

// known lets only those ask who have the token.
func (p *Page) known(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		token, bearer := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
		if !bearer || subtle.ConstantTimeCompare([]byte(token), []byte(p.o.Token)) != 1 {
			refuse(w, http.StatusUnauthorized, "this page has not the token of this process; open the address that pairwalk serve printed")
			return
		}
		w.Header().Set("Cache-Control", "no-store")
		next(w, r)
	}
}

// doerHeader names who is speaking, percent-encoded.
const doerHeader = "X-Pairwalk-Doer"

// spoken asks whoever comes from another machine who is speaking, at every entry.
func (p *Page) spoken(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if beyond(r) {
			doer, err := url.PathUnescape(r.Header.Get(doerHeader))
			if doer = strings.TrimSpace(doer); err != nil || doer == "" {
				refuse(w, http.StatusBadRequest, "this page is shared over a network: say who is speaking")
				return
			}
			r = r.WithContext(member.WithDoer(r.Context(), doer))
		}
		next(w, r)
	}
}

// beyond says whether a request comes from another machine.
func beyond(r *http.Request) bool {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	return err != nil || !net.ParseIP(host).IsLoopback()
}
