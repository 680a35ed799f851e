package main

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Ben's phone is stolen. Ann ends his say where he left off: what the thief paired
// does not count.
func TestRevokingByTouch(t *testing.T) {
	s := newShop(t)
	a := s.opens("--page", "127.0.0.1:0")
	token := tokenForm.FindString(s.runs("ann", "invite", "--role", "tech"))
	require.NotEmpty(t, token)
	s.runs("ben", "join", token, "--as", "Ben")
	s.carries("ann", "ben")
	s.runs("ben", "log", "paired", "1-101", "SN-1")
	s.runs("ben", "log", "paired", "1-102", "SN-2")
	s.carries("ben", "ann")

	p := open(t, newBrowser(t), "Ann", a.page)
	p.do(chromedp.EmulateViewport(phoneWide, phoneHigh))
	p.goes("team")
	p.sees("Ben")
	p.tap("Revoke …")
	p.fill("Why", "phone stolen")
	p.holds(`document.querySelector('#revoke-last')?.options.length > 2`, "his entries to choose from")
	latest := js[[]string](p, `[...document.querySelectorAll('#revoke-last option')].map(o => o.value)`)
	p.choose("If somebody else has had their device", latest[2])
	p.picture("revoke")
	p.tap("Revoke")
	p.sees("Ben is revoked")
	require.Contains(t, s.runs("ann", "show", "1-101"), "paired")
	require.NotContains(t, s.runs("ann", "show", "1-102"), "SN-2")
}
