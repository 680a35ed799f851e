package intake

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
)

// ParseTags reads a list of known tags and ranges of them, such as
// "2-101..2-118, 2-120". A range covers, in natural order, the known tags that
// begin as both its ends do up to their last number; both ends are known tags,
// so that a slip of the hand can't quietly make it shorter. Each tag comes once,
// in the order of the list.
func ParseTags(text string, known []events.Tag) ([]events.Tag, error) {
	if whole := events.Tag(tidy(text)); slices.Contains(known, whole) {
		return []events.Tag{whole}, nil
	}
	var out []events.Tag
	taken := map[events.Tag]bool{}
	for _, part := range strings.Split(text, ",") {
		tags, err := parseRange(tidy(part), known)
		if err != nil {
			return nil, fmt.Errorf("read tags: %w", err)
		}
		for _, t := range tags {
			if !taken[t] {
				taken[t] = true
				out = append(out, t)
			}
		}
	}
	return out, nil
}

func parseRange(text string, known []events.Tag) ([]events.Tag, error) {
	if text == "" {
		return nil, fmt.Errorf("a tag is missing: write them like 2-101..2-118, 2-120")
	}
	left, right, isRange := strings.Cut(text, "..")
	if !isRange || slices.Contains(known, events.Tag(text)) {
		t, err := knownTag(text, known)
		return []events.Tag{t}, err
	}
	from, err := knownTag(tidy(left), known)
	if err != nil {
		return nil, err
	}
	to, err := knownTag(tidy(right), known)
	if err != nil {
		return nil, err
	}
	stem, ok := from.Stem()
	if other, too := to.Stem(); !ok || !too || stem != other {
		return nil, fmt.Errorf("%s..%s is no range: its ends must be alike up to their last number", from, to)
	}
	if events.ByName(from, to) > 0 {
		return nil, fmt.Errorf("%s..%s ends before it begins; did you mean %s..%s?", from, to, to, from)
	}
	var out []events.Tag
	for _, t := range known {
		if s, _ := t.Stem(); s == stem && events.ByName(from, t) <= 0 && events.ByName(t, to) <= 0 {
			out = append(out, t)
		}
	}
	slices.SortFunc(out, events.ByName[events.Tag])
	return out, nil
}

func knownTag(text string, known []events.Tag) (events.Tag, error) {
	tag := events.Tag(text)
	if slices.Contains(known, tag) {
		return tag, nil
	}
	if text == "" {
		return "", fmt.Errorf("a range lacks an end: write both, such as 2-101..2-118")
	}
	return "", fmt.Errorf("%q is not on the schedule%s", clip(text), perhaps(tag, known))
}

// perhaps asks whether a known name was meant.
func perhaps[T ~string](name T, known []T) string {
	if guess := nearest(string(name), known); guess != "" {
		return fmt.Sprintf("; did you mean %s?", guess)
	}
	return ""
}
