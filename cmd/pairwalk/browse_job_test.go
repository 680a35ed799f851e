package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
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

// The whole job by touch: two people, two processes, two pages.
func TestTheWholeJobByTouch(t *testing.T) {
	browser := newBrowser(t)
	s := newShop(t)
	s.runs("ann", "init", "Kiln <b>Lane</b>", "--as", "Ann", "--practice")
	a := s.serves("ann", "", "--listen", "127.0.0.1:0", "--page", "127.0.0.1:0")
	ann := open(t, browser, "Ann", a.page)
	ann.sees("No exchange with anybody yet")

	takesInTheSchedule(t, ann)
	ben, b := letsBenIn(t, browser, s, ann, a)

	// Fit, ready, pair, refuse, skip.
	ann.goes("now?subject=device:1-101")
	ann.tap("Fitted")
	ann.fill("Serial", "SN-0001")
	ann.tap("Record")
	ann.sees("1-101 holds SN-0001")

	ann.goes("now")
	ann.sees("Ready the hub H1")
	ann.fill("Channel", "20")
	ann.fill("Program", "r1")
	ann.tap("Hub is ready")
	ann.sees("H1 is ready")

	ann.sees("Pair 1-101")
	ann.tap("It confirmed: paired")
	ann.sees("1-101 paired")
	ann.sees("Pair 1-102")
	ann.fill("Serial", "SN-0002")
	ann.tap("It confirmed: paired")
	ann.sees("1-102 paired")
	ann.sees("Pair 1-103")
	ann.sees("until the authority having jurisdiction has said what is required") // emergency lighting
	ann.tap("Refused …")
	ann.tap("no answer")
	ann.sees("1-103 refused: no answer")
	ann.goes("now?subject=device:1-104")
	ann.tap("Skipped")
	ann.tap("no access")
	ann.sees("1-104 skipped: no access")

	// A slip of the thumb is taken back at once.
	ann.goes("now?subject=device:1-104")
	ann.tap("Note")
	ann.fill("Note", "wrong room")
	ann.tap("Record")
	ann.sees("Note on 1-104")
	ann.tap("Undo")
	ann.sees("Taken back: Note on 1-104")

	// The other page saw it all happen, and its clock runs.
	ben.goes("story")
	ben.sees("1-104")
	ben.goes("now")
	ben.sees("Push moments")
	ben.tap("every hub")
	ben.sees("H1")
	ann.goes("now")
	ann.sees("wait")

	// Ben's device goes away; time passes. What was typed meanwhile is kept.
	b.stop()
	ann = timePasses(t, s, ann, &a)
	ann.goes("now")
	ann.sees("Ask")

	asksAndPushes(t, ann)
	findsAFault(t, ann)
	correctsAndScrubs(t, ann)
	settlesAConflict(t, browser, s, ann, a, ben, b)
}

// takesInTheSchedule imports a file, with the difference shown before it is taken.
func takesInTheSchedule(t *testing.T, ann *tab) {
	file := filepath.Join(t.TempDir(), "schedule.csv")
	require.NoError(t, os.WriteFile(file, []byte(smallJob), 0o600))
	ann.goes("site?part=import")
	ann.gives("input[type=file]", file)
	ann.sees("1-105")
	ann.picture("import")
	ann.tap("Take it in")
	ann.sees("6")
}

// letsBenIn invites by the page, and serves Ben's page. Neither device calls at the
// other yet but for Ben's first exchange.
func letsBenIn(t *testing.T, browser any, s *shop, ann *tab, a *bench) (*tab, *bench) {
	t.Skip("until the screens have their words")
	return nil, nil
}

var tokenForm = regexp.MustCompile(`pairwalk1[-a-z]*:[A-Za-z0-9_-]+`)

func timePasses(t *testing.T, s *shop, ann *tab, a **bench) *tab { return ann }
func asksAndPushes(t *testing.T, ann *tab)                       {}
func findsAFault(t *testing.T, ann *tab)                         {}
func correctsAndScrubs(t *testing.T, ann *tab)                   {}
func settlesAConflict(t *testing.T, browser any, s *shop, ann *tab, a *bench, ben *tab, b *bench) {
	_ = strings.TrimSpace
}
