package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	keys "github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// These benchmarks measure the page in a real browser. They are told in metrics of
// their own, since ns/op would count the browser's start and the driver as well:
//
//	go test -run '^$' -bench 'Pan|Paint|Tap' ./cmd/pairwalk

// spread tells the middle, the slow end and the worst of some times.
func spread(b *testing.B, name string, ms []float64) {
	require.NotEmpty(b, ms, "nothing was measured for %s", name)
	slices.Sort(ms)
	b.ReportMetric(ms[len(ms)/2], name+"-p50-ms")
	b.ReportMetric(ms[len(ms)*95/100], name+"-p95-ms")
	b.ReportMetric(ms[len(ms)-1], name+"-max-ms")
}

// one is a single time; of several runs the middle one is told.
func one(b *testing.B, name string, ms []float64) {
	slices.Sort(ms)
	b.ReportMetric(ms[len(ms)/2], name+"-ms")
}

// The hall is one floor of 2,000 devices, 50 by 40, paired in one day's work.
const (
	hallWide, hallDeep = 50, 40
	hallHubs           = 8
	hallDay            = "2026-03-02"
)

func hallTag(i int) string { return fmt.Sprintf("1-%04d", i+1) }
func hallHub(i int) string { return fmt.Sprintf("H%d", i*hallHubs/(hallWide*hallDeep)+1) }

// newHall makes the site of the hall and its history.
func newHall(b *testing.B, s *shop) {
	b.Setenv("PAIRWALK_CLOCK", hallDay+"T06:00:00Z")
	s.runs("ann", "init", "Long Hall", "--as", "Ann", "--practice")
	for name, text := range map[string]string{"schedule": hallSchedule(), "walls": hallWalls()} {
		file := filepath.Join(s.dir, name+".csv")
		require.NoError(b, os.WriteFile(file, []byte(text), 0o600))
		s.runs("ann", "import", file)
	}
	b.Setenv("PAIRWALK_CLOCK", hallDay+"T20:05:00Z")
	for i := range hallHubs {
		hub := fmt.Sprintf("H%d", i+1)
		s.runs("ann", "log", "--when", "06:40", "loaded", hub, "--program", "r1")
		s.runs("ann", "log", "--when", "06:50", "ready", hub)
	}
	file := filepath.Join(s.dir, "sheet.csv")
	require.NoError(b, os.WriteFile(file, []byte(hallSheet()), 0o600))
	s.runs("ann", "import", file, "--day", hallDay)
	s.runs("ann", "merge", "out", filepath.Join(s.dir, "records.csv"))
	for i := range hallHubs {
		s.runs("ann", "log", "merged", fmt.Sprintf("H%d", i+1))
	}
	b.Setenv("PAIRWALK_CLOCK", hallDay+"T21:00:00Z")
	for i := range hallHubs {
		s.runs("ann", "log", "--when", fmt.Sprintf("20:%02d", 10+5*i), "pushed", fmt.Sprintf("H%d", i+1), "--program", "r1")
	}
}

func hallSchedule() string {
	var out strings.Builder
	out.WriteString("tag,kind,hub,floor,room,x_m,y_m,z_m,circuit\n")
	for i := range hallHubs {
		fmt.Fprintf(&out, "H%d,hub,,1,1-R%03d,49,%d,2.7,C1-1\n", i+1, i*25+1, 5*2*i+5)
	}
	for i := range hallWide * hallDeep {
		kind := []string{"dimmer", "driver", "sensor", "driver"}[i%4]
		x, y := i%hallWide, i/hallWide
		fmt.Fprintf(&out, "%s,%s,%s,1,1-R%03d,%d,%d,2.7,C1-%d\n", hallTag(i), kind, hallHub(i), i/8+1, 2*x, 2*y, i/100+1)
	}
	return out.String()
}

// hallWalls are the outer wall and a partition every ten metres.
func hallWalls() string {
	var out strings.Builder
	out.WriteString("floor,material,thickness_mm,points\n1,concrete,300,-1 -1; 99 -1; 99 79; -1 79; -1 -1\n")
	for x := 9; x < 99; x += 10 {
		fmt.Fprintf(&out, "1,plasterboard,100,%d -1; %d 38\n1,plasterboard,100,%d 42; %d 79\n", x, x, x, x)
	}
	return out.String()
}

