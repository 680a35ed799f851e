package checkup

import (
	"slices"
	"strings"

	"pairwalk/events"
)

// State is how bad a finding is.
type State string

// The states, from good to bad.
const (
	Well  State = "well"
	Look  State = "look"
	Wrong State = "wrong"
)

func (s State) weight() int { return slices.Index([]State{Well, Look, Wrong}, s) }

// Area is what a finding is about.
type Area string

// The areas, in the order they are told.
const (
	Disk    Area = "disk"
	Clock   Area = "clock"
	Keys    Area = "keys"
	Journal Area = "journal"
	Peers   Area = "peers"
	Mark    Area = "mark"
)

// Areas is all of them, in order.
var Areas = []Area{Disk, Clock, Keys, Journal, Peers, Mark}

// Kind names a sort of finding for programs: its area, a dot, and a word.
type Kind string

// Area is what a kind is about.
func (k Kind) Area() Area {
	area, _, _ := strings.Cut(string(k), ".")
	return Area(area)
}

// Finding is one thing looked at.
type Finding struct {
	Kind   Kind          `json:"kind"`
	Area   Area          `json:"area"`
	State  State         `json:"state"`
	Site   events.SiteID `json:"site,omitempty"` // none: of the whole installation
	Words  string        `json:"words"`
	Do     string        `json:"do,omitempty"`     // what helps
	Run    string        `json:"run,omitempty"`    // the command line for it
	Places []string      `json:"places,omitempty"` // where, if that is in several files or entries
}

// Answer is what a look found, for programs.
type Answer struct {
	V        int       `json:"v"`
	Home     string    `json:"home"`
	State    State     `json:"state"`
	Sites    []Named   `json:"sites"`
	Findings []Finding `json:"findings"`
}

// Named is a site that was looked at. Its name is not known where its keys can't be
// read.
type Named struct {
	ID       events.SiteID `json:"id"`
	Name     string        `json:"name,omitempty"`
	Practice bool          `json:"practice,omitempty"`
	You      string        `json:"you,omitempty"`
}

const answerVersion = 1

// Of judges what was read.
func Of(r Readings) Answer {
	a := Answer{V: answerVersion, Home: r.Home, State: Well, Sites: []Named{}}
	x := &told{}
	r.disk(x)
	r.clock(x)
	if len(r.Sites) == 0 {
		r.nobody(x)
	}
	r.port(x)
	for i := range r.Sites {
		s := &r.Sites[i]
		a.Sites = append(a.Sites, s.Named)
		x.site, x.flag = s.ID, ""
		if r.several() {
			x.flag = " --site " + s.handle()
		}
		if s.Opened != nil {
			s.Opened.clock(x)
		}
		s.keys(x)
		s.journal(x)
		s.peers(x)
		s.mark(x)
	}
	a.Findings = x.findings
	for _, f := range a.Findings {
		if f.State.weight() > a.State.weight() {
			a.State = f.State
		}
	}
	return a
}

// Count is how many findings are in a state.
func (a Answer) Count(s State) int {
	n := 0
	for _, f := range a.Findings {
		if f.State == s {
			n++
		}
	}
	return n
}

// told gathers findings.
type told struct {
	site     events.SiteID
	flag     string // of a command line, to name the site by
	findings []Finding
}

// add takes a finding in. Its Run is given without the program's name.
func (t *told) add(f Finding) {
	f.Area, f.Site = f.Kind.Area(), t.site
	if f.Run != "" && f.Run[0] != '!' {
		f.Run = "pairwalk" + t.flag + " " + f.Run
	}
	f.Run = strings.TrimPrefix(f.Run, "!") // a command of the system's
	t.findings = append(t.findings, f)
}

func (t *told) well(k Kind, words string) { t.add(Finding{Kind: k, State: Well, Words: words}) }

// handle is what a site is named by on a command line.
func (s Site) handle() string {
	if s.Name == "" || strings.ContainsAny(s.Name, " '\"$&;()~*?<>|\\`!#") {
		return string(s.ID[:min(8, len(s.ID))])
	}
	return s.Name
}

// several says whether a command line must name its site.
func (r Readings) several() bool { return r.Kept > 1 || len(r.Sites) > 1 }
