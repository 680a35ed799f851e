package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	keys "github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// These tests drive the page in a real browser, against real processes. Without a
// browser on this machine they are skipped; in CI that is a failure.

// patience is how long a page may take for anything a person would wait for.
const patience = 20 * time.Second

func findBrowser(t testing.TB) string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" {
		t.Fatal("no browser is installed, and CI must have one")
	}
	t.Skip("no browser on this machine: install chromium to run the tests of the page")
	return ""
}

// newBrowser starts a browser that lives as long as the test.
//
// Under the race detector the tests of package web stand for these: what they race
// is the same, and a browser would only wait.
func newBrowser(t testing.TB, more ...chromedp.ExecAllocatorOption) context.Context {
	if underRace {
		t.Skip("the page is driven without the race detector")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(findBrowser(t)), chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("lang", "en-US"))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(opts, more...)...)
	t.Cleanup(stop)
	ctx, quit := chromedp.NewContext(ctx)
	t.Cleanup(quit)
	require.NoError(t, chromedp.Do(ctx))
	_, err := chromedp.Run(ctx, chromedp.Title())
	require.NoError(t, err)
	return ctx
}

// tab is one page in front of a person.
type tab struct {
	t    testing.TB
	ctx  context.Context
	name string // whose it is
	own  string // its origin

	mu      sync.Mutex
	wrong   []string // what was written to the console as an error
	away    bool     // its process is stopped: a failing request is no error
	foreign []string // requests that left its origin
}

const (
	phoneWide, phoneHigh = 360, 780
	deskWide, deskHigh   = 1440, 900
)

// open shows an address in a tab of its own, as wide as a phone.
func open(t testing.TB, browser context.Context, name, addr string) *tab {
	p := blank(t, browser, name, addr)
	p.do(chromedp.Navigate(addr))
	p.sees("Now")
	return p
}

// blank is a tab in which an address is still to be opened.
func blank(t testing.TB, browser context.Context, name, addr string) *tab {
	ctx, quit := chromedp.NewContext(browser)
	t.Cleanup(quit)
	u, err := url.Parse(addr)
	require.NoError(t, err)
	p := &tab{t: t, ctx: ctx, name: name, own: u.Scheme + "://" + u.Host}
	p.do(chromedp.EmulateViewport(phoneWide, phoneHigh))
	require.NoError(t, chromedp.Listen(ctx, p.hear))
	t.Cleanup(p.clean)
	return p
}

func (p *tab) hear(ev any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		words := e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			words += " " + x.Description
		}
		p.wrong = append(p.wrong, words)
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			for _, a := range e.Args {
				p.wrong = append(p.wrong, string(e.Type)+": "+string(a.Value)+a.Description)
			}
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError && !p.away && !strings.Contains(e.Entry.Text, "ERR_CONNECTION_REFUSED") {
			p.wrong = append(p.wrong, e.Entry.Text+" "+e.Entry.URL)
		}
	case *network.EventRequestWillBeSent:
		if u := e.Request.URL; !strings.HasPrefix(u, p.own) && !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "blob:") {
			p.foreign = append(p.foreign, u)
		}
	}
}

// clean is what must hold of a page at the end of every test.
func (p *tab) clean() {
	p.mu.Lock()
	defer p.mu.Unlock()
	require.Empty(p.t, p.wrong, "errors on %s's console", p.name)
	require.Empty(p.t, p.foreign, "requests to somewhere else")
}

// expects lets an answer of the process be an error that the browser writes to its
// console: a refusal that the test is about.
func (p *tab) expects(words string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	var rest []string
	for _, w := range p.wrong {
		if !strings.Contains(w, words) {
			rest = append(rest, w)
		}
	}
	p.wrong = rest
}

func (p *tab) do(acts ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if chromedp.FromContext(p.ctx).Target == nil { // the first call makes the tab, which must outlive it
		require.NoError(p.t, chromedp.Do(p.ctx, acts...))
		return
	}
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	require.NoError(p.t, chromedp.Do(ctx, acts...), "on %s's page", p.name)
}

// js evaluates an expression in the page.
func js[T any](p *tab, expr string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](expr, chromedp.EvalAwaitPromise))
	require.NoError(p.t, err, "%s", expr)
	return out
}

// loadedAnew is what the driver says where a page was loaded anew meanwhile.
var loadedAnew = regexp.MustCompile(`Cannot find context|target navigated`)

// holds waits until an expression is true in the page.
func (p *tab) holds(expr, why string) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	wait := chromedp.Poll[bool](`!!(`+expr+`)`, chromedp.WithPollingInterval(20*time.Millisecond))
	_, err := chromedp.Run(ctx, wait)
	for err != nil && ctx.Err() == nil && loadedAnew.MatchString(err.Error()) {
		_, err = chromedp.Run(ctx, wait)
	}
	if err != nil {
		p.t.Fatalf("%s's page: waited for %s in vain (%v); it reads:\n%s", p.name, why, err, p.text())
	}
}

func (p *tab) text() string {
	return js[string](p, `document.body?.innerText ?? ""`)
}

// sees waits until the page says something; white space does not count.
func (p *tab) sees(words string) {
	p.t.Helper()
	p.holds(fmt.Sprintf(`document.body?.innerText.replace(/\s+/g,' ').includes(%s)`, quote(words)), quote(words))
}

// next waits until the page suggests something as the next act.
func (p *tab) next(words string) {
	p.t.Helper()
	p.holds(`document.querySelector('#now-first')?.innerText.trim() === `+quote(words), "the next act to be "+quote(words))
}