// hallSheet pairs them in the minutes from seven in the morning to eight at night;
// some are fitted, refused or skipped before.
func hallSheet() string {
	var out strings.Builder
	out.WriteString("tag,what,when,serial,by,note\n")
	const n = hallWide * hallDeep
	for i := range n {
		m := 7*60 + i*13*60/n
		at := fmt.Sprintf("%02d:%02d", m/60, m%60)
		switch {
		case i%10 == 0:
			fmt.Fprintf(&out, "%s,fitted,06:30,SN-%05d,Ann,\n", hallTag(i), i)
		case i%37 == 0:
			fmt.Fprintf(&out, "%s,refused,%s,,Ann,no-answer\n", hallTag(i), at)
			continue
		case i%41 == 0:
			fmt.Fprintf(&out, "%s,skipped,%s,,Ann,no-access\n", hallTag(i), at)
			continue
		}
		fmt.Fprintf(&out, "%s,paired,%s,SN-%05d,Ann,\n", hallTag(i), at, i)
	}
	return out.String()
}

// watchFrames records how far apart the page's frames come, until it is stopped.
const watchFrames = `(() => {
  window.apart = []
  let last = 0
  const frame = at => { if (last) apart.push(at - last); last = at; window.ticking = requestAnimationFrame(frame) }
  window.ticking = requestAnimationFrame(frame)
})()`

const stopFrames = `(() => { cancelAnimationFrame(ticking); return apart })()`

// drags presses at the first place, moves through the others with the browser's own
// events, each taken before the next is sent, and lets go at the last.
func (p *tab) drags(path [][2]float64) []float64 {
	p.t.Helper()
	at := func(typ keys.DispatchMouseEventType, xy [2]float64) {
		p.do(chromedp.MouseEvent(typ, xy[0], xy[1], chromedp.ButtonLeft, func(e *keys.DispatchMouseEventParams) {
			if typ == chromedp.MouseMoved {
				e.Buttons = 1
			}
		}))
	}
	at(chromedp.MousePressed, path[0])
	js[chromedp.Void](p, watchFrames)
	for _, xy := range path[1:] {
		at(chromedp.MouseMoved, xy)
	}
	out := js[[]float64](p, stopFrames)
	at(chromedp.MouseReleased, path[len(path)-1])
	return out
}

type box struct{ X, Y, Wide, High float64 }

func (p *tab) boxOf(css string) box {
	p.t.Helper()
	p.holds(`document.querySelector(`+quote(css)+`)`, css)
	return js[box](p, `(() => { const r = document.querySelector(`+quote(css)+`).getBoundingClientRect(); return {X: r.x, Y: r.y, Wide: r.width, High: r.height} })()`)
}

// inkOf counts the pixels of the picture that are drawn, and sums up their colours.
const inkOf = `(() => {
  const c = document.querySelector('.plan-upper'), d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data
  let count = 0, sum = 0
  for (let i = 0; i < d.length; i += 4) if (d[i + 3]) { count++; sum += d[i] + d[i + 1] + d[i + 2] }
  return {count, sum}
})()`

// BenchmarkPanAndScrub is the time between frames while a plan of 2,000 devices is
// dragged, and while the slider goes through the whole job and back. The aim is
// 20 ms for 95 of 100 frames of either.
func BenchmarkPanAndScrub(b *testing.B) {
	browser, s := newBrowser(b), newShop(b)
	newHall(b, s)
	run := s.serves("ann", hallDay+"T21:30:00Z", "--listen", "none", "--page", "127.0.0.1:0")
	p := open(b, browser, "Ann", run.page)
	p.do(chromedp.EmulateViewport(deskWide, deskHigh))
	p.goes("plan?floor=1")
	p.holds(`document.querySelector('.plan-scrub input[type=range]') && document.querySelector('.plan-upper')`, "the picture and its slider")
	p.sees(hallTag(0))
	p.drawsTheCourse(b)
	var pan, scrub []float64
	for b.Loop() {
		pan = append(pan, p.pansAround()...)
		scrub = append(scrub, p.scrubsThrough()...)
	}
	spread(b, "pan", pan)
	spread(b, "scrub", scrub)
	b.ReportMetric(float64(len(pan)+len(scrub))/float64(b.N), "frames/op")
	b.ReportMetric(0, "ns/op")
}

