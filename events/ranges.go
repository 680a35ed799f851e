package events

import (
	"slices"
	"strings"
)

// Stem is the part of a tag before its last number: "2-" of 2-114 and 2-114a. It is
// false for a tag with no number.
func (t Tag) Stem() (string, bool) {
	const digits = "0123456789"
	end := strings.LastIndexAny(string(t), digits)
	if end < 0 {
		return "", false
	}
	return strings.TrimRight(string(t[:end+1]), digits), true
}

// Ranges writes lists of tags the short way, as people read them out and as an
// import takes them: 2-101..2-118, 2-120. A range stands for all the tags of the
// schedule from one end to the other that begin alike. The zero value knows no
// schedule, and writes every tag.
type Ranges struct {
	place map[Tag]int // among those that begin alike, in natural order
}

// RangesOf knows the tags of a schedule.
func RangesOf(schedule []Tag) Ranges {
	alike := map[string][]Tag{}
	for _, t := range schedule {
		if stem, ok := t.Stem(); ok {
			alike[stem] = append(alike[stem], t)
		}
	}
	r := Ranges{make(map[Tag]int, len(schedule))}
	for _, tags := range alike {
		slices.SortFunc(tags, ByName[Tag])
		for i, t := range slices.Compact(tags) {
			r.place[t] = i + 1
		}
	}
	return r
}

// Of lists tags in natural order, each once, runs of three and more as ranges.
func (r Ranges) Of(tags []Tag) string {
	tags = slices.Clone(tags)
	slices.SortFunc(tags, ByName[Tag])
	tags = slices.Compact(tags)
	var out []string
	for i := 0; i < len(tags); {
		end := i + 1
		for end < len(tags) && r.follows(tags[end-1], tags[end]) {
			end++
		}
		if end-i < 3 {
			end = i + 1
			out = append(out, string(tags[i]))
		} else {
			out = append(out, string(tags[i]+".."+tags[end-1]))
		}
		i = end
	}
	return strings.Join(out, ", ")
}

// follows says whether b comes right after a on the schedule, and begins alike.
func (r Ranges) follows(a, b Tag) bool {
	x, y := r.place[a], r.place[b]
	stem, ok := a.Stem()
	other, _ := b.Stem()
	return x > 0 && y == x+1 && ok && stem == other
}
