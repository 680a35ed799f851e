package main

import (
	"context"
	"fmt"
	"net"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Two tabs of one page share what waits for a process that is stopped, and neither
// sends it twice.
func TestTwoTabsOfOnePage(t *testing.T) {
	s, browser := newShop(t), newBrowser(t)
	run := s.opens()
	one, two := open(t, browser, "Ann", run.page), open(t, browser, "Ann, again,", run.page)
	one.next("Pair 1-101")
	two.goes("now?subject=device:1-105")
	two.tap("Note")
	two.fill("Note", "seen from the other tab")
	two.isAway(true)
	one.stops(run)
	for _, p := range []*tab{one, two} {
		p.sees("pairwalk does not answer")
	}
	one.fill("Serial", "SN-0001")
	one.tap("It confirmed: paired")
	for _, p := range []*tab{one, two} {
		p.sees("1 entry waits here")
	}
	two.tap("Record")
	for _, p := range []*tab{one, two} {
		p.sees("2 entries wait here")
	}
	one.startsAgain(s, run, "ann", "", "none")
	for _, p := range []*tab{one, two} {
		p.misses("pairwalk does not answer")
		p.misses("waits here")
		p.misses("wait here")
	}
	two.isAway(false)
	require.Len(t, only(s.log("ann", "1-101"), "device.paired"), 1)
	require.Len(t, only(s.log("ann", "1-105"), "note.added"), 1)
	two.goes("now")
	for _, p := range []*tab{one, two} {
		p.next("Pair 1-102")
	}
}

// A page that is older than the process loads itself anew, and what was half typed
// is still there.
func TestAnOldPageLoadsItselfAnew(t *testing.T) {
	s := newShop(t)
	run := s.opens()
	p := open(t, newBrowser(t), "Ann", run.page)
	old := func(note string) {
		js[chromedp.Void](p, `void (window.oldPage = true, document.querySelector('meta[name=pairwalk-page]').content = 'old')`)
		s.runs("ann", "log", "note", "site", note)
		p.holds(`!window.oldPage && document.querySelector('main h1')`, "another page")
	}
	p.next("Pair 1-101")
	p.fill("Serial", "SN-00")
	old("while a serial is typed")
	p.next("Pair 1-101")
	p.holds(`document.querySelector('.now-card .scan input')?.value === 'SN-00'`, "the serial as far as it was typed")

	p.goes("story?write=late")
	p.choose("What was done", "device.refused")
	p.fill("When", "09:40..10:10")
	p.fill("Tag", "1-103")
	p.fill("Note", "no answer from the lad")
	old("while a late entry is written")
	p.holds(`location.hash.startsWith('#/story?write=late')`, "the same screen")
	p.holds(`document.querySelector('#story-act')?.value === 'device.refused'`, "what was done")
	for label, typed := range map[string]string{"When": "09:40..10:10", "Tag": "1-103", "Note": "no answer from the lad"} {
		p.holds(fmt.Sprintf(`[...document.querySelectorAll('main label')].some(l => l.innerText.startsWith(%s) && document.getElementById(l.htmlFor)?.value === %s)`, quote(label), quote(typed)), label+" as it was typed")
	}
	p.goes("now")
	p.holds(`document.querySelector('.now-card .scan input')?.value === 'SN-00'`, "the serial still")
	require.Empty(t, only(s.log("ann", "1-103"), "device.refused"))
}

// Whoever has no token is told what to do, and nothing of the site.
func TestAPageOfAStranger(t *testing.T) {
	s := newShop(t)
	run := s.opens()
	bare, _, found := strings.Cut(run.page, "#")
	require.True(t, found)
	for name, addr := range map[string]string{"without a token": bare, "with a wrong token": bare + "#t=" + strings.Repeat("A", 32)} {
		p := blank(t, newBrowser(t), "a stranger "+name, addr)
		p.do(chromedp.Navigate(addr))
		p.sees("Open the address that pairwalk serve printed")
		p.sees("Look at the terminal where pairwalk serve runs")
		html := js[string](p, `document.documentElement.outerHTML + document.title`)
		for _, secret := range []string{"Kiln", "Ann", "H1", "1-101"} {
			require.NotContains(t, html, secret, name)
		}
		require.Equal(t, 401.0, js[float64](p, `fetch('/api/hello', {headers: {Authorization: 'Bearer ' + localStorage.getItem('pairwalk.token')}}).then(r => r.status)`), name)
		p.expects("401")
		p.do(chromedp.Navigate(run.page)) // the right one, in the same tab
		p.next("Pair 1-101")
		require.NotContains(t, js[string](p, `location.href`), "t=", "the token stays in the address bar")
		p.do(chromedp.Reload())
		p.next("Pair 1-101")
		p.expects("401")
	}
}

// beyondHere is an address of this machine that others can call.
func beyondHere(t *testing.T) string {
	addrs, err := net.InterfaceAddrs()
	require.NoError(t, err)
	for _, a := range addrs {
		if n, is := a.(*net.IPNet); is && n.IP.To4() != nil && !n.IP.IsLoopback() && !n.IP.IsLinkLocalUnicast() {
			return n.IP.String()
		}
	}
	t.Skip("this machine is on no network")
	return ""
}

// Over a network the page is served by TLS, and every entry asks who is speaking.
func TestOverTheNetwork(t *testing.T) {
	s := newShop(t)
	run := s.opens("--page", net.JoinHostPort(beyondHere(t), "0"))
	require.True(t, strings.HasPrefix(run.page, "https://"), run.page)
	p := open(t, newBrowser(t, chromedp.IgnoreCertErrors), "Ann", run.page)
	p.next("Pair 1-101")
	require.True(t, js[bool](p, `isSecureContext`))

	p.sees("Who is speaking?")
	p.fill("Serial", "SN-0001")
	p.tap("It confirmed: paired")
	p.asksWho()
	p.next("Pair 1-101")
	p.fill("Who is speaking?", "   ")
	p.tap("It confirmed: paired")
	p.next("Pair 1-101")
	require.Empty(t, only(s.log("ann", "1-101"), "device.paired"), "an entry by nobody")
	p.fill("Who is speaking?", "Cleo Ångström")
	p.tap("It confirmed: paired")
	p.sees("1-101 paired")
	paired := only(s.log("ann", "1-101"), "device.paired")
	require.Len(t, paired, 1)
	require.Equal(t, "Cleo Ångström", paired[0].By)

	// Buttons that are no form's keep still as well.
	p.goes("now?subject=device:1-102")
	p.tap("Answered")
	p.fill("Who is speaking?", "")
	p.tap("It answered")
	p.sees("This page is shared. Say who did it.")
	p.fill("Who is speaking?", "Dora")
	p.tap("It answered")
	p.sees("1-102 answered")
	heard := only(s.log("ann", "1-102"), "device.heard")
	require.Len(t, heard, 1)
	require.Equal(t, "Dora", heard[0].By)

	for _, route := range []string{
		"now?subject=device:1-102!Refused", "now?subject=device:1-102!Note", "now?subject=device:1-102!Answered", "now?subject=device:1-102!Fault",
		"now?subject=hub:H1!Pushed", "now?subject=circuit:C1-1!Power off", "now?subject=room:1-R01!Tested", "story?write=late", "story?write=sheet",
	} {
		at, act, _ := strings.Cut(route, "!")
		p.goes(at)
		if act != "" {
			p.tap(act)
		}
		p.holds(`[...document.querySelectorAll('label')].some(l => l.innerText.trim() === 'Who is speaking?' && l.getBoundingClientRect().width > 0)`, "the question who is speaking, at "+route)
	}
}

// asksWho holds where the page asks for the name of whoever is speaking, and has
// put the cursor there.
func (p *tab) asksWho() {
	p.t.Helper()
	p.sees("This page is shared. Say who did it.")
	p.holds(`(e => e.matches(':invalid') && e.labels?.[0]?.innerText.trim() === 'Who is speaking?')(document.activeElement)`, "the cursor in the field")
}

// A photo of a label fills the serial, whatever kind of code it is.
func TestLabelByPhoto(t *testing.T) {
	s := newShop(t)
	run := s.opens()
	p := open(t, newBrowser(t), "Ann", run.page)
	for i, name := range []string{"digital-link-qr", "serial-code128", "gs1-datamatrix"} {
		tag := fmt.Sprintf("1-10%d", i+2)
		p.next("Pair 1-101")
		p.tap("Pair " + tag)
		p.next("Pair " + tag)
		file, err := filepath.Abs(filepath.Join("web", "testdata", "labels", name+".png"))
		require.NoError(t, err)
		p.gives(".now-card input[type=file]", file)
		p.holds(`document.querySelector('.now-card .scan input')?.value === 'SN-0042'`, "the serial of "+name)
		p.picture("label-" + name)
		require.Empty(t, only(s.log("ann", tag), "device.paired"), "a photo alone records nothing")
		p.do(chromedp.Reload())
	}
	p.tap("Pair 1-103")
	p.next("Pair 1-103")
	p.tap("It confirmed: paired")
	p.sees("1-103 paired")
	paired := only(s.log("ann", "1-103"), "device.paired")
	require.Len(t, paired, 1)
	require.Equal(t, "SN-0042", paired[0].Body["serial"])
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page\b`)

// The plan on paper is a page for each floor, with its tags and nothing of the screen.
func TestPrint(t *testing.T) {
	s := newShop(t)
	run := s.opens()
	s.takes("ann", [][]string{
		{"tag", "kind", "hub", "floor", "room", "x_m", "y_m", "z_m", "circuit"},
		{"2-201", "driver", "H1", "2", "2-R01", "1", "1", "6.2", "C2-1"},
		{"2-202", "driver", "H1", "2", "2-R01", "5", "4", "6.2", "C2-1"},
		{"3-301", "sensor", "H1", "3", "3-R01", "", "", "", "C3-1"},
	})
	p := open(t, newBrowser(t), "Ann", run.page)
	p.do(chromedp.EmulateViewport(deskWide, deskHigh))
	p.goes("plan?floor=1")
	p.sees("1-101")
	js[chromedp.Void](p, `void (window.print = () => { window.asked = true })`)
	p.tap("Print floors")
	p.holds(`window.asked`, "the browser to be asked to print")
	p.emulates("print")
	floors := js[[]string](p, `[...document.querySelectorAll('.plan-page')].map(e => e.innerText + [...e.querySelectorAll('svg text')].filter(x => x.getBoundingClientRect().width > 0).map(x => x.textContent).join(' '))`)
	require.Len(t, floors, 3)
	for i, tags := range [][]string{{"H1", "1-101", "1-102", "1-103", "1-104", "1-105"}, {"2-201", "2-202"}, {"3-301"}} {
		for _, tag := range tags {
			require.Contains(t, floors[i], tag)
		}
		require.Contains(t, floors[i], "Kiln Lane")
		require.NotContains(t, floors[i], "5-5")
	}
	require.False(t, js[bool](p, `document.querySelector('#page').getBoundingClientRect().height > 0`), "the screen on paper")
	p.emulates("")
	pdf, err := chromedp.Run(p.ctx, chromedp.PrintToPDF(func(x *page.PrintToPDFParams) { yes := true; x.PreferCSSPageSize = &yes }))
	require.NoError(t, err)
	require.Len(t, pdfPage.FindAll(pdf, -1), 3, "pages")
	p.holds(`!document.querySelector('.plan-print')`, "the sheets to be gone")
	p.sees("Print floors")
}

func (p *tab) emulates(media string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media})
	require.NoError(p.t, err)
}
