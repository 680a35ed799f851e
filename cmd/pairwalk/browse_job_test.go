package main

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
)

const smallJob = "tag,kind,hub,floor,room,x_m,y_m,z_m,circuit,emergency\n" +
	"H1,hub,,1,1-R01,0,0,2.7,C1-1,\n" +
	"1-101,dimmer,H1,1,1-R01,2,0,2.7,C1-1,\n" +
	"1-102,driver,H1,1,1-R01,4,0,2.7,C1-1,\n" +
	"1-103,driver,H1,1,1-R02,6,0,2.7,C1-2,yes\n" +
	"1-104,sensor,H1,1,1-R02,8,0,2.7,C1-2,\n" +
	"1-105,driver,H1,1,1-R02,10,0,2.7,C1-2,\n"

// job is the whole job by touch: two people, two processes, two pages.
type job struct {
	*shop
	browser  context.Context
	ann, ben *tab
	a, b     *bench
}

func TestTheWholeJobByTouch(t *testing.T) {
	j := &job{shop: newShop(t), browser: newBrowser(t)}
	j.runs("ann", "init", "Kiln <b>Lane</b>", "--as", "Ann", "--practice")
	j.a = j.serves("ann", "", "--listen", "127.0.0.1:0", "--page", "127.0.0.1:0")
	j.ann = open(t, j.browser, "Ann", j.a.page)
	j.ann.sees("No exchange with anybody yet")

	j.takesInTheSchedule()
	j.letsBenIn()
	j.fitsAndPairs()
	j.refusesAndSkips()
	j.seenByBen()
	j.timePasses()
	j.asksMergesAndPushes()
	j.findsAFault()
	j.voidsAndCorrects()
	j.scrubsBack()
	j.settlesAConflict()
}

// The difference is shown before a file is taken in.
func (j *job) takesInTheSchedule() {
	file := filepath.Join(j.t.TempDir(), "schedule.csv")
	require.NoError(j.t, os.WriteFile(file, []byte(smallJob), 0o600))
	j.ann.goes("site?part=import")
	j.ann.gives("input[type=file]", file)
	j.ann.sees("1-103: driver on H1 (emergency)")
	j.ann.picture("import")
	j.ann.tap("Take it")
	j.ann.sees("Taken: 8 entries recorded")

	j.ann.goes("now?subject=9-999") // what came in just now is offered at once
	j.ann.sees("found in the field")
	j.ann.holds(`[...document.querySelectorAll('dialog input')].some(e => e.value === 'H1')`, "the new hub to be offered")
	j.ann.tap("Close")
	j.ann.expects("404") // what the browser says of a device that is not there
}

var tokenForm = regexp.MustCompile(`pairwalk1[-a-z]*:[A-Za-z0-9_-]+`)

// Ben is invited on Ann's page, joins by the command, and serves a page of his own.
// His device calls at Ann's.
func (j *job) letsBenIn() {
	j.ann.goes("team")
	j.ann.tap("Make the invite")
	j.ann.sees("The invite as text")
	j.ann.picture("invite")
	token := tokenForm.FindString(js[string](j.ann, `[...document.querySelectorAll('input, textarea, code, output, pre')].map(e => e.value || e.textContent).join(' ') + document.body.innerText`))
	require.NotEmpty(j.t, token)
	j.runs("ben", "join", token, "--as", "Ben")
	j.b = j.serves("ben", "", "--listen", "none", "--call", j.a.bus, "--page", "127.0.0.1:0")
	j.ben = open(j.t, j.browser, "Ben", j.b.page)
	j.ben.sees("within reach: Ann")
	j.ben.sees("Ready the hub H1") // the schedule has come over
	j.ann.goes("team")
	j.ann.sees("Ben")
	j.ann.sees("admitted")
}

