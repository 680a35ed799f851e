package checkup_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member/checkup"
)

// ill is one thing that is not as in a sound installation, and what is told of it
// beside what is told anyway.
type ill struct {
	name  string
	with  func(r *checkup.Readings, s *checkup.Site, o *checkup.Opened)
	kind  checkup.Kind
	state checkup.State
	says  string // in words, what to do, or the command line
}

type (
	rd = checkup.Readings
	st = checkup.Site
	op = checkup.Opened
)

func problem(fault journal.Fault) func(*rd, *st, *op) {
	return func(_ *rd, s *st, _ *op) {
		s.Report.Problems = []journal.Problem{{Fault: fault, File: "feeds/a.ndjson", Line: 4, Offset: 900, Words: "spoilt"}}
	}
}

func ills() []ill {
	return slices.Concat(illDisks(), illClocks(), illKeys(), illLogs(), illPeers(), illMarks())
}

func illDisks() []ill {
	return []ill{
		{"folder can't be used", func(r *rd, _ *st, _ *op) { r.Folder = checkup.Folder{Wrong: "it is a file"}; r.Sites = nil }, "disk.folder", checkup.Wrong, "it is a file"},
		{"can't be written", func(r *rd, _ *st, _ *op) { r.Folder.Write = "read-only file system" }, "disk.write", checkup.Wrong, "read-only file system"},
		{"slow", func(r *rd, _ *st, _ *op) { r.Folder.Sync = 900 * time.Millisecond }, "disk.write", checkup.Look, "900 ms"},
		{"full", func(r *rd, _ *st, _ *op) { r.Folder.Room.Value = 1<<20 + 19_999 }, "disk.room", checkup.Wrong, "all but full"},
		{"nearly full", func(r *rd, _ *st, _ *op) { r.Folder.Room.Value = 1<<20 + 20_000 }, "disk.room", checkup.Look, "little room: 1043 KiB free"},
		{"no room for what is to come", func(r *rd, _ *st, o *op) { o.Pictures.Bytes = 10 << 30 }, "disk.room", checkup.Look, "pictures of 10 GiB are to come"},
		{"room unknown", func(r *rd, _ *st, _ *op) { r.Folder.Room.Known = false }, "disk.room", checkup.Well, "can't be told"},
		{"on a share", func(r *rd, _ *st, _ *op) { r.Folder.Lies = checkup.Share }, "disk.place", checkup.Look, "another machine"},
		{"kept in step", func(r *rd, _ *st, _ *op) { r.Folder.Lies = checkup.Synced }, "disk.place", checkup.Look, "in step with a service"},
		{"in memory", func(r *rd, _ *st, _ *op) { r.Folder.Lies = checkup.Memory }, "disk.place", checkup.Look, "in memory"},
		{"who knows where", func(r *rd, _ *st, _ *op) { r.Folder.Lies = checkup.Unsaid }, "disk.place", checkup.Well, "can't be told"},
		{"keys open to others", func(_ *rd, s *st, _ *op) { s.Open = []checkup.Exposed{{Path: "/h/k", Secret: true, Want: "600"}} }, "disk.private", checkup.Wrong, "chmod 600 '/h/k'"},
		{"folder open to others", func(_ *rd, s *st, _ *op) { s.Open = []checkup.Exposed{{Path: "/h/s", Want: "700"}} }, "disk.private", checkup.Look, "chmod 700 '/h/s'"},
		{"permissions unknown", func(r *rd, _ *st, _ *op) { r.Folder.Modes = false }, "disk.private", checkup.Well, "not looked at"},
		{"files of others", func(_ *rd, s *st, _ *op) { s.Others = []string{"receipts (copy)"} }, "disk.others", checkup.Look, "receipts (copy)"},
	}
}

