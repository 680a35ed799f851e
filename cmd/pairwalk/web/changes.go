package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// strip is what the page always says: what only this device holds, and since when
// it has met nobody.
type strip struct {
	Page      string    `json:"page"`
	Now       string    `json:"now"`
	Unsent    int       `json:"unsent"`
	Entries   int       `json:"entries"`
	Last      *exchange `json:"last"`
	Within    []string  `json:"within"`
	Addrs     []string  `json:"addrs"`
	Conflicts int       `json:"conflicts"`
	Faults    int       `json:"faults"`
	Clocks    []apart   `json:"clocks"` // those that differ by a minute or more
	Broken    string    `json:"broken"`
	Away      int       `json:"pictures_away"` // pictures that entries speak of and that are not here
	Layout    int       `json:"layout"`        // another with another layout
	Team      int       `json:"team"`          // another where more of the team's answer is another than entries tell
}

// exchange is whose log was last taken in whole, and up to when.
type exchange struct {
	Member string `json:"member"`
	At     string `json:"at"`
}

// apart is a colleague's clock: theirs less ours.
type apart struct {
	Member string `json:"member"`
	By     int64  `json:"by_ms"`
}

func (p *Page) strip() strip {
	s, about := p.m.Now(), p.around()
	out := strip{
		Page: p.digest, Now: p.reading(s), Unsent: p.m.Unsent(), Entries: s.Entries, Within: []string{}, Addrs: []string{},
		Conflicts: len(p.m.Conflicts(s)), Clocks: []apart{}, Last: p.last(s), Away: p.m.PicturesAway(),
	}
	for i := range s.Faults {
		if s.Faults[i].Open() {
			out.Faults++
		}
	}
	for _, x := range p.m.ClocksApart() {
		out.Clocks = append(out.Clocks, apart{x.Name, x.By.Milliseconds()})
	}
	out.Layout, out.Team = p.marks.now(s, about)
	out.Addrs = append(out.Addrs, about.addrs...)
	for _, x := range about.within {
		out.Within = append(out.Within, x.Member)
	}
	slices.Sort(out.Within)
	p.mu.Lock()
	out.Broken = p.broken
	p.mu.Unlock()
	return out
}

func (p *Page) last(s *projection.Site) *exchange {
	var at events.Instant
	var who events.Key
	for k, t := range p.m.Through() {
		if t > at || t == at && k < who {
			at, who = t, k
		}
	}
	if who == "" {
		return nil
	}
	return &exchange{s.MemberName(who), p.clock(s, at)}
}

// clock writes a time of this device in the site's zone.
func (p *Page) clock(s *projection.Site, at events.Instant) string {
	return at.Time().In(s.Location()).Format(time.RFC3339)
}

// reading is this device's clock to the millisecond: the page must not show a
// moment before an entry that it was told of.
func (p *Page) reading(s *projection.Site) string {
	return p.o.Now().Wall.At.Time().In(s.Location()).Format("2006-01-02T15:04:05.000Z07:00")
}

// still is after how long a stream says again that it is there.
const still = 15 * time.Second

// gap is the time between two words on a stream while there is always more to say: when
// a long log comes in, saying so at every line would cost more than the lines. That the
// log has grown waits only for the last word that said so: whatever else is told around
// it (somebody called, a peer has all of ours) holds no entry up. It waits a tenth of
// the gap at first, and twice as long each time that something waited: two entries close
// together are no flood.
const (
	gap      = 50 * time.Millisecond
	firstGap = gap / 10
)

// changes streams how things stand, until the page leaves.
func (p *Page) changes(w http.ResponseWriter, r *http.Request) {
	out := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	grew, stop := p.m.Watch()
	defer stop()
	var news <-chan struct{}
	if p.o.Meeting != nil {
		c, stop := p.o.Meeting.News()
		defer stop()
		news = c
	}
	beat := time.NewTicker(still)
	defer beat.Stop()
	var rest, restGrown <-chan time.Time // nil where no word, or none that the log grew, was just said
	owed, grown, pause := true, true, firstGap
	for {
		if owed && (rest == nil || grown && restGrown == nil) {
			line, err := json.Marshal(p.strip())
			if err != nil {
				return
			}
			if _, err := fmt.Fprintf(w, "data: %s\n\n", line); err != nil || out.Flush() != nil {
				return
			}
			if rest = time.After(gap); grown {
				restGrown = time.After(pause)
			}
			owed, grown = false, false
		}
		select {
		case <-r.Context().Done():
			return
		case <-grew:
			owed, grown = true, true
		case <-news:
			owed = true
		case <-beat.C:
			owed = true
		case <-rest:
			rest = nil
		case <-restGrown:
			restGrown = nil
			if pause = min(2*pause, gap); !grown {
				pause = firstGap
			}
		}
	}
}
