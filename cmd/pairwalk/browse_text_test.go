package main

import (
	"encoding/json"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

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
		{"what happened to a device", "trouble?part=happened&subject=" + about, []string{tag}, ""},
		{"what differs", "trouble?part=differs&from=-2h", []string{tag, hub}, ""},
		{"team", "team", []string{"Ann " + evilImage, "Ben " + evilWay}, ""},
		{"site", "site", nil, ""},
		{"the hubs", "site?part=hubs", []string{hub}, ""},
		{"channels", "site?part=channels", []string{hub}, "Work out the channels"},
		{"the walk", "site?part=walk", []string{"Ann " + evilImage}, ""},
		{"the records", "site?part=records", []string{hub}, ""},
		{"the checks", "site?part=checks", nil, ""},
		{"the pack", "site?part=pack", nil, "What would be in it"},
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
