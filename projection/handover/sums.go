package handover

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// sum is one line of SHA256SUMS.
type sum struct{ hex, name string }

// sumsOf lists files with their sums, by name.
func sumsOf(files []File) []sum {
	var sums []sum
	for _, f := range files {
		sums = append(sums, sum{sumOf(f.Content), f.Name})
	}
	slices.SortFunc(sums, func(a, b sum) int { return strings.Compare(a.name, b.name) })
	return sums
}

// pagesOf is the checksum of all that a log is sealed for: of the lines of
// SHA256SUMS but for the log's own.
func pagesOf(sums []sum) string {
	return sumOf(sumText(slices.DeleteFunc(slices.Clone(sums), func(s sum) bool { return s.name == LogFile })))
}

// sumText lists sums in the form of sha256sum.
func sumText(sums []sum) []byte {
	var b bytes.Buffer
	for _, s := range sums {
		fmt.Fprintf(&b, "%s  %s\n", s.hex, s.name)
	}
	return b.Bytes()
}

var sumLine = regexp.MustCompile(`^([0-9a-f]{64})  ([A-Za-z0-9][A-Za-z0-9._/-]*)$`)

// readSums reads what sumText writes, and nothing else: a list that reads the
// same and is written otherwise was touched.
func readSums(text []byte) (sums []sum, flaws []Flaw) {
	flaw := func(n int, what string) {
		flaws = append(flaws, Flaw{SumsFile, fmt.Sprintf("line %d %s", n, what)})
	}
	whole := text
	if rest, ended := bytes.CutSuffix(text, []byte("\n")); ended {
		whole = rest
	} else {
		flaws = append(flaws, Flaw{SumsFile, "is cut off: its last line does not end"})
	}
	for i, line := range strings.Split(string(whole), "\n") {
		m := sumLine.FindStringSubmatch(line)
		switch {
		case m == nil:
			flaw(i+1, "is not 64 lower-case hex digits, two spaces and a name")
		case !fits(m[2]) || m[2] == SumsFile:
			flaw(i+1, fmt.Sprintf("names %q, which is no file of a pack to be listed", m[2]))
		case len(sums) > 0 && sums[len(sums)-1].name >= m[2]:
			flaw(i+1, "is out of order or there twice")
		default:
			sums = append(sums, sum{m[1], m[2]})
		}
	}
	return sums, flaws
}