// drawsTheCourse makes sure that there is something to measure: at noon half of the
// marks are empty.
func (p *tab) drawsTheCourse(b *testing.B) {
	const devices = 20_000 // pixels at least
	p.holds(inkOf+fmt.Sprintf(`.count > %d`, devices), "the devices")
	p.picture("hall")
	last := js[float64](p, inkOf+`.sum`)
	slider := p.boxOf(".plan-scrub input[type=range]")
	y := slider.Y + slider.High/2
	p.drags([][2]float64{{slider.X + slider.Wide - 10, y}, {slider.X + slider.Wide/2, y}})
	p.holds(inkOf+fmt.Sprintf(`.count > %d`, devices), "the devices at noon")
	p.holds(fmt.Sprintf(`Math.abs(%s.sum - %f) > 0.1 * %f`, inkOf, last, last), "other marks at noon")
	p.picture("hall-noon")
	p.tap("Back to now")
	p.holds(fmt.Sprintf(`Math.abs(%s.sum - %f) < 0.001 * %f`, inkOf, last, last), "the marks of now")
	require.Empty(b, p.wrong)
}

// pansAround drags the plan once around a ring.
func (p *tab) pansAround() []float64 {
	at := p.boxOf(".plan-upper")
	x, y := at.X+at.Wide/2, at.Y+at.High/2
	path := [][2]float64{{x, y}}
	for i := range 180 {
		turn := float64(i % 60)
		dx, dy := 4*turn, 2*turn
		if i%120 >= 60 {
			dx, dy = 4*(60-turn), 2*(60-turn)
		}
		path = append(path, [2]float64{x - 120 + dx, y - 60 + dy})
	}
	return p.drags(path)
}

// scrubsThrough takes the slider from now to the beginning and back.
func (p *tab) scrubsThrough() []float64 {
	at := p.boxOf(".plan-scrub input[type=range]")
	y, left, wide := at.Y+at.High/2, at.X+10, at.Wide-20
	path := [][2]float64{{left + wide, y}}
	const steps = 120
	for i := range steps {
		path = append(path, [2]float64{left + wide*float64(steps-1-i)/steps, y})
	}
	for i := range steps {
		path = append(path, [2]float64{left + wide*float64(i+1)/steps, y})
	}
	out := p.drags(path)
	p.do(chromedp.KeyEvent(kb.End)) // whatever is left is now
	return out
}

// watchCard notes when the card of the next act is first on the screen.
const watchCard = `new MutationObserver((_, watch) => {
  if (!document.querySelector('.now-card')) return
  watch.disconnect()
  requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => { window.cardAt = performance.now() }; c.port2.postMessage(0) })
}).observe(document, {childList: true, subtree: true})`

// BenchmarkFirstPaint is a cold start on the site of the works: from starting the
// process to its address, and from opening that, never seen by this browser, to the
// first paint and to the card with the next act. The aim for the card is 400 ms.
func BenchmarkFirstPaint(b *testing.B) {
	browser, s := newBrowser(b), newShop(b)
	newWorks(b, s)
	var ready, paint, card, asked []float64
	for b.Loop() {
		began := time.Now()
		run := s.serves("ann", "", "--listen", "none", "--page", "127.0.0.1:0")
		ready = append(ready, float64(time.Since(began).Microseconds())/1000)
		p := blank(b, browser, "Ann", run.page)
		_, err := chromedp.Call(p.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watchCard})
		require.NoError(b, err)
		p.do(chromedp.Navigate(run.page))
		p.holds(`window.cardAt`, "the card")
		card = append(card, js[float64](p, `cardAt`))
		paint = append(paint, js[float64](p, `performance.getEntriesByName('first-contentful-paint')[0].startTime`))
		asked = append(asked, js[float64](p, `performance.getEntriesByType('resource').filter(e => e.name.endsWith('/api/now'))[0].duration`))
		p.stops(run)
	}
	one(b, "address", ready)
	one(b, "paint", paint)
	spread(b, "card", card)
	one(b, "asking-now", asked)
	b.ReportMetric(0, "ns/op")
}