// misses waits until the page does not say something any more.
func (p *tab) misses(words string) {
	p.t.Helper()
	p.holds(fmt.Sprintf(`document.body && !document.body.innerText.replace(/\s+/g,' ').includes(%s)`, quote(words)), "no "+quote(words))
}

func quote(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}

// finder finds what a person would tap: the topmost control that bears the words.
const finder = `(words => {
  const shown = e => { const r = e.getBoundingClientRect(); return r.width > 0 && r.height > 0 && getComputedStyle(e).visibility !== 'hidden' }
  const said = e => ((e.getAttribute('aria-label') || '') + ' ' + e.innerText).replace(/\s+/g, ' ').trim()
  const open = [...document.querySelectorAll('dialog[open]')].pop() || document
  const all = [...open.querySelectorAll('button, a, summary, label.button, [role=button], [role=radio], [role=checkbox]')].filter(shown)
  return all.find(e => said(e) === words) || all.find(e => e.innerText.replace(/\s+/g, ' ').trim() === words) || all.find(e => said(e).startsWith(words)) || all.find(e => said(e).includes(words))
})`

// tap touches the control that bears the words, where it is on the screen. It must
// be large enough for a thumb.
func (p *tab) tap(words string) {
	p.t.Helper()
	find := finder + `(` + quote(words) + `)`
	p.holds(find, "a control "+quote(words))
	type spot struct {
		X, Y, Wide, High float64
		Top              bool
	}
	at := js[spot](p, `(async () => {
	  const frame = () => new Promise(done => requestAnimationFrame(done))
	  for (let was = ''; ; ) { // until it keeps still
	    const e = `+find+`
	    if (!e) { await frame(); continue }
	    e.scrollIntoView({block: 'center'})
	    await frame(); await frame()
	    const r = e.getBoundingClientRect(), is = [r.x, r.y, r.width, r.height, e.isConnected].join()
	    if (is !== was) { was = is; continue }
	    const x = r.x + r.width / 2, y = r.y + r.height / 2, top = document.elementFromPoint(x, y)
	    return {X: x, Y: y, Wide: r.width, High: r.height, Top: !!top && (e === top || e.contains(top) || top.contains(e))}
	  }
	})()`)
	require.True(p.t, at.Top, "%q is covered by something else", words)
	require.GreaterOrEqual(p.t, at.High, 43.5, "%q is too low for a thumb", words)
	require.GreaterOrEqual(p.t, at.Wide, 43.5, "%q is too narrow for a thumb", words)
	p.do(chromedp.MouseClickXY(at.X, at.Y))
}

// fill types into the field with that label.
func (p *tab) fill(label, text string) {
	p.t.Helper()
	find := `(() => { const open = [...document.querySelectorAll('dialog[open]')].pop() || document
	  const l = [...open.querySelectorAll('label')].find(l => l.innerText.trim().startsWith(` + quote(label) + `) && l.getBoundingClientRect().width > 0)
	  return l && (l.htmlFor ? document.getElementById(l.htmlFor) : l.querySelector('input, textarea, select')) })()`
	p.holds(find, "a field "+quote(label))
	js[chromedp.Void](p, `(() => { const e = `+find+`; e.scrollIntoView({block: 'center'}); e.focus(); if (e.select) e.select() })()`)
	if text == "" {
		p.do(chromedp.KeyEvent("\b"))
		return
	}
	if strings.IndexFunc(text, func(r rune) bool { return r > 0x7e }) < 0 {
		p.do(chromedp.KeyEvent(text))
	} else { // no keyboard has it: pasted
		p.do(chromedp.Func(func(ctx context.Context, at *chromedp.Target) error {
			_, err := cdp.Call(ctx, at, keys.InsertText, keys.InsertTextParams{Text: text})
			return err
		}))
	}
	require.Equal(p.t, text, js[string](p, find+`?.value ?? "(gone)"`), "what is in the field %q", label)
}

// choose picks an option of the list with that label.
func (p *tab) choose(label, option string) {
	p.t.Helper()
	done := js[bool](p, `(() => { const open = [...document.querySelectorAll('dialog[open]')].pop() || document
	  const l = [...open.querySelectorAll('label')].find(l => l.innerText.trim().startsWith(`+quote(label)+`))
	  const e = l && (l.htmlFor ? document.getElementById(l.htmlFor) : l.querySelector('select')); if (!e) return false
	  const o = [...e.options].find(o => o.text.trim() === `+quote(option)+` || o.value === `+quote(option)+`); if (!o) return false
	  e.value = o.value; e.dispatchEvent(new Event('input', {bubbles: true})); e.dispatchEvent(new Event('change', {bubbles: true})); return true })()`)
	require.True(p.t, done, "no list %q with %q", label, option)
}

// goes opens a screen by its address.
func (p *tab) goes(route string) {
	p.t.Helper()
	js[chromedp.Void](p, `location.hash = '#/`+route+`'`)
	p.holds(`document.querySelector('main h1')`, "a heading")
}

// gives hands files to the page's chooser of files; which is a selector.
func (p *tab) gives(which string, files ...string) {
	p.t.Helper()
	p.do(chromedp.SetUploadFiles(chromedp.CSS(which), files))
}

// picture takes the screen as a PNG file, where the environment says where to.
func (p *tab) picture(name string) {
	dir := os.Getenv("PAIRWALK_PICTURES")
	if dir == "" {
		return
	}
	b, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	require.NoError(p.t, err)
	require.NoError(p.t, os.WriteFile(filepath.Join(dir, name+".png"), b, 0o600))
}