func (j *job) fitsAndPairs() {
	j.ann.goes("now?subject=device:1-101")
	j.ann.tap("Fitted")
	j.ann.fill("Serial", "SN-0001")
	j.ann.tap("Record")
	j.ann.sees("1-101 holds SN-0001")

	j.ann.goes("now")
	j.ann.next("Ready the hub H1")
	j.ann.fill("Channel", "20")
	j.ann.fill("Program", "r1")
	j.ann.tap("Hub is ready")
	j.ann.sees("H1 is ready")

	j.ann.next("Pair 1-101")
	j.ann.tap("It confirmed: paired")
	j.ann.sees("1-101 paired")
	j.ann.next("Pair 1-102")
	j.ann.fill("Serial", "SN-0002")
	j.ann.picture("pair")
	j.ann.tap("It confirmed: paired")
	j.ann.sees("1-102 paired")
}

// Refusing and skipping take two taps each.
func (j *job) refusesAndSkips() {
	j.ann.next("Pair 1-104")
	j.ann.tap("Pair 1-103") // farther down the list
	j.ann.next("Pair 1-103")
	j.ann.sees("until the authority having jurisdiction has said what is required") // emergency lighting
	j.ann.tap("Refused …")
	j.ann.tap("no answer")
	j.ann.sees("1-103 refused: no answer")
	j.ann.next("Pair 1-104")
	j.ann.tap("Skip …")
	j.ann.tap("no access")
	j.ann.sees("1-104 skipped: no access")

	// A slip of the thumb is taken back at once.
	j.ann.goes("now?subject=device:1-104")
	j.ann.tap("Note")
	j.ann.fill("Note", "wrong <i>room</i> \u202etxet\u202c 🙂")
	j.ann.tap("Record")
	j.ann.sees("Note on 1-104")
	j.ann.tap("Undo")
	j.ann.sees("Taken back: Note on 1-104")
}

// The other page saw it all happen, and the settle clock runs there too.
func (j *job) seenByBen() {
	j.ben.goes("story")
	j.ben.sees("paired 1-102")
	j.ben.sees("refused")
	j.ben.sees("<i>room</i>") // shown as text
	j.ben.goes("now")
	j.ben.sees("wait")
	j.ben.goes("now?subject=device:1-104") // he works on H1 too
	j.ben.tap("Refused")
	j.ben.tap("out of reach")
	j.ben.sees("1-104 refused: out of reach")
	j.ann.goes("now")
	j.ann.sees("Push moments")
	j.ann.sees("wait")
	j.ann.holds(`/^[0-9]+:[0-9]{2}$/.test(document.querySelector('[role=timer]').innerText)`, "a running clock")
	j.ann.picture("wait")
}

// Ann's process stops. What she taps meanwhile is kept, and goes in once it is back;
// a draft and a reload do not mind. Then time passes, and Ben's device is away.
func (j *job) timePasses() {
	j.ann.next("Pair 1-105")
	j.ann.stops(j.a)
	j.ann.sees("pairwalk does not answer")
	j.ann.fill("Serial", "SN-0005")
	j.ann.tap("It confirmed: paired")
	j.ann.sees("1 entry waits here")
	j.ann.picture("away")
	j.a = j.ann.startsAgain(j.shop, j.a, "ann", "", j.a.bus)
	j.ann.sees("1-105 paired")
	j.ann.misses("waits here")

	j.ben.stops(j.b)
	j.ann.stops(j.a)
	j.a = j.ann.startsAgain(j.shop, j.a, "ann", "+11m", "127.0.0.1:0")
	j.ann.misses("pairwalk does not answer")
	j.ann.misses("within reach: Ben")
}