func illClocks() []ill {
	return []ill{
		{"no such clock", func(r *rd, _ *st, _ *op) { r.BadUp = "PAIRWALK_CLOCK is soon" }, "clock.made-up", checkup.Wrong, "unset PAIRWALK_CLOCK"},
		{"made up, for a real site", func(r *rd, _ *st, _ *op) { r.MadeUp = "+3m" }, "clock.made-up", checkup.Wrong, "Kiln is a real site"},
		{"made up, for practice", func(r *rd, s *st, _ *op) { r.MadeUp = "+3m"; s.Practice = true }, "clock.made-up", checkup.Look, "makes up the time"},
		{"no forward clock", func(r *rd, _ *st, _ *op) { r.Now.Mono = events.Mono{} }, "clock.boot", checkup.Look, "no settle wait is ever proven"},
		{"set forward", func(_ *rd, _ *st, o *op) { o.Now.Wall.At += 60_000 }, "clock.steady", checkup.Look, "set forward by 60 s"},
		{"set back", func(_ *rd, _ *st, o *op) { o.Since.Wall.At += 7_200_000 }, "clock.steady", checkup.Look, "set back by 2 h"},
		{"before what was made here", func(_ *rd, _ *st, o *op) { o.Mine = o.Now.Wall.At + 86_400_000 }, "clock.past", checkup.Wrong, "24 h 0 min behind"},
		{"a little before what was made here", func(_ *rd, _ *st, o *op) { o.Mine = o.Now.Wall.At + 60_000 }, "clock.past", checkup.Well, "not behind"},
		{"before what a colleague made", func(_ *rd, _ *st, o *op) { o.Newest.At = o.Now.Wall.At + 600_000 }, "clock.past", checkup.Look, "newest entry of Bo bears a time 10 min from now"},
		{"apart", func(_ *rd, _ *st, o *op) { o.Apart = []checkup.Apart{{Name: "Bo", By: -3 * time.Minute}} }, "clock.apart", checkup.Look, "Bo's clock was 3 min behind"},
		{"ahead", func(_ *rd, _ *st, o *op) { o.Apart = []checkup.Apart{{Name: "Bo", By: 3 * time.Minute}} }, "clock.apart", checkup.Look, "3 min ahead of"},
		{"zone unheard of", func(_ *rd, _ *st, o *op) { o.Zone, o.Zoned = "Mars/Olympus", false }, "clock.zone", checkup.Look, "Mars/Olympus is not known"},
		{"zone not here yet", func(_ *rd, _ *st, o *op) { o.Zone, o.Zoned = "", true }, "clock.zone", checkup.Well, "has not said yet"},
	}
}

func illKeys() []ill {
	standing := func(is projection.Standing, why string, expires events.Maybe[events.Instant]) func(*rd, *st, *op) {
		return func(_ *rd, _ *st, o *op) {
			o.Standing = checkup.Standing{Joined: true, Role: events.Tech, Is: is, Why: why, Expires: expires}
		}
	}
	later, before := events.Some(stampAt(60).Wall.At.Add(3*time.Hour)), events.Some(stampAt(60).Wall.At.Add(-3*time.Hour))
	return []ill{
		{"no site", func(r *rd, _ *st, _ *op) { r.Sites, r.Kept = nil, 0 }, "keys.sites", checkup.Look, "pairwalk init NAME"},
		{"sites can't be listed", func(r *rd, _ *st, _ *op) { r.Sites, r.Lost = nil, "not a directory" }, "keys.sites", checkup.Wrong, "not a directory"},
		{"keys gone", func(_ *rd, s *st, _ *op) { s.Keys, s.Opened = checkup.Keyring{}, nil }, "keys.read", checkup.Wrong, "keys are gone"},
		{"keys spoilt", func(_ *rd, s *st, _ *op) { s.Keys.Wrong, s.Opened = "keys.json is damaged", nil }, "keys.read", checkup.Wrong, "keys.json is damaged"},
		{"keys of another site", func(_ *rd, s *st, _ *op) { s.Keys.Fits, s.Opened = false, nil }, "keys.read", checkup.Wrong, "of another site"},
		{"keys of another installation", func(_ *rd, s *st, _ *op) { s.Keys.Key = "bo" }, "keys.feed", checkup.Wrong, "two installations"},
		{"guarded", func(_ *rd, s *st, _ *op) { s.Keys.Guard = "under a passphrase" }, "keys.secret", checkup.Well, "kept under a passphrase"},
		{"can't be opened", func(_ *rd, s *st, _ *op) { s.Opened, s.Shut = nil, "input/output error" }, "keys.open", checkup.Wrong, "input/output error"},
		{"join not here", func(_ *rd, _ *st, o *op) { o.Standing = checkup.Standing{} }, "keys.join", checkup.Wrong, "your own join"},
		{"provisional", standing(projection.Provisional, "", later), "keys.join", checkup.Look, "runs out in 3 h"},
		{"provisional, no invite", standing(projection.Provisional, "", events.Maybe[events.Instant]{}), "keys.join", checkup.Look, "provisional."},
		{"provisional, too late", standing(projection.Provisional, "", before), "keys.join", checkup.Wrong, "ran out 3 h"},
		{"quarantined", standing(projection.Quarantined, "its invite was used twice", later), "keys.join", checkup.Wrong, "its invite was used twice"},
		{"revoked", standing(projection.Revoked, "phone lost", later), "keys.join", checkup.Wrong, "has ended: phone lost"},
		{"one lead", func(_ *rd, _ *st, o *op) { o.Leads = []string{"Ann"} }, "keys.leads", checkup.Look, "invite --role lead"},
		{"no lead", func(_ *rd, _ *st, o *op) { o.Leads = nil }, "keys.leads", checkup.Look, "knows of no lead"},
	}
}

