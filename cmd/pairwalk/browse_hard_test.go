package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// takes imports a file of these rows.
func (s *shop) takes(who string, rows [][]string, args ...string) {
	s.t.Helper()
	var text bytes.Buffer
	require.NoError(s.t, csv.NewWriter(&text).WriteAll(rows))
	file := filepath.Join(s.t.TempDir(), "rows.csv")
	require.NoError(s.t, os.WriteFile(file, text.Bytes(), 0o600))
	s.runs(who, append([]string{"import", file}, args...)...)
}

// opens makes the site of a small job with its hub ready, and serves its page.
func (s *shop) opens(args ...string) *bench {
	s.t.Helper()
	s.runs("ann", "init", "Kiln Lane", "--as", "Ann", "--practice")
	rows, err := csv.NewReader(strings.NewReader(smallJob)).ReadAll()
	require.NoError(s.t, err)
	s.takes("ann", rows)
	s.runs("ann", "log", "loaded", "H1", "--program", "r1")
	s.runs("ann", "log", "ready", "H1")
	if len(args) == 0 {
		args = []string{"--page", "127.0.0.1:0"}
	}
	return s.serves("ann", "", append([]string{"--listen", "none"}, args...)...)
}

type entry struct {
	Kind string
	By   string
	Body map[string]any
}

// log is what a member's history says of a subject by the command.
func (s *shop) log(who, subject string) []entry {
	s.t.Helper()
	var doc struct{ Entries []entry }
	out := s.runs(who, "--json", "history", subject)
	require.NoError(s.t, json.Unmarshal([]byte(out), &doc), out)
	return doc.Entries
}

