package checkup

import (
	"fmt"
	"maps"
	"slices"

	"pairwalk/events"
	"pairwalk/events/journal"
)

// remedy is what a fault of the journal means and what helps.
type remedy struct {
	state State
	words string // what it comes to; where is in Places
	do    string
	run   string
}

const heals = "Meet anybody who holds them, or take in a bundle: that heals it."

// remedies has every fault that Verify and opening report, in the order they are
// told. The marks are judged by themselves.
var remedies = []struct {
	fault journal.Fault
	remedy
}{
	{journal.Damaged, remedy{Wrong, "can't be read", heals, "sync"}},
	{journal.Missing, remedy{Wrong, "was here and is gone", heals + " What nobody else holds is lost: record again what you know of it.", "sync"}},
	{journal.BrokenChain, remedy{Wrong, "does not follow the entry before it", "Keep a copy of this folder, and exchange with colleagues, whose logs tell which line is right.", "sync"}},
	{journal.BehindMark, remedy{Wrong, "shows that the own feed is not what it was", "Exchange with colleagues, so that what they hold of yours comes back. Your next entry begins a new feed by itself; no number is used twice.", "sync"}},
	{journal.Stray, remedy{Wrong, "holds bytes that are no entry in its place", "Entries that stood there are told of as missing, and come back when somebody is met who holds them.", "sync"}},
	{journal.TornEnd, remedy{Look, "ends in half a line, as a stop in the middle of writing leaves it", "The next opening sees to it by itself; if it was yours and may have been told to somebody, a new feed begins.", ""}},
	{journal.BadSeal, remedy{Look, "has a damaged signature, though the entry is proved by the next", heals, "sync"}},
	{journal.BadReceipt, remedy{Look, "is a check value that does not fit, though no entry is lost by that", "The next opening writes it anew by itself; what it covers counts as first seen then.", ""}},
}

func (s *Site) journal(x *told) {
	if s.Unread != "" {
		x.add(Finding{Kind: "journal.lines", State: Wrong, Words: fmt.Sprintf("The log can't be read: %s.", s.Unread), Do: "Make its files readable for yourself, or look after the disk; do not delete anything."})
	} else {
		s.lines(x)
	}
	if s.Opened != nil {
		s.Opened.journal(x)
	}
	if n := len(s.Report.Aside); n > 0 {
		x.add(Finding{Kind: "journal.aside", State: Look, Places: s.Report.Aside,
			Words: fmt.Sprintf("%s of damaged bytes, put aside by earlier repairs and never read again: %s.", counted(n, "file"), listed(s.Report.Aside)),
			Do:    "They show that this disk spoilt something once. When colleagues' logs and yours agree they may be deleted."})
	}
	if s.Held == Busy {
		x.add(Finding{Kind: "journal.open", State: Look, Words: "Another pairwalk has this site open just now, and takes no commands.", Do: "That is usual where a relay runs. Else let it end; if it hangs, stop it; nothing that was recorded is lost by that."})
	}
}

// lines says what is wrong with the files, or that nothing is.
func (s *Site) lines(x *told) {
	n := 0
	for _, strand := range s.Report.Strands {
		n += strand.Lines
	}
	problems := s.problems()
	files := counted(len(s.Report.Strands), "file")
	if len(problems) == 0 {
		x.well("journal.lines", fmt.Sprintf("%s in %s: every line is whole, and every signature holds.", counted(n, "entry"), files))
		return
	}
	var found []Finding
	for _, r := range remedies {
		where := problems[r.fault]
		if len(where) == 0 {
			continue
		}
		what := "One place in the log "
		if len(where) > 1 {
			what = fmt.Sprintf("Each of %d places in the log ", len(where))
		}
		found = append(found, Finding{Kind: Kind("journal." + string(r.fault)), State: r.state, Words: fmt.Sprintf("%s%s: %s.", what, r.words, listed(where)), Places: where, Do: r.do, Run: r.run})
	}
	x.add(Finding{Kind: "journal.lines", State: Look, Words: fmt.Sprintf("%s in %s can be read; something else in the log is not as it was.", counted(n, "entry"), files), Do: "What that is, and what helps, stands below."})
	for _, f := range found {
		x.add(f)
	}
}

