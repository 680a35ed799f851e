package checks

import (
	"fmt"
	"strings"

	"pairwalk/events"
)

func count(n int, one string) string {
	switch {
	case one == "":
		return fmt.Sprint(n)
	case n == 1:
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// quoted is a name as a command line takes it.
func quoted[T ~string](name T) string {
	if strings.ContainsAny(string(name), " \t\"'$`\\*?&|;<>()#~!{}[]") {
		return "'" + strings.ReplaceAll(string(name), "'", `'\''`) + "'"
	}
	return string(name)
}

func percent(n int64) string { return fmt.Sprintf("%d %%", n) }

// names lists tags for a sentence, the first few of many.
func names(tags []events.Tag) string {
	const few = 4
	var out []string
	for i, t := range tags {
		if i == few {
			return strings.Join(out, ", ") + fmt.Sprintf(" and %d more", len(tags)-few)
		}
		out = append(out, string(t))
	}
	return strings.Join(out, ", ")
}
