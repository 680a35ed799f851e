package checkup

import (
	"fmt"
	"strings"
	"time"
)

// counted is a number of things, in words.
func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	many := one + "s"
	if strings.HasSuffix(one, "y") {
		many = strings.TrimSuffix(one, "y") + "ies"
	}
	return fmt.Sprintf("%d %s", n, many)
}

// verb goes with so many things.
func verb(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// lasting is a duration as people say it.
func lasting(d time.Duration) string {
	d = d.Abs()
	switch {
	case d < time.Second:
		return fmt.Sprintf("%d ms", d.Milliseconds())
	case d < 2*time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds()))
	case d < 2*time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
	}
	return fmt.Sprintf("%d days", int(d.Hours())/24)
}

// bytesOf is a number of bytes as people say it.
func bytesOf(n int64) string {
	switch {
	case n < 10<<10:
		return fmt.Sprintf("%d B", n)
	case n < 10<<20:
		return fmt.Sprintf("%d KiB", n>>10)
	case n < 10<<30:
		return fmt.Sprintf("%d MiB", n>>20)
	}
	return fmt.Sprintf("%d GiB", n>>30)
}

// listed is names in a row, the first few and how many more.
func listed(names []string) string {
	const most = 4
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}
