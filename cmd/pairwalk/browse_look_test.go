package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// axeFile is axe-core, an outside judge of what people who see, hear or move
// otherwise can use (https://github.com/dequelabs/axe-core). It comes with the
// page's packages for building, and is not part of the page.
const axeFile = "web/ui/node_modules/axe-core/axe.min.js"

// screensOf lists what is looked at: a route, and what to tap there.
var screensOf = []struct {
	name, route string
	taps        []string
}{
	{"now", "now", nil},
	{"now-why", "now", []string{"Pair 1-1", "Refused …"}},
	{"now-subject", "now?subject=device:1-171", []string{"Fault"}},
	{"plan", "plan?floor=B1", nil},
	{"plan-device", "plan?floor=B1&device=B1-104", nil},
	{"plan-then", "plan?floor=1&at=", nil},
	{"story", "story", nil},
	{"story-subject", "story?subject=device:B1-104", nil},
	{"story-late", "story", []string{"Late entry"}},
	{"story-sheet", "story", []string{"Field sheet"}},
	{"trouble", "trouble", nil},
	{"trouble-fault", "trouble?subject=device:B1-104", []string{"Add a photo"}},
	{"happened", "trouble?part=happened", nil},
	{"happened-answer", "trouble?part=happened&subject=room:B1-R02&symptom=no-answer", nil},
	{"happened-listed", "trouble?part=happened&subject=device:4-101&from=-1m&symptom=unknown", nil},
	{"differs", "trouble?part=differs&from=-30m", nil},
	{"team", "team", nil},
	{"team-invite", "team", []string{"Make the invite"}},
	{"site", "site", nil},
	{"site-import", "site?part=import", nil},
	{"site-records", "site?part=records", nil},
	{"site-checks", "site?part=checks", nil},
	{"site-checks-room", "site?part=checks&room=B1-R02", nil},
	{"site-pack", "site?part=pack", []string{"What would be in it"}},
	{"site-settings", "site?part=settings", nil},
	{"site-hubs", "site?part=hubs", nil},
	{"site-device", "site?part=device", []string{"Look now"}},
}

// Every screen, in both themes and both sizes: nothing that axe finds serious,
// nothing too small for a thumb, nothing that runs over the edge, and no error on
// the console. With PAIRWALK_PICTURES each is kept as a picture, to be looked at.
func TestEveryScreenIsFitToUse(t *testing.T) {
	axe, err := os.ReadFile(axeFile)
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("axe-core is not there: run npm ci in web/ui")
	}
	require.NoError(t, err)
	browser := newBrowser(t)
	s := newShop(t)
	a := worksUnderWay(s)
	p := open(t, browser, "Ann", a.page)
	moment := js[string](p, `new Date(Date.now() - 60000).toISOString()`)
	for _, size := range []struct {
		name       string
		wide, high int64
	}{{"phone", phoneWide, phoneHigh}, {"desk", deskWide, deskHigh}} {
		p.do(chromedp.EmulateViewport(size.wide, size.high))
		for _, theme := range []string{"dark", "light"} {
			p.do(chromedp.Evaluate[chromedp.Void](`localStorage.setItem('pairwalk.theme', '`+theme+`')`), chromedp.Reload())
			for _, x := range screensOf {
				name := fmt.Sprintf("%s-%s-%s", x.name, size.name, theme)
				p.goes("story?text=nothing-of-the-kind") // from somewhere else, so that it is drawn anew
				p.goes(strings.Replace(x.route, "at=", "at="+moment, 1))
				p.settled()
				for _, words := range x.taps {
					p.tap(words)
					p.settled()
				}
				p.picture(name)
				for _, problem := range p.judgedBy(string(axe)) {
					t.Errorf("%s: %s", name, problem)
				}
				for _, small := range p.small() {
					t.Errorf("%s: too small for a thumb: %s", name, small)
				}
				require.LessOrEqual(t, js[int64](p, `document.documentElement.scrollWidth`), size.wide, "%s runs over the edge", name)
				js[chromedp.Void](p, `document.querySelectorAll('dialog[open]').forEach(d => d.dispatchEvent(new Event('cancel')))`)
			}
		}
	}
}

