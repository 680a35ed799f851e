package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

// liveSizes are the sites on which an entry goes from one member to another's page: a
// building and a large one, each the job of eight people.
var liveSizes = []invent.Job{
	{Seed: 1, Members: 8, Count: 10_000, Size: invent.Size{Seed: 1, Devices: 500}},
	{Seed: 1, Members: 8, Count: 100_000, Size: invent.Size{Seed: 1, Devices: 5_000}},
}

// livePair is two people on such a site, each in a process that serves a page.
type livePair struct {
	*shop
	ann  *bench
	ben  *tab
	tags []string
}

// lodges puts both on the site, and has them meet.
func lodges(b *testing.B, browser context.Context, of invent.Job) *livePair {
	p := &livePair{shop: newShop(b)}
	job := lodged.Of(of)
	job.Role = events.Tech
	for _, name := range []string{"Ann", "Ben"} {
		folder := filepath.Join(p.dir, strings.ToLower(name))
		_, err := job.In(folder, name)
		require.NoError(b, err)
		own, err := job.Own(folder)
		require.NoError(b, err)
		require.NotEmpty(b, own)
		job.Lines = append(job.Lines, own...) // Ben has heard of Ann, and calls at her
	}
	clock := job.World().Now().Wall.At.Time().Add(time.Hour).Format(time.RFC3339)
	for _, x := range invent.Site(of.Size) {
		if d, ok := x.(events.DeviceListed); ok && d.Is.Pairs() {
			p.tags = append(p.tags, string(d.Device))
		}
	}
	p.ann = p.serves("ann", clock, "--listen", "127.0.0.1:0", "--page", "127.0.0.1:0")
	ben := p.serves("ben", clock, "--listen", "none", "--call", p.ann.bus, "--page", "127.0.0.1:0")
	p.ben = blank(b, browser, "Ben", ben.page)
	p.ben.do(chromedp.Navigate(ben.page))
	p.ben.sees("A colleague holds every entry of this device")
	return p
}

// watchAnswers notes when the page first asked for something, being told that there was
// news, when it had the last of the answers, and when it had shown it.
const watchAnswers = `(() => {
  const now = () => performance.timeOrigin + performance.now()
  window.live = {asked: 0, open: 0, at: 0}
  const shown = () => {
    const c = new MessageChannel()
    c.port1.onmessage = () => { if (!live.open) live.at = now() }
    requestAnimationFrame(() => c.port2.postMessage(0))
  }
  const asks = window.fetch
  window.fetch = async (...a) => {
    if (String(a[0]).includes('/changes')) return asks(...a)
    if (!live.asked++) live.told = now()
    live.open++
    const done = () => { live.had = now(); setTimeout(() => { live.open--; if (!live.open) shown() }) }
    try {
      const r = await asks(...a), json = r.json.bind(r)
      if (r.ok) r.json = () => json().finally(done)
      else done()
      return r
    } catch (e) { done(); throw e }
  }
})()`

// appends records an entry at Ann's, and says when it was asked for.
func (p *livePair) appends(n int) (began time.Time) {
	u, err := url.Parse(p.ann.page)
	require.NoError(p.t, err)
	body, err := json.Marshal(map[string]any{"once": fmt.Sprintf("%020x", n+1), "by": "", "entries": []any{
		map[string]any{"kind": "device.heard", "when": "", "body": map[string]any{"device": p.tags[n%len(p.tags)], "hub": "H1"}},
	}})
	require.NoError(p.t, err)
	r, err := http.NewRequest(http.MethodPost, "http://"+u.Host+"/api/log", bytes.NewReader(body))
	require.NoError(p.t, err)
	r.Header.Set("Authorization", "Bearer "+strings.TrimPrefix(u.Fragment, "t="))
	began = time.Now()
	answer, err := http.DefaultClient.Do(r)
	require.NoError(p.t, err)
	defer answer.Body.Close()
	require.Equal(p.t, http.StatusOK, answer.StatusCode)
	return began
}

// BenchmarkLivePage is the time from asking one member's process to record an entry
// until another member's page, in a real browser, has asked for what its screen shows
// and shown it: two processes, TLS, two durable writes. On the way it is noted when that
// page was told, and when it had what it asked for. The aim is 50 ms for 95 of 100.
func BenchmarkLivePage(b *testing.B) {
	for _, job := range liveSizes {
		b.Run(fmt.Sprintf("%d-devices-%dk", job.Size.Devices, job.Count/1000), func(b *testing.B) {
			browser := newBrowser(b)
			p := lodges(b, browser, job)
			n := 0
			for _, screen := range []string{"story", "now", "trouble", "team", "plan"} {
				b.Run(screen, func(b *testing.B) {
					p.ben.t = b
					p.ben.do(chromedp.Reload())
					p.ben.sees("A colleague holds every entry of this device")
					js[chromedp.Void](p.ben, watchAnswers)
					p.ben.goes(screen + "?benchmark=" + fmt.Sprint(n))
					p.ben.holds(`live.asked && !live.open && live.at`, "the screen")
					if dir := os.Getenv("PAIRWALK_PICTURES"); dir != "" {
						p.ben.picture(fmt.Sprintf("live-%d-%s", job.Size.Devices, screen))
					}
					var told, had, shown []float64
					for b.Loop() {
						n++
						x := p.shows(n)
						told, had, shown = append(told, x.Told), append(had, x.Had), append(shown, x.At)
					}
					spread(b, "told", told)
					spread(b, "answered", had)
					spread(b, "shown", shown)
					b.ReportMetric(0, "ns/op")
				})
			}
		})
	}
}

// passage is when an entry came so far, in ms since it was asked for.
type passage struct{ Told, Had, At float64 }

func (p *livePair) shows(n int) passage {
	p.ben.holds(`!live.open`, "a quiet page")
	js[chromedp.Void](p.ben, `live.asked = 0; live.at = 0`)
	began := float64(p.appends(n).UnixMicro()) / 1000
	p.ben.holds(`live.asked && !live.open && live.at`, "what the entry changes")
	x := js[passage](p.ben, `({Told: live.told, Had: live.had, At: live.at})`)
	return passage{x.Told - began, x.Had - began, x.At - began}
}