// Records come home, Ben is asked by voice, and the push goes, missing one.
func (j *job) asksMergesAndPushes() {
	j.ann.goes("site?part=records")
	j.ann.tap("Write a workbook (XLSX)")
	j.ann.sees("Saved 3 pairings")
	j.ann.tap("Log it as merged")
	j.ann.sees("merged")
	j.ann.goes("now")
	j.ann.next("Ask Ben")
	j.ann.picture("ask")
	j.ann.sees("Paired anything on H1?")
	j.ann.tap("None: nothing paired since")
	j.ann.sees("Ben asked about H1")
	j.ann.sees("Push may go")
	j.ann.picture("ready")
	j.ann.tap("Push …")
	j.ann.sees("warn people on ladders and stairs")
	j.ann.fill("Devices that missed it", "1-105")
	j.ann.tap("Push is done")
	j.ann.sees("H1 pushed")
}

func (j *job) findsAFault() {
	j.ann.goes("now?subject=device:1-105")
	j.ann.tap("Fault")
	j.ann.fill("What is wrong", "dark since the push")
	j.ann.tap("Record")
	j.ann.sees("1-105: fault found")
	j.ann.goes("trouble")
	j.ann.sees("dark since the push")
	j.ann.tap("Mended")
	j.ann.fill("What was done", "breaker C1-2 was off")
	j.ann.picture("mended")
	j.ann.tap("Record")
	j.ann.misses("dark since the push")
}

// An entry is withdrawn in the story, and another corrected.
func (j *job) voidsAndCorrects() {
	j.ann.goes("story?subject=device:1-103")
	j.ann.tap("Ann 1-103 refused")
	j.ann.tap("Withdraw")
	j.ann.tap("It did not happen")
	j.ann.sees("Withdrawn: 1-103 refused: no-answer")

	j.ann.goes("story?subject=device:1-102")
	j.ann.tap("Ann paired 1-102")
	j.ann.sees("Taken for each other")
	j.ann.tap("Correct")
	j.ann.fill("Serial", "SN-0002B")
	j.ann.picture("correct")
	j.ann.tap("Correct")
	j.ann.sees("Serial: SN-0002B")
	j.ann.tap("2 new entries")
	j.ann.sees("serial SN-0002B")
}

// The plan shows the job as it was, and says so until one is back.
func (j *job) scrubsBack() {
	j.ann.goes("plan?floor=1")
	j.ann.tap("List")
	j.ann.sees("missed a push")
	for range 4 {
		j.ann.tap("Before")
	}
	j.ann.sees("As of")
	j.ann.misses("missed a push")
	j.ann.picture("scrub")
	j.ann.tap("Back to now")
	j.ann.sees("missed a push")
}

// Two people pair one device, neither having heard of the other, and meet again.
func (j *job) settlesAConflict() {
	j.b = j.ben.startsAgain(j.shop, j.b, "ben", "+11m", "127.0.0.1:0")
	j.ben.goes("now?subject=device:1-104")
	j.ben.tap("Paired")
	j.ben.fill("Serial", "SN-0004B")
	j.ben.tap("It confirmed: paired")
	j.ben.sees("1-104 paired")
	j.ben.sees("1 entry is only on this device")
	j.ann.goes("now?subject=device:1-104")
	j.ann.tap("Paired")
	j.ann.fill("Serial", "SN-0004A")
	j.ann.tap("It confirmed: paired")
	j.ann.sees("1-104 paired")

	j.ben.goes("team")
	j.ben.fill("Address", j.a.bus)
	j.ben.tap("Call")
	j.ben.sees("within reach: Ann")
	j.ben.sees("A colleague holds every entry of this device")

	for _, p := range []*tab{j.ann, j.ben} {
		p.goes("trouble")
		p.sees("Paired twice: 1-104, H1")
	}
	j.ann.tap("looked at the label")
	j.ann.picture("conflict")
	j.ann.tap("the pairing by Ann to H1, serial SN-0004A")
	for _, p := range []*tab{j.ann, j.ben} {
		p.misses("Paired twice: 1-104, H1")
		p.goes("story?subject=device:1-104")
		p.sees("Serial: SN-0004A")
	}
	j.ann.sees("A colleague holds every entry of this device")
	j.ann.sees("Last exchange: Ben, just now")
}