// settled waits until nothing is being asked for any more.
func (p *tab) settled() {
	p.t.Helper()
	js[chromedp.Void](p, `(async () => { for (let calm = 0, was = -1; calm < 4; ) {
	  await new Promise(done => setTimeout(done, 60))
	  const n = performance.getEntriesByType('resource').length + document.body.innerText.length
	  if (n === was && !document.body.innerText.includes('Asking …') && !document.querySelector('.site-thinking')) calm++; else calm = 0
	  was = n } })()`)
}

// judgedBy lists what axe finds serious or critical.
func (p *tab) judgedBy(axe string) []string {
	p.t.Helper()
	if !js[bool](p, `!!window.axe`) {
		js[chromedp.Void](p, axe+`;undefined`)
	}
	return js[[]string](p, `axe.run(document, {resultTypes: ['violations']}).then(r => r.violations
	  .filter(v => v.impact === 'serious' || v.impact === 'critical')
	  .map(v => v.id + ': ' + v.help + ' at ' + v.nodes.slice(0, 3).map(n => n.target.join(' ') + ' ' + (n.any[0]?.message ?? '')).join('; ')))`)
}

// small lists controls that a thumb would miss. A link within a line of text is
// read, not aimed at.
func (p *tab) small() []string {
	p.t.Helper()
	return js[[]string](p, `[...document.querySelectorAll('button, summary, select, input:not([type=checkbox]):not([type=radio]):not([type=range]):not([hidden]), nav a, a.button')]
	  .filter(e => !e.closest('.hidden') && !e.classList.contains('hidden') && e.checkVisibility({visibilityProperty: true}))
	  .map(e => [e, e.getBoundingClientRect()]).filter(([e, r]) => r.width > 1 && (r.height < 43.5 || r.width < 43.5))
	  .map(([e, r]) => (e.innerText || e.getAttribute('aria-label') || e.outerHTML.slice(0, 60)).trim() + ' ' + Math.round(r.width) + '×' + Math.round(r.height))`)
}

// worksUnderWay serves a site of 480 devices in the middle of its job.
func worksUnderWay(s *shop) *bench {
	s.runs("ann", "init", "Works", "--as", "Ann", "--practice")
	for _, name := range []string{"schedule", "floors", "walls"} {
		s.runs("ann", "import", filepath.Join("..", "..", "testdata", "works", name+".csv"))
	}
	for _, h := range []string{"H1", "H2"} {
		s.runs("ann", "log", "--when", "-3h", "loaded", h, "--program", "r7")
		s.runs("ann", "log", "--when", "-3h", "channel", h, "25")
		s.runs("ann", "log", "--when", "-3h", "ready", h)
	}
	s.runs("ann", "import", "--partial", filepath.Join("..", "..", "testdata", "works", "fieldsheet.csv"), "--day", "2026-03-02")
	s.runs("ann", "log", "signed", "site", "handed over in part", "--when", "-2h", "--signer", "Ann", "--as", "lead")
	s.runs("ann", "log", "fault", "B1-104", "flickers at low level")
	photo := filepath.Join(s.t.TempDir(), "label.png")
	require.NoError(s.t, os.WriteFile(photo, onePicture(s.t), 0o600))
	s.runs("ann", "log", "photo", "B1-104", photo, "--caption", "the driver's label")
	s.runs("ann", "log", "assigned", faultOn(s, "B1-104"), "--trade", "electrical", "--owner", "Ben")
	s.runs("ann", "log", "check", "B1-R02", "--test", "manual", "--fail", "--reading", "no answer from the switch")
	s.runs("ann", "log", "hold", "room:0-R02", "--why", "ceiling open", "--who", "electrician")
	s.runs("ann", "log", "power-off", "C1-3")
	s.runs("ann", "log", "skipped", "1-172", "--why", "no-access")
	return s.serves("ann", "", "--listen", "127.0.0.1:0", "--page", "127.0.0.1:0")
}

// faultOn is the number of the fault that was found on a device.
func faultOn(s *shop, device string) string {
	var doc struct {
		Faults []struct{ ID, Subject string }
	}
	require.NoError(s.t, json.Unmarshal([]byte(s.runs("ann", "--json", "faults")), &doc))
	for _, f := range doc.Faults {
		if f.Subject == "device:"+device {
			return f.ID
		}
	}
	s.t.Fatalf("no fault on %s", device)
	return ""
}