func illLogs() []ill {
	own := func(why events.StartWhy) func(*rd, *st, *op) {
		return func(_ *rd, _ *st, o *op) { o.Own = journal.Own{Feed: feed, Replace: why, Last: events.Head{Seq: 5}} }
	}
	return []ill{
		{"damaged", problem(journal.Damaged), "journal.damaged", checkup.Wrong, "feeds/a.ndjson, line 4 (byte 900)"},
		{"missing", problem(journal.Missing), "journal.missing", checkup.Wrong, "is gone"},
		{"broken chain", problem(journal.BrokenChain), "journal.broken-chain", checkup.Wrong, "does not follow"},
		{"behind", problem(journal.BehindMark), "journal.behind-mark", checkup.Wrong, "no number is used twice"},
		{"stray", problem(journal.Stray), "journal.stray", checkup.Wrong, "no entry in its place"},
		{"torn", problem(journal.TornEnd), "journal.torn-end", checkup.Look, "half a line"},
		{"bad seal", problem(journal.BadSeal), "journal.bad-seal", checkup.Look, "proved by the next"},
		{"bad receipt", problem(journal.BadReceipt), "journal.bad-receipt", checkup.Look, "writes it anew by itself"},
		{"found at opening", func(_ *rd, _ *st, o *op) {
			o.Problems = []journal.Problem{{Fault: journal.BehindMark, File: "feeds/a.ndjson", Words: "copied"}}
		}, "journal.behind-mark", checkup.Wrong, "copied"},
		{"what is left", problem(journal.BadReceipt), "journal.lines", checkup.Look, "13 entries in 2 files can be read"},
		{"unread", func(_ *rd, s *st, _ *op) { s.Unread = "permission denied" }, "journal.lines", checkup.Wrong, "permission denied"},
		{"aside", func(_ *rd, s *st, _ *op) { s.Report.Aside = []string{"feeds/a.torn"} }, "journal.aside", checkup.Look, "feeds/a.torn"},
		{"open elsewhere", func(_ *rd, s *st, _ *op) { s.Held = checkup.Busy }, "journal.open", checkup.Look, "Another pairwalk"},
		{"feed torn", own(events.TornTail), "journal.own", checkup.Wrong, "ends with entry 5: its end can't be read"},
		{"feed put back", own(events.Restored), "journal.own", checkup.Wrong, "copied or put back"},
		{"feed another", own(events.Diverged), "journal.own", checkup.Wrong, "not what was written here"},
		{"no feed", func(_ *rd, _ *st, o *op) { o.Own = journal.Own{} }, "journal.own", checkup.Look, "recorded nothing"},
		{"holes", func(_ *rd, _ *st, o *op) { o.Holes = []checkup.Lack{{Name: "Bo", N: 3}} }, "journal.holes", checkup.Look, "3 entries of Bo are missing"},
		{"fork", func(_ *rd, _ *st, o *op) { o.Forks = []checkup.Branch{{Name: "Bo"}} }, "journal.forks", checkup.Look, "Bo's feed is forked"},
		{"own fork", func(_ *rd, _ *st, o *op) { o.Forks = []checkup.Branch{{Name: "Ann", Mine: true}} }, "journal.forks", checkup.Wrong, "Your own feed is forked"},
		{"unknown kind", func(_ *rd, _ *st, o *op) { o.Unread = map[string]int{"device.sang": 2} }, "journal.unknown", checkup.Look, "2 entries of a kind that this version does not understand (device.sang)"},
		{"pictures away", func(_ *rd, _ *st, o *op) { o.Pictures.Away = 2 }, "journal.pictures", checkup.Look, "2 pictures that entries speak of are not here"},
		{"pictures spoilt", func(_ *rd, _ *st, o *op) { o.Pictures = checkup.Pictures{Away: 1, Damaged: []string{"ab"}} }, "journal.pictures", checkup.Wrong, "1 picture on this disk is spoilt"},
		{"pictures unread", func(_ *rd, _ *st, o *op) { o.Pictures.Wrong = "permission denied" }, "journal.pictures", checkup.Wrong, "permission denied"},
		{"mends", func(_ *rd, _ *st, o *op) { o.Mends = []string{"feeds/a.torn"} }, "journal.mends", checkup.Look, "next opening mends by itself"},
	}
}

