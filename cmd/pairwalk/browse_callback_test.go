package main

import (
	"archive/zip"
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// handedOver serves the small job of Ann and Ben, three days after it was pushed and
// signed for: every device is paired, and both pages are open.
func handedOver(t *testing.T) *job {
	j := &job{shop: newShop(t), browser: newBrowser(t)}
	ago := func(by time.Duration) { t.Setenv("PAIRWALK_CLOCK", time.Now().Add(-by).UTC().Format(time.RFC3339)) }
	ago(72 * time.Hour)
	j.opens().stop()
	token := tokenForm.FindString(j.runs("ann", "invite"))
	require.NotEmpty(t, token)
	j.runs("ben", "join", token, "--as", "Ben")
	for _, tag := range []string{"1-101", "1-102", "1-103", "1-104", "1-105"} {
		j.runs("ann", "log", "paired", tag, "SN-"+tag)
	}
	j.runs("ann", "merge", "out", filepath.Join(t.TempDir(), "records.csv"))
	j.runs("ann", "log", "merged")
	ago(71 * time.Hour)
	j.runs("ann", "log", "pushed", "H1", "--program", "r1")
	j.runs("ann", "log", "heard", "1-101,1-102,1-103,1-104,1-105")
	j.runs("ann", "log", "signed", "site", "handed over", "--signer", "Ann", "--as", "lead")
	t.Setenv("PAIRWALK_CLOCK", "")
	j.carries("ann", "ben")
	j.carries("ben", "ann")
	j.a = j.serves("ann", "", "--listen", "127.0.0.1:0", "--page", "127.0.0.1:0")
	j.b = j.serves("ben", "", "--listen", "none", "--call", j.a.bus, "--page", "127.0.0.1:0")
	j.ann, j.ben = open(t, j.browser, "Ann", j.a.page), open(t, j.browser, "Ben", j.b.page)
	return j
}

// A breaker goes off at Ben's, who says so; somebody calls Ann, whose page names it
// first and leads to the entry.
func TestWhatHappenedByTouch(t *testing.T) {
	j := handedOver(t)
	j.ben.sees("within reach: Ann")
	j.ben.goes("now?subject=circuit:C1-2&act=off")
	j.ben.sees("Prove absence of voltage")
	j.ben.tap("It has no power")
	j.ben.sees("C1-2 has no power")
	j.ben.sees("A colleague holds every entry of this device")

	j.ann.goes("trouble")
	j.ann.tap("Somebody called about …")
	j.ann.sees("How does it show?")
	j.ann.tap("Ask the log")
	j.ann.sees("Say what it is about.")
	j.ann.fill("What is it about", "1-R02")
	j.ann.tap("It does not answer")
	j.ann.sees("Ask on the telephone")
	j.ann.sees("1 entry logged since handover: 2 days")
	j.ann.holds(`document.querySelector('.cb-causes article h3')?.innerText.includes('Circuit C1-2 is off')`, "the breaker to be named first")
	j.ann.sees("Without it 1-103 would have power")
	j.ann.sees("Prove absence of voltage")
	j.ann.picture("happened")

	j.ann.tap(js[string](j.ann, `document.querySelector('.cb-causes .cb-entry').innerText.replace(/\s+/g, ' ').trim()`))
	j.ann.holds(`location.hash.startsWith('#/story') && document.querySelector('dialog[open]')?.innerText.includes('C1-2')`, "the entry in the story")
	j.ann.sees("Ben")
	j.ann.do(chromedp.NavigateBack())
	j.ann.sees("Ask on the telephone") // what was asked is in the address

	j.ann.tap("Power on: C1-2")
	j.ann.holds(`!!document.querySelector('dialog[open] form')`, "the form of the entry")
	j.ann.tap("The power is back")
	j.ann.sees("C1-2 has power again")
	j.ann.goes("trouble?part=happened&subject=room:1-R02&symptom=no-answer")
	j.ann.sees("2 entries logged since handover")
	j.ann.misses("Circuit C1-2 is off") // what was put right is no cause

	j.ann.goes("trouble?part=happened&subject=device:1-102&symptom=wrong-level")
	j.ann.sees("The log knows of nothing that would explain it")
	j.ann.goes("trouble?part=happened&subject=device:1-101&from=soon")
	j.ann.sees("soon") // why it can't be asked
	j.ann.expects("400")
	j.ann.goes("story?subject=device:1-101")
	j.ann.tap("What happened?")
	j.ann.holds(`[...document.querySelectorAll('input')].some(e => e.value === '1-101')`, "the device to be asked about")
	j.ann.goes("plan?floor=1&device=1-104")
	j.ann.tap("What happened?")
	j.ann.holds(`[...document.querySelectorAll('input')].some(e => e.value === '1-104')`, "the device of the plan to be asked about")
}

// Two moments are compared, and it says who knew.
func TestWhatDiffersByTouch(t *testing.T) {
	j := handedOver(t)
	j.ben.sees("within reach: Ann")
	j.ann.stops(j.a) // Ben is alone
	j.ben.misses("within reach: Ann")
	j.ben.goes("now?subject=circuit:C1-2&act=off")
	j.ben.tap("It has no power")
	j.ben.sees("C1-2 has no power")
	j.ben.goes("trouble?part=differs")
	j.ben.tap("Compare")
	j.ben.sees("Say the first moment.")
	j.ben.fill("First moment", "-1h")
	j.ben.tap("Compare")
	j.ben.sees("1 entry made a difference")
	j.ben.sees("1-103, 1-105: power on → dark") // 1-104, a sensor, has a battery
	j.ben.sees("Nothing shows that they knew: Ann")
	j.ben.picture("differs")
	j.ben.goes("plan?floor=1&view=list") // again, from the plan as it was
	j.ben.tap("Before")
	j.ben.sees("As of")
	j.ben.tap("More")
	j.ben.tap("What differs since then")
	j.ben.holds(`[...document.querySelectorAll('input')].some(e => e.value.startsWith('20')) && [...document.querySelectorAll('input')].some(e => e.value === '1')`, "the moment and the floor of the plan")
	j.ben.sees("differ")
	j.ben.goes("trouble?part=differs") // and by a moment that matters
	j.ben.holds(`document.querySelector('select')?.options.length > 1`, "the moments that matter")
	j.ben.choose("First moment: or a moment that matters", js[string](j.ben, `[...document.querySelectorAll('select')][0].options[1].text.trim()`))
	j.ben.tap("Compare")
	j.ben.sees("differ")
}

// A test fails, is repeated, and passes; what it is held against goes with it.
func TestACheckIsRepeatedByTouch(t *testing.T) {
	j := handedOver(t)
	j.ann.goes("site?part=checks")
	j.ann.sees("tests are owed")
	j.ann.tap("1-R02")
	j.ann.sees("off or down within 20 min")
	j.ann.sees("IECC C405.2.1.1")
	card := `[...document.querySelectorAll('.hand-test')].find(e => e.innerText.includes('occupancy'))`
	j.ann.holds(card, "the test of the sensor")
	j.ann.alone(card)
	j.ann.fill("Reading", "off after 26 min")
	j.ann.fill("Instrument", "stop watch 4")
	j.ann.tap("Failed")
	j.ann.sees("occupancy of room 1-R02: failed")
	j.ann.holds(card+`?.innerText.startsWith('failed')`, "the test to stand as failed")
	j.ann.alone(card)
	j.ann.holds(card+`.querySelector('input') && [...`+card+`.querySelectorAll('input')].some(e => e.value === 'stop watch 4')`, "the instrument to be kept")
	j.ann.fill("Reading", "off after 18 min")
	j.ann.tap("Repeated: passed")
	j.ann.holds(card+`?.innerText.startsWith('passed')`, "the test to stand as passed")
	j.ann.sees("repeats one that failed")
	j.ann.picture("check")
	done := only(j.log("ann", "room:1-R02"), "check.done")
	require.Len(t, done, 2)
	require.Equal(t, []any{false, true}, []any{done[0].Body["pass"], done[1].Body["pass"]})
	for _, x := range done {
		require.Equal(t, "stop watch 4", x.Body["instrument"])
		require.Contains(t, x.Body["limit"], "20 min")
	}
}

// alone hides the other cards, so that fields and buttons of one name are those of
// that card.
func (p *tab) alone(card string) {
	p.t.Helper()
	js[chromedp.Void](p, `(() => { for (const x of document.querySelectorAll('.hand-test')) x.style.display = x === `+card+` ? '' : 'none' })()`)
}

// A fault gets a photo, is given to somebody, is cleared, and comes back.
func TestAFaultsWholeStoryByTouch(t *testing.T) {
	j := handedOver(t)
	j.ben.stops(j.b)
	j.ann.goes("trouble")
	j.ann.tap("Found a fault")
	j.ann.fill("Where: tag, hub, circuit or room", "1-105")
	j.ann.fill("What is wrong", "hums at low level")
	j.ann.tap("danger")
	j.ann.tap("Record")
	j.ann.sees("hums at low level")
	j.ann.sees("nobody’s yet")
	j.ann.sees("at 10.0, 0.0, 2.7 m")

	file := filepath.Join(t.TempDir(), "label.png")
	require.NoError(t, os.WriteFile(file, onePicture(t), 0o600))
	j.ann.tap("Add a photo")
	j.ann.gives("input.fault-photo", file)
	j.ann.sees("Photo of 1-105")
	j.ann.holds(`document.querySelector('.hand-photos img')?.naturalWidth > 0`, "the photo to be seen")

	j.ann.tap("Give to somebody")
	j.ann.fill("Who mends it", "Ben")
	j.ann.fill("Whose trade", "electrical")
	j.ann.tap("Record")
	j.ann.sees("with Ben, electrical")
	j.ann.tap("Mended")
	j.ann.fill("What was done", "new driver")
	j.ann.tap("Record")
	j.ann.sees("1 fault was cleared")
	j.ann.tap("1 fault was cleared")
	j.ann.tap("It is back")
	j.ann.fill("What is back", "hums again")
	j.ann.tap("Record")
	j.ann.misses("1 fault was cleared")
	j.ann.sees("open again")
	j.ann.sees("What became of it (4)")
	j.ann.picture("fault")
	require.Len(t, only(j.log("ann", "1-105"), "photo.added"), 1)

	j.carries("ann", "ben") // by a file, which has no pictures in it
	j.ann.stops(j.a)        // nobody is in reach who holds it
	j.b = j.ben.startsAgain(j.shop, j.b, "ben", "", "none")
	j.ben.goes("trouble")
	j.ben.sees("hums at low level")
	j.ben.sees("The photo is not on this device")
	j.ben.expects("404")
}

// The page asks for the faults that it shows, and for more of them when it is to show
// more; how many there are it knows, and the one that an address means is among them.
func TestMoreFaultsByTouch(t *testing.T) {
	s := newShop(t)
	a := s.opens()
	for i := range 14 {
		s.runs("ann", "log", "fault", "1-101", fmt.Sprintf("it hums %d", i+1))
	}
	s.runs("ann", "log", "fault", "1-102", "it is dark")
	p := open(t, newBrowser(t), "Ann", a.page)
	p.goes("trouble?subject=device:1-102")
	p.sees("it is dark")
	p.sees("it hums 11")
	p.misses("it hums 12")
	p.goes("trouble")
	p.misses("it is dark")
	p.tap("Show more (3 left)")
	p.sees("it hums 14")
	p.sees("it is dark")
	p.misses("Show more")
}

// onePicture is a small picture, as a browser shows one.
func onePicture(t testing.TB) []byte {
	m := image.NewRGBA(image.Rect(0, 0, 64, 48))
	for i := range m.Pix {
		m.Pix[i] = byte(i)
	}
	m.Set(0, 0, color.White)
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	return b.Bytes()
}

// The pack is downloaded, unfolded, and proved by the command; signing comes after
// it.
func TestThePackByTouch(t *testing.T) {
	j := handedOver(t)
	j.ann.goes("site?part=pack")
	j.ann.sees("functional tests are owed")
	j.ann.sees("No fault is open")
	j.ann.sees("Signed for the whole site: handed over: Ann as lead")
	before := len(j.log("ann", "site"))
	js[chromedp.Void](j.ann, `URL.createObjectURL = (make => blob => { window.given = blob; return make(blob) })(URL.createObjectURL.bind(URL))`)
	j.ann.tap("Write the pack")
	j.ann.sees("kiln-lane-handover-")
	j.ann.sees("pairwalk verify")
	text := js[string](j.ann, `window.given.arrayBuffer().then(b => btoa(Array.from(new Uint8Array(b), x => String.fromCharCode(x)).join('')))`)
	file, err := base64.StdEncoding.DecodeString(text)
	require.NoError(t, err)
	folder := unfolds(t, file)
	var doc struct {
		Pages    string
		Problems []string
		Maker    struct{ Name, Standing string }
	}
	require.NoError(t, json.Unmarshal([]byte(j.runs("ann", "--json", "verify", filepath.Join(folder, "handover"))), &doc))
	require.Empty(t, doc.Problems)
	require.Equal(t, "all", doc.Pages)
	require.Equal(t, "Ann", doc.Maker.Name)
	require.Len(t, j.log("ann", "site"), before, "writing it records nothing")

	j.ann.tap("What would be in it")
	j.ann.sees("report.pdf")
	j.ann.sees("columns of the register are for the office to fill")
	j.ann.picture("pack")
	j.ann.tap("Sign again")
	j.ann.fill("In which role", "owner's agent")
	j.ann.tap("Record")
	j.ann.sees("as owner's agent")
	require.Len(t, only(j.log("ann", "site"), "work.signed"), 2)
}

// unfolds unpacks a ZIP.
func unfolds(t *testing.T, file []byte) string {
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	folder := t.TempDir()
	for _, f := range z.File {
		require.False(t, strings.Contains(f.Name, "..") || filepath.IsAbs(f.Name))
		to := filepath.Join(folder, filepath.FromSlash(f.Name))
		require.NoError(t, os.MkdirAll(filepath.Dir(to), 0o700))
		in, err := f.Open()
		require.NoError(t, err)
		b, err := io.ReadAll(in)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(to, b, 0o600))
		require.Equal(t, 1980, f.Modified.In(time.UTC).Year())
	}
	return folder
}