func only(list []entry, kind string) []entry {
	var out []entry
	for _, e := range list {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// What nobody would call anything, each as long as a name may be.
var (
	evilImage  = `<img src=x onerror=alert(1)>`
	evilScript = `"><script>alert(1)</script>`
	evilWay    = "\u202e gnol \u2066&amp;<b>"
	evilLong   = strings.Repeat("W", 60)
	evilMarks  = "Z" + strings.Repeat("\u0301\u0316", 25) + "🙂👩‍🚒"
	evilWord   = strings.Repeat("Donaudampf", 399) // of 4,000 characters that a note may have
)

// hostile is a site in which every name is one of these.
func hostile(t *testing.T) (s *shop, hub, tag string) {
	s = newShop(t)
	hub, tag = "H1"+evilImage, "1-101"+evilImage
	s.runs("ann", "init", evilScript+evilImage, "--as", "Ann "+evilImage, "--practice")
	s.takes("ann", [][]string{
		{"tag", "kind", "hub", "floor", "room", "x_m", "y_m", "z_m", "circuit", "maker", "model", "note"},
		{hub, "hub", "", "1" + evilImage, "R" + evilImage, "0", "0", "2.7", "C" + evilImage, evilScript, evilWay, ""},
		{tag, "driver", hub, "1" + evilImage, "R" + evilImage, "2", "0", "2.7", "C" + evilImage, evilScript, evilWay, evilImage},
		{"1-102" + evilScript, "driver", hub, "1" + evilImage, "R" + evilScript, "4", "0", "2.7", "C" + evilScript, "", "", ""},
		{"1-103" + evilWay, "sensor", hub, "1" + evilImage, "R" + evilWay, "6", "0", "2.7", "C" + evilWay, "", "", ""},
		{"1" + evilLong, "dimmer", hub, "1" + evilImage, "R" + evilLong, "8", "0", "2.7", "C" + evilLong, "", "", ""},
		{"1" + evilMarks, "dimmer", hub, "2" + evilScript, "R" + evilMarks, "8", "0", "6.2", "C" + evilMarks, "", "", ""},
	})
	s.runs("ann", "log", "loaded", hub, "--program", evilImage)
	s.runs("ann", "log", "ready", hub)
	var invite struct{ Token string }
	require.NoError(t, json.Unmarshal([]byte(s.runs("ann", "--json", "invite", "--role", "tech")), &invite))
	s.runs("ben", "join", invite.Token, "--as", "Ben "+evilWay)
	s.carries("ann", "ben")
	s.carries("ben", "ann")
	for _, who := range []string{"ann", "ben"} { // neither has heard of the other
		s.runs(who, "log", "paired", tag, "SN-"+who+evilScript)
	}
	s.runs("ben", "log", "note", tag, evilWord)
	s.runs("ben", "log", "note", tag, evilMarks+evilWay+evilImage)
	s.runs("ben", "log", "fault", tag, evilScript+evilWay+evilImage)
	s.runs("ben", "log", "refused", "1-102"+evilScript, "--why", "other", "--note", evilScript+evilLong+evilLong+evilLong)
	s.runs("ben", "log", "hold", "device:1-103"+evilWay, "--why", evilImage)
	s.runs("ben", "log", "power-off", "circuit:C"+evilLong)
	s.carries("ben", "ann")
	return s, hub, tag
}

// carries brings what one holds to another by a file.
func (s *shop) carries(from, to string) {
	s.t.Helper()
	file := filepath.Join(s.t.TempDir(), "all.bundle")
	s.runs(from, "bundle", "out", file)
	s.runs(to, "bundle", "in", file)
}

// stays checks that nothing on the screen has become anything but text.
func (p *tab) stays(where string) {
	p.t.Helper()
	p.holds(`document.querySelector('main h1, main h2') && !document.body.innerText.includes('Asking …')`, where+" to be there")
	require.Empty(p.t, js[[]string](p, `[...document.querySelectorAll('img, script:not([src]), iframe, object, embed, main b b')].map(e => e.outerHTML)`), "elements made by text on %s", where)
	require.Empty(p.t, js[[]string](p, `[...document.querySelectorAll('*')].filter(e => [...e.attributes].some(a => a.name.startsWith('on'))).map(e => e.outerHTML.slice(0, 100))`), "handlers on %s", where)
	require.Empty(p.t, js[[]string](p, `[document.documentElement, document.querySelector('main'), ...document.querySelectorAll('dialog[open]')]
	  .filter(e => e.scrollWidth > Math.min(e.clientWidth, innerWidth)).map(box => box.tagName + ': ' + [...box.querySelectorAll('*')]
	  .filter(e => e.getBoundingClientRect().right > innerWidth).map(e => e.tagName + '.' + e.className + ' ' + e.textContent.slice(0, 40)).slice(0, 6).join(' | '))`), "%s scrolls sideways", where)
}

// reads waits until a text stands on the page, hidden parts and fields included.
func (p *tab) reads(words string) {
	p.t.Helper()
	p.holds(`(document.body.textContent + [...document.querySelectorAll('input, textarea, option')].map(e => e.value).join(' ')).includes(`+quote(words)+`)`, quote(words))
}

func TestHostileTextStaysText(t *testing.T) {
	s, hub, tag := hostile(t)
	run := s.serves("ann", "", "--listen", "none", "--page", "127.0.0.1:0")
	p := blank(t, newBrowser(t), "Ann", run.page)
	dialogs := 0
	require.NoError(t, chromedp.Listen(p.ctx, func(ev any) {
		if _, is := ev.(*page.EventJavascriptDialogOpening); is {
			dialogs++
		}
	}))
	p.do(chromedp.Navigate(run.page))
	p.sees("Now")
	about := escape("device:" + tag)
	screens := []struct {
		name, route string
		reads       []string
		tap         string
	}{
		{"now", "now", []string{hub}, ""},
		{"a device to record about", "now?subject=" + about, []string{tag, evilScript}, ""},
		{"plan", "plan?floor=" + escape("1"+evilImage), []string{"1" + evilImage}, ""},
		{"a device on the plan", "plan?view=list&device=" + about[len("device%3A"):], []string{tag, evilScript}, ""},
		{"the plan's list", "plan?view=list&floor=" + escape("1"+evilImage), []string{tag, "1-102" + evilScript, "1-103" + evilWay, "1" + evilLong}, ""},
		{"the list of another floor", "plan?view=list&floor=" + escape("2"+evilScript), []string{"1" + evilMarks}, ""},
		{"story", "story", []string{evilWord, evilMarks + evilWay + evilImage, "Ben " + evilWay}, ""},
		{"the story of a device", "story?subject=" + about, []string{tag, evilWord, evilScript + evilWay + evilImage}, ""},
		{"the story of a circuit", "story?subject=" + escape("circuit:C"+evilLong), []string{"C" + evilLong}, ""},
		{"a late entry", "story?write=late&subject=" + about, []string{tag}, ""},
		{"a field sheet", "story?write=sheet", nil, ""},
		{"trouble", "trouble", []string{evilScript + evilWay + evilImage, tag, evilImage}, ""},
		{"team", "team", []string{"Ann " + evilImage, "Ben " + evilWay}, ""},
		{"site", "site", nil, ""},
		{"the hubs", "site?part=hubs", []string{hub}, ""},
		{"channels", "site?part=channels", []string{hub}, "Work out the channels"},
		{"the walk", "site?part=walk", []string{"Ann " + evilImage}, ""},
		{"the records", "site?part=records", []string{hub}, ""},
		{"the settings", "site?part=settings", nil, ""},
	}
	for _, x := range screens {
		p.goes(x.route)
		if x.tap != "" {
			p.tap(x.tap)
		}
		for _, words := range x.reads {
			p.reads(words)
		}
		p.stays(x.name)
	}
	p.refusesTheLongest(tag)
	p.settlesWith(evilImage)
	require.Zero(t, dialogs, "dialogs that text has opened")
}

func escape(s string) string { return strings.ReplaceAll(url.QueryEscape(s), "+", "%20") }

// refusesTheLongest records a word of 12,000 letters, longer than a note may be: it
// is kept, with the reason, and thrown away by hand.
func (p *tab) refusesTheLongest(tag string) {
	p.t.Helper()
	p.goes("now?subject=" + escape("device:"+tag))
	p.tap("Note")
	p.fill("Note", strings.Repeat("Wörter", 2000))
	p.tap("Record")
	p.sees("1 entry was not taken")
	p.stays("an entry that was not taken")
	p.expects("422")
	p.expects("400")
	p.tap("Throw it away")
	p.misses("was not taken")
}

// settlesWith settles the conflict for a reason that is no word either.
func (p *tab) settlesWith(why string) {
	p.t.Helper()
	p.goes("trouble")
	p.sees("Paired twice")
	p.fill("How do you know?", why)
	p.tap("the pairing by Ann")
	p.misses("Paired twice")
	p.stays("what was settled")
	p.goes("story")
	p.reads(why)
	p.stays("the story of what was settled")
}

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