func illPeers() []ill {
	called := func(p checkup.Place) func(*rd, *st, *op) {
		return func(_ *rd, _ *st, o *op) {
			p.Name, p.Addr = "Bo", "192.0.2.17:24517"
			o.Called, o.Places = true, []checkup.Place{p}
		}
	}
	return []ill{
		{"never heard", func(_ *rd, _ *st, o *op) { o.Peers[0].Through = 0 }, "peers.member", checkup.Look, "Bo: never heard out"},
		{"unsent", func(_ *rd, _ *st, o *op) { o.Unsent = 3 }, "peers.unsent", checkup.Look, "pairwalk sync"},
		{"one unsent", func(_ *rd, _ *st, o *op) { o.Unsent = 1 }, "peers.unsent", checkup.Look, "1 entry made here that"},
		{"unsent, alone", func(_ *rd, _ *st, o *op) { o.Unsent, o.Peers = 3, nil }, "peers.unsent", checkup.Look, "bundle out FILE"},
		{"answers", called(checkup.Place{}), "peers.place", checkup.Well, "Bo answers at 192.0.2.17:24517"},
		{"does not answer", called(checkup.Place{Why: "nobody answers there"}), "peers.place", checkup.Look, "nobody answers there."},
		{"does not answer, perhaps", called(checkup.Place{Why: "is it serving?"}), "peers.place", checkup.Look, "serving?"},
		{"another answers", called(checkup.Place{Why: "x", Stranger: true}), "peers.place", checkup.Look, "another device answers than Bo's"},
		{"refused", func(_ *rd, _ *st, o *op) { o.Refusals = 5 }, "peers.refused", checkup.Look, "5 callers were turned away"},
		{"served", func(_ *rd, s *st, _ *op) { s.Held = checkup.Served }, "peers.serve", checkup.Well, "takes commands"},
		{"served once", func(_ *rd, s *st, _ *op) { s.Stale = true }, "peers.serve", checkup.Well, "was killed"},
		{"port taken", func(r *rd, _ *st, _ *op) { r.Port.Taken = true }, "peers.port", checkup.Look, "Another program has port 24517"},
		{"port taken by serve", func(r *rd, s *st, _ *op) { r.Port.Taken, s.Held = true, checkup.Served }, "peers.port", checkup.Well, "pairwalk serve is running"},
	}
}

func illMarks() []ill {
	return []ill{
		{"unread", func(_ *rd, s *st, _ *op) { s.Markless = "permission denied" }, "mark.copies", checkup.Wrong, "permission denied"},
		{"none", func(_ *rd, s *st, _ *op) { s.In, s.Out = journal.MarkCopy{}, journal.MarkCopy{} }, "mark.copies", checkup.Wrong, "Neither copy"},
		{"none, and none needed", func(_ *rd, s *st, _ *op) {
			s.In, s.Out, s.Report = journal.MarkCopy{}, journal.MarkCopy{}, journal.Report{}
		}, "mark.copies", checkup.Well, "no mark yet"},
		{"inner gone", func(_ *rd, s *st, _ *op) { s.In = journal.MarkCopy{} }, "mark.copies", checkup.Look, "is missing; its copy outside stands in"},
		{"inner spoilt", func(_ *rd, s *st, _ *op) { s.In = journal.MarkCopy{Wrong: "the mark is damaged"} }, "mark.copies", checkup.Look, "the mark is damaged"},
		{"outer spoilt", func(_ *rd, s *st, _ *op) { s.Out = journal.MarkCopy{Wrong: "the mark is damaged"} }, "mark.copies", checkup.Look, "the one inside stands in"},
		{"outer gone", func(_ *rd, s *st, _ *op) { s.Out = journal.MarkCopy{} }, "mark.copies", checkup.Wrong, "copied from elsewhere"},
		{"inner newer", func(_ *rd, s *st, _ *op) { s.In.Turn = 8 }, "mark.copies", checkup.Wrong, "newer (turn 8)"},
		{"inner older", func(_ *rd, s *st, _ *op) { s.In.Turn = 5 }, "mark.copies", checkup.Wrong, "put back from a backup"},
		{"between two writings", func(_ *rd, s *st, _ *op) { s.In.Turn, s.In.Clean = 6, false }, "mark.copies", checkup.Look, "stopped before it could close"},
		{"not closed", func(_ *rd, s *st, _ *op) { s.In.Clean, s.Out.Clean = false, false }, "mark.copies", checkup.Look, "stopped before it could close"},
		{"open", func(_ *rd, s *st, _ *op) { s.In.Clean, s.Out.Clean, s.Held = false, false, checkup.Served }, "mark.copies", checkup.Well, "the log is open"},
	}
}

