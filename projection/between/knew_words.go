package between

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
)

// Clock writes a time in the site's zone, with its day: who reads it may read it
// months later.
func (r *Reading) Clock(at events.Instant) string {
	return at.Time().In(r.Site.Location()).Format("2006-01-02 15:04")
}

// stretch writes two times, such as "2026-03-02 10:00 to 10:20": the second
// without its day where that is the day of the first.
func (r *Reading) stretch(from, to events.Instant, between string) string {
	a, b := r.Clock(from), r.Clock(to)
	if day := len(time.DateOnly); a[:day] == b[:day] {
		b = b[day+1:]
	}
	return a + between + b
}

// Words says when an entry happened, when it was recorded and who knew, such as
// "Ben logged it at 14:02; Ada is first known to have it at 15:10; nothing shows
// that Cleo has it".
func (r *Reading) Words(e Entry) string {
	parts := []string{r.recorded(e)}
	for _, k := range e.Knew {
		if k.Shown != e.Ref() {
			parts = append(parts, fmt.Sprintf("%s is first known to have it at %s", r.Site.MemberName(k.Member), r.byClock(k.At, k.Placed)))
		}
	}
	if len(e.NotKnown) > 0 {
		parts = append(parts, fmt.Sprintf("nothing shows that %s %s it", r.names(e.NotKnown), has(len(e.NotKnown))))
	}
	return strings.Join(parts, "; ")
}

// recorded says who did what is told, who logged it, and both its times.
func (r *Reading) recorded(e Entry) string {
	who := r.Site.MemberName(e.Member())
	words := fmt.Sprintf("%s logged it at %s", who, r.byClock(e.Said, e.Placed))
	if happened := r.Happened(e); happened != "" {
		words = fmt.Sprintf("it happened %s; %s", happened, words)
	}
	if e.Event.By() != "" && e.Event.By() != who {
		words = fmt.Sprintf("%s did it; %s", e.Event.By(), words)
	}
	return words
}

// Happened says when a thing happened, where that is not when it was logged.
func (r *Reading) Happened(e Entry) string {
	if !e.Event.When().Known {
		return ""
	}
	span := e.Span
	if !e.Placed {
		span = e.Event.When().Value
	}
	const half = 30_000 // ms: to the nearest minute, since a clock's own doubt is seconds
	from, to := span.From+half, span.To+half
	if r.Clock(from) == r.Clock(to) {
		return "at " + r.Clock(from)
	}
	return "between " + r.stretch(from, to, " and ")
}

// byClock is a time, with a word of warning where its clock is not known against
// site time.
func (r *Reading) byClock(at events.Instant, placed bool) string {
	if placed {
		return r.Clock(at)
	}
	return r.Clock(at) + " by their own clock, which is not known against site time"
}

// names lists members as people do.
func (r *Reading) names(keys []events.Key) string {
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = r.Site.MemberName(k)
	}
	slices.SortStableFunc(out, events.ByName)
	return listed(out)
}

// listed joins words with commas and an and.
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

func has(n int) string {
	if n == 1 {
		return "has"
	}
	return "have"
}
