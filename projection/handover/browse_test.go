package handover_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
)

// axeFile is axe-core, an outside judge of what people who see, hear or move
// otherwise can use (https://github.com/dequelabs/axe-core). It comes with the
// page's own sources: npm ci.
const axeFile = "../../cmd/pairwalk/web/ui/node_modules/axe-core/axe.min.js"

// newTab starts a browser that lives as long as the test; where there is none, the
// test is skipped, and in CI that is a failure.
func newTab(t *testing.T) context.Context {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if found, err := exec.LookPath(name); err == nil && path == "" {
			path = found
		}
	}
	if path == "" && os.Getenv("CI") == "" {
		t.Skip("no browser on this machine: install chromium to see the pack in one")
	}
	require.NotEmpty(t, path, "no browser is installed, and CI must have one")
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	ctx, quit := chromedp.NewContext(ctx)
	t.Cleanup(quit)
	require.NoError(t, chromedp.Do(ctx))
	return ctx
}

// ask evaluates an expression in the page.
func ask[T any](t *testing.T, tab context.Context, expr string) T {
	t.Helper()
	ctx, cancel := context.WithTimeout(tab, time.Minute)
	defer cancel()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T](expr, chromedp.EvalAwaitPromise))
	require.NoError(t, err, "%.200s", expr)
	return out
}

// On a phone and on a desk: nothing that axe finds wrong, and nothing that runs over
// the edge of the page; a wide table scrolls in its own box. With PAIRWALK_PICTURES
// each is kept as a picture, to be looked at.
func TestThePageIsFitToRead(t *testing.T) {
	axe, err := os.ReadFile(axeFile)
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("axe-core is not there: run npm ci in cmd/pairwalk/web/ui")
	}
	require.NoError(t, err)
	tab := newTab(t)
	nasty, _ := hostile(t)
	for _, x := range []struct {
		name string
		doc  handover.Document
	}{
		{"small", small(t).document(picture())}, {"bare", bare(t).document()}, {"works", works(t).document(picture())}, {"hostile", nasty.document(picture())},
	} {
		file := filepath.Join(t.TempDir(), x.name+".html")
		require.NoError(t, os.WriteFile(file, []byte(page(t, x.doc)), 0o600))
		for _, wide := range []int64{360, 1440} {
			name := fmt.Sprintf("%s-%d", x.name, wide)
			require.NoError(t, chromedp.Do(tab, chromedp.EmulateViewport(wide, 900), chromedp.Navigate("file://"+file)))
			require.LessOrEqual(t, ask[int64](t, tab, `document.documentElement.scrollWidth`), wide, "%s runs over the edge", name)
			require.Empty(t, ask[[]string](t, tab, `[...document.querySelectorAll('body *')].filter(e => !e.closest('.box')
			  && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 120))`), name)
			require.Empty(t, ask[[]string](t, tab, `performance.getEntriesByType('resource').map(e => e.name).filter(n => !n.startsWith('data:'))`), "%s asks for something", name)
			if x.name != "works" { // of hundreds of devices axe takes a minute, and finds what it finds in a few
				ask[chromedp.Void](t, tab, string(axe)+`;undefined`)
			}
			for _, problem := range ask[[]string](t, tab, `!window.axe ? [] : axe.run(document, {resultTypes: ['violations']}).then(r => r.violations
			  .map(v => v.impact + ' ' + v.id + ': ' + v.help + ' at ' + v.nodes.slice(0, 3).map(n => n.target.join(' ') + ' ' + (n.any[0]?.message ?? '')).join('; ')))`) {
				t.Errorf("%s: %s", name, problem)
			}
			if dir := os.Getenv("PAIRWALK_PICTURES"); dir != "" {
				b, err := chromedp.Run(tab, chromedp.CaptureScreenshot())
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(filepath.Join(dir, "pack-"+name+".png"), b, 0o600))
			}
		}
	}
}

// On a phone no word of a column's head is broken, captions fit the screen, and a table
// of few columns needs no scrolling.
func TestTablesAreFitForAPhone(t *testing.T) {
	tab := newTab(t)
	for name, doc := range map[string]handover.Document{"small": small(t).document(picture()), "bare": bare(t).document(), "works": works(t).document(picture())} {
		file := filepath.Join(t.TempDir(), name+".html")
		require.NoError(t, os.WriteFile(file, []byte(page(t, doc)), 0o600))
		require.NoError(t, chromedp.Do(tab, chromedp.EmulateViewport(360, 900), chromedp.Navigate("file://"+file)))
		require.Greater(t, ask[int64](t, tab, `document.querySelectorAll('thead th').length`), int64(50))
		require.Empty(t, ask[[]string](t, tab, `[...document.querySelectorAll('thead th')].flatMap(th => {
		  const text = th.firstChild, range = document.createRange()
		  return [...text.data.matchAll(/[^ ]+/g)].filter(m => {
		    range.setStart(text, m.index); range.setEnd(text, m.index + m[0].length)
		    const lines = new Set([...range.getClientRects()].map(r => r.top))
		    return lines.size > 1 || range.getBoundingClientRect().right > th.getBoundingClientRect().right + 1
		  }).map(m => m[0])})`), "%s: heads that are broken", name)
		require.Empty(t, ask[[]string](t, tab, `[...document.querySelectorAll('caption span')].filter(e => e.getBoundingClientRect().right > innerWidth)
		  .map(e => e.textContent)`), "%s: captions that are cut off", name)
		require.Empty(t, ask[[]string](t, tab, `[...document.querySelectorAll('.box:has(tbody td)')].filter(e => e.querySelectorAll('thead th').length <= 3
		  && e.scrollWidth > e.clientWidth + 1).map(e => e.textContent.slice(0, 90))`), "%s: small tables that scroll", name)
	}
}