// problems is what Verify found, and what opening would say besides, by fault. A
// place is told once.
func (s *Site) problems() map[journal.Fault][]string {
	all := s.Report.Problems
	if s.Opened != nil {
		all = slices.Concat(all, s.Opened.Problems)
	}
	out := map[journal.Fault][]string{}
	for _, p := range all {
		if p.Fault != journal.BadMark && !slices.Contains(out[p.Fault], p.String()) {
			out[p.Fault] = append(out[p.Fault], p.String())
		}
	}
	return out
}

func (o *Opened) journal(x *told) {
	o.ownFeed(x)
	o.lacking(x)
	for _, b := range o.Forks {
		f := Finding{Kind: "journal.forks", State: Look, Words: fmt.Sprintf("%s's feed is forked: two entries bear one number, as when a folder is copied and both go on.", b.Name), Do: "See which entries clash, and ask them to use one installation.", Run: "conflicts"}
		if b.Mine {
			f.State, f.Words = Wrong, "Your own feed is forked: two entries of yours bear one number, as when this folder is copied and both go on."
			f.Do = "Use one of the two installations from now on; the other joins anew by an invite. See what clashes."
		}
		x.add(f)
	}
	for _, kind := range slices.Sorted(maps.Keys(o.Unread)) {
		x.add(Finding{Kind: "journal.unknown", State: Look, Words: fmt.Sprintf("%s of a kind that this version does not understand (%s): kept and passed on, and not counted.", counted(o.Unread[kind], "entry"), kind), Do: "Update pairwalk."})
	}
	o.pictures(x)
	if len(o.Mends) > 0 {
		x.add(Finding{Kind: "journal.mends", State: Look, Places: o.Mends, Words: fmt.Sprintf("The next opening mends by itself what it can, and puts damaged bytes aside: %s.", listed(o.Mends)), Do: "To keep everything as it is now, copy the folder first."})
	}
}

// ownFeed says how recording goes on.
func (o *Opened) ownFeed(x *told) {
	why := map[events.StartWhy]string{
		events.TornTail: "its end can't be read",
		events.Restored: "it is shorter than it was, or its folder was copied or put back",
		events.Diverged: "it is not what was written here",
	}
	switch own := o.Own; {
	case own.Replace != "":
		x.add(Finding{Kind: "journal.own", State: Wrong, Words: fmt.Sprintf("Your feed ends with entry %d: %s. What came after it may be lost here.", own.Last.Seq, why[own.Replace]), Do: "Exchange with colleagues first, so that what they hold of it comes back; the next entry then begins a new feed by itself.", Run: "sync"})
	case own.Feed == "":
		x.add(Finding{Kind: "journal.own", State: Look, Words: "You have recorded nothing here yet, not even your join.", Do: "Your first entry begins your feed."})
	default:
		x.well("journal.own", fmt.Sprintf("Your feed goes on with entry %d.", own.Head.Seq+1))
	}
}

// lacking tells of entries that are known of and not here.
func (o *Opened) lacking(x *told) {
	for _, l := range o.Holes {
		x.add(Finding{Kind: "journal.holes", State: Look, Words: fmt.Sprintf("%s of %s %s missing here; what came after is here.", counted(l.N, "entry"), l.Name, verb(l.N)), Do: "They come back when somebody is met who holds them.", Run: "sync"})
	}
}

func (o *Opened) pictures(x *told) {
	p := o.Pictures
	if p.Wrong != "" {
		x.add(Finding{Kind: "journal.pictures", State: Wrong, Words: fmt.Sprintf("Pictures can't be read: %s.", p.Wrong), Do: "Make the files readable for yourself, or look after the disk."})
	}
	if n := len(p.Damaged); n > 0 {
		x.add(Finding{Kind: "journal.pictures", State: Wrong, Places: p.Damaged, Words: fmt.Sprintf("%s on this disk %s spoilt.", counted(n, "picture"), verb(n)), Do: "Meet somebody who holds them: they are fetched again. If nobody does, they are lost.", Run: "sync"})
	}
	switch {
	case p.Away > len(p.Damaged):
		n := p.Away - len(p.Damaged)
		x.add(Finding{Kind: "journal.pictures", State: Look, Words: fmt.Sprintf("%s that entries speak of %s not here yet.", counted(n, "picture"), verb(n)), Do: "They come when somebody is met who holds them.", Run: "sync"})
	case p.Wrong == "" && len(p.Damaged) == 0 && p.Held > 0:
		x.well("journal.pictures", fmt.Sprintf("%s %s here, as the entries say.", counted(p.Held, "picture"), verb(p.Held)))
	}
}
