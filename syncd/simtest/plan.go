package simtest

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Plan is a world, and what is left out of it.
type Plan struct {
	Seed    uint64
	Without Numbers
}

// Numbers are what happens in a world, in ascending ranges that don't touch. What
// has which number, the package documentation says.
type Numbers []Span

// Span is a range of numbers, with both its ends.
type Span struct{ From, To int }

// NoEnd is the end of a range that goes on for ever.
const NoEnd = math.MaxInt

// Has says whether a number is among them.
func (s Numbers) Has(n int) bool {
	i, found := slices.BinarySearchFunc(s, n, func(x Span, n int) int { return cmp.Compare(x.From, n) })
	return found || i > 0 && n <= s[i-1].To
}

// AllBut is every number there is but for these.
func AllBut(kept []int) Numbers {
	kept = slices.Clone(kept)
	slices.Sort(kept)
	out, from := Numbers(nil), 1
	for _, n := range kept {
		if n > from {
			out = append(out, Span{from, n - 1})
		}
		from = n + 1
	}
	return append(out, Span{from, NoEnd})
}

// String writes numbers as [ParseNumbers] reads them.
func (s Numbers) String() string {
	var out []string
	for _, x := range s {
		switch x.To {
		case x.From:
			out = append(out, strconv.Itoa(x.From))
		case NoEnd:
			out = append(out, strconv.Itoa(x.From)+"..")
		default:
			out = append(out, fmt.Sprintf("%d..%d", x.From, x.To))
		}
	}
	return strings.Join(out, ",")
}

// ParseNumbers reads numbers and ranges of them: "3,7,12..40,52..", where the last
// range has no end.
func ParseNumbers(text string) (Numbers, error) {
	var out Numbers
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' }) {
		from, to, ranges := strings.Cut(part, "..")
		x := Span{To: NoEnd}
		var err error
		if x.From, err = strconv.Atoi(from); err == nil && to != "" {
			x.To, err = strconv.Atoi(to)
		}
		if !ranges {
			x.To = x.From
		}
		if err != nil || x.From < 1 || x.To < x.From {
			return nil, fmt.Errorf("read numbers: %q is neither a number nor a range such as 12..40", part)
		}
		out = append(out, x)
	}
	slices.SortFunc(out, func(a, b Span) int { return cmp.Compare(a.From, b.From) })
	return out.joined(), nil
}

// joined has ranges that touch as one.
func (s Numbers) joined() Numbers {
	var out Numbers
	for _, x := range s {
		if last := len(out) - 1; last >= 0 && (out[last].To == NoEnd || x.From <= out[last].To+1) {
			out[last].To = max(out[last].To, x.To)
			continue
		}
		out = append(out, x)
	}
	return out
}