// newWorks makes the site of testdata/works, a part of it paired, with Ben as a
// second member where he is wanted.
func newWorks(b *testing.B, s *shop) {
	works := filepath.Join("..", "..", "testdata", "works")
	s.runs("ann", "init", "Lime Works", "--as", "Ann", "--practice")
	for _, name := range []string{"schedule", "floors", "walls", "links", "survey"} {
		s.runs("ann", "import", filepath.Join(works, name+".csv"), "--day", hallDay)
	}
	s.runs("ann", "log", "loaded", "H1", "--program", "r1")
	s.runs("ann", "log", "ready", "H1")
	s.runs("ann", "import", filepath.Join(works, "fieldsheet.csv"), "--day", hallDay)
}

// watchTaps and watchStory note, by the clock of this machine, when each device was
// tapped on one page and when the story of the other one names it.
const watchTaps = `addEventListener('click', e => { if (e.target.closest('.act')) window.tapped = performance.timeOrigin + e.timeStamp }, {capture: true})`

const watchStory = `(() => {
  window.seenAt = {}
  new MutationObserver(() => {
    const at = performance.timeOrigin + performance.now()
    const row = document.querySelector('.story-row .story-what')?.textContent ?? ''
    for (const tag of row.match(/[0-9B]+-[0-9]+/g) ?? []) seenAt[tag] ??= at
  }).observe(document.querySelector('main'), {childList: true, subtree: true, characterData: true})
})()`

// tapsAtOnce is how many taps of one run are measured.
const tapsAtOnce = 40

// BenchmarkTapToOtherPage is the time from a tap on one member's page until another
// member's page shows the entry: two processes, two durable writes, two pages. The
// aim is 100 ms for 95 of 100 taps.
func BenchmarkTapToOtherPage(b *testing.B) {
	browser, s := newBrowser(b), newShop(b)
	newWorks(b, s)
	var invite struct{ Token string }
	require.NoError(b, json.Unmarshal([]byte(s.runs("ann", "--json", "invite", "--role", "tech")), &invite))
	s.runs("ben", "join", invite.Token, "--as", "Ben")
	a := s.serves("ann", "", "--listen", "127.0.0.1:0", "--page", "127.0.0.1:0")
	ann := open(b, browser, "Ann", a.page)
	ben := open(b, browser, "Ben", s.serves("ben", "", "--listen", "none", "--call", a.bus, "--page", "127.0.0.1:0").page)
	ben.sees("within reach: Ann")
	ben.sees("A colleague holds every entry of this device")
	ben.goes("story")
	ben.holds(`document.querySelector('.story-row')`, "the log")
	js[chromedp.Void](ben, watchStory)
	js[chromedp.Void](ann, watchTaps)
	tags := js[[]string](ann, `fetch('/api/layout', {headers: {Authorization: 'Bearer ' + localStorage.getItem('pairwalk.token')}}).then(r => r.json()).then(d => d.devices.map(x => x.tag))`)
	var took []float64
	for b.Loop() {
		for range tapsAtOnce {
			tag := tags[0]
			tags = tags[1:]
			took = append(took, tapsAnswered(ann, ben, tag))
		}
	}
	spread(b, "tap", took)
	b.ReportMetric(0, "ns/op")
}

func tapsAnswered(ann, ben *tab, tag string) float64 {
	ann.goes("now?subject=device:" + tag)
	ann.tap("Answered")
	ann.tap("It answered")
	ben.holds(`seenAt[`+quote(tag)+`]`, "the answer of "+tag)
	return js[float64](ben, `seenAt[`+quote(tag)+`]`) - js[float64](ann, `tapped`)
}