// TestSound: where nothing is wrong nothing is to be done.
func TestSound(t *testing.T) {
	a := checkup.Of(sound())
	require.Equal(t, checkup.Well, a.State)
	require.Empty(t, texts(a, checkup.Look))
	for _, area := range checkup.Areas {
		require.True(t, slices.ContainsFunc(a.Findings, func(f checkup.Finding) bool { return f.Area == area }), "nothing is told of %s", area)
	}
}

// TestNothingYet: a home that nobody made is no fault of anybody's.
func TestNothingYet(t *testing.T) {
	a := checkup.Of(checkup.Readings{Home: "/h", Now: stampAt(0)})
	require.Equal(t, checkup.Look, a.State)
	require.Equal(t, checkup.Kind("disk.folder"), a.Findings[0].Kind)
	require.Contains(t, a.Findings[0].Words, "no folder /h yet")
	require.Equal(t, []string{"No site is open here."}, texts(a, checkup.Look))
}

// TestEveryIll: each thing that is not well is told by its kind, in the right
// state, and nothing gets worse that has nothing to do with it.
func TestEveryIll(t *testing.T) {
	for _, x := range ills() {
		t.Run(string(x.kind)+" "+x.name, func(t *testing.T) {
			r := sound()
			x.with(&r, &r.Sites[0], r.Sites[0].Opened)
			a := checkup.Of(r)
			i := slices.IndexFunc(a.Findings, func(f checkup.Finding) bool {
				return f.Kind == x.kind && f.State == x.state && strings.Contains(f.Words+" "+f.Do+" "+f.Run, x.says)
			})
			require.GreaterOrEqual(t, i, 0, "%+v", a.Findings)
			require.Equal(t, x.state, a.State, "%+v", a.Findings)
		})
	}
}

// TestFindingsAreFitToBeRead: of every ill at once.
func TestFindingsAreFitToBeRead(t *testing.T) {
	for _, x := range ills() {
		r := sound()
		x.with(&r, &r.Sites[0], r.Sites[0].Opened)
		for _, f := range checkup.Of(r).Findings {
			require.Regexp(t, `^[A-Z0-9].*[.?]$`, f.Words, "%s", x.name)
			require.Equal(t, f.Kind.Area(), f.Area)
			require.Contains(t, checkup.Areas, f.Area)
			require.Equal(t, f.State == checkup.Well, f.Do == "", "%s: what is not well has something to do: %s", x.name, f.Words)
			require.NotContains(t, f.Run, "!")
		}
	}
}

// TestOrderIsFixed: the installation's come first, then each site's by area.
func TestOrderIsFixed(t *testing.T) {
	r := sound()
	second := r.Sites[0]
	second.ID, second.Name = "zzzz"+kiln[4:], "Lime Works"
	second.Opened = &checkup.Opened{Unsent: 2}
	r.Sites, r.Kept = append(r.Sites, second), 2
	a := checkup.Of(r)
	require.Equal(t, a, checkup.Of(r))
	place := func(f checkup.Finding) int {
		site := slices.Index([]events.SiteID{"", kiln, second.ID}, f.Site)
		order := slices.Index(checkup.Areas, f.Area)
		return site*10 + order
	}
	require.True(t, slices.IsSortedFunc(a.Findings, func(x, y checkup.Finding) int { return place(x) - place(y) }), "%+v", a.Findings)
	i := slices.IndexFunc(a.Findings, func(f checkup.Finding) bool { return f.Site == second.ID && f.Kind == "peers.unsent" })
	require.Equal(t, "pairwalk --site zzzz4567 bundle out FILE", a.Findings[i].Run, "a command line says which site, by its id where its name would be split")
}

func texts(a checkup.Answer, state checkup.State) []string {
	var out []string
	for _, f := range a.Findings {
		if f.State == state {
			out = append(out, f.Words)
		}
	}
	return out
}
