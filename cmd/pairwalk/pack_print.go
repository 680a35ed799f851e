package main

import (
	"fmt"
	"path"

	"pairwalk/syncd/member"
)

// handedOver says what was written, what is missing, and what to do next.
func (a *app) handedOver(doc member.PackAnswer) {
	name := doc.Site.Name
	if doc.Practice {
		name += "   PRACTICE SITE, a made-up job"
	}
	a.printf("%s\nas of %s, from %s of the log\n\n", a.bold(oneLine(name)), short(doc.Moment), plural(doc.Entries, "entry"))
	t := table{head: []string{"in " + doc.Folder, "size", "what it is"}}
	for _, x := range packShelves {
		n, bytes := 0, int64(0)
		for _, f := range doc.Files {
			if f.Name == x.name || path.Dir(f.Name) == x.name {
				n, bytes = n+1, bytes+f.Bytes
			}
		}
		what := x.what
		if n > 1 {
			what = plural(n, "file") + ": " + what
		}
		if n > 0 {
			t.add(x.name, size(bytes), what)
		}
	}
	a.table(&t)
	a.println()
	a.missing(doc.Missing)
	if doc.Signed == "" {
		a.printf("Not handed over yet. When the owner has it, sign; then make the pack once more, and it holds the signature:\n")
	} else {
		a.printf("Handed over: %s.\nCheck it where it arrives:\n", oneLine(doc.Signed))
	}
	for _, line := range doc.Next {
		a.printf("  %s\n", line)
	}
	a.printf("\n%s\n", notPermit)
}

// packShelves are the files of a pack as they are listed for people.
var packShelves = []struct{ name, what string }{
	{"READ-ME-FIRST.txt", "what each file is, and how to check it"},
	{"report.pdf", "the report, to print"},
	{"report.html", "the report, for a browser"},
	{"cobie.xlsx", "sheets for the owner's register"},
	{"csv", "the as-built record as tables"},
	{"photos", "pictures"},
	{"log.pairwalk", "the log that all of it follows from"},
	{"pack.json", "the same for programs"},
	{"SHA256SUMS", "for sha256sum -c"},
}

func (a *app) missing(x member.PackMissing) {
	if len(x.Asks) > 0 {
		a.asks(x.Asks)
	}
	if n := len(x.Photos); n > 0 {
		a.printf("%s in the log and not on this device: sync with whoever took them, and make the pack again.\n", a.warn(plural(n, "photo")))
	}
	if x.Tests > 0 {
		a.printf("%s owed; see: %s checks\n", a.warn(plural(x.Tests, "functional test")), a.name)
	}
	if x.Faults > 0 {
		a.printf("%s open; see: %s faults\n", a.warn(plural(x.Faults, "fault")), a.name)
	}
	if len(x.Asks)+len(x.Photos)+x.Tests+x.Faults > 0 {
		a.println("The pack says so too. Whether it is taken over like that is for the owner and whoever signs to say.")
	} else {
		a.println("Nothing is missing that the log knows of.")
	}
	a.println()
}

// asks lists what the office has to fill in, where it must; the rest it may.
func (a *app) asks(all []member.PackAsk) {
	must := 0
	for _, ask := range all {
		if ask.Needed {
			must++
		}
	}
	a.printf("%s in cobie.xlsx that only the office can fill; the sheets are refused without %d of them:\n", a.warn(plural(len(all), "gap")), must)
	for _, ask := range all {
		if ask.Needed {
			a.printf("  %s\n", oneLine(ask.Words))
		}
	}
	if rest := len(all) - must; rest > 0 {
		a.println(a.dim(fmt.Sprintf("  (%d more are marked in the sheets; --json lists them)", rest)))
	}
}

// size says how much as people do.
func size(bytes int64) string {
	switch {
	case bytes < 1000:
		return fmt.Sprintf("%d B", bytes)
	case bytes < 1000_000:
		return fmt.Sprintf("%d kB", (bytes+500)/1000)
	}
	return fmt.Sprintf("%.1f MB", float64(bytes)/1e6)
}
