package main

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection/between"
	"pairwalk/syncd/member"
)

// gathering is changes that are told together: those of one entry, or of several
// in a row that did the same sort of thing, such as pairing a floor.
type gathering struct {
	entries [][]member.ChangeDocument // the changes of each entry
}

func (g gathering) all() []member.ChangeDocument { return slices.Concat(g.entries...) }

// gathered puts changes together by their entries, in the order they come in.
func gathered(changes []member.ChangeDocument) []gathering {
	var out []gathering
	for i := 0; i < len(changes); {
		end := i
		for end < len(changes) && sameEntry(changes[i], changes[end]) {
			end++
		}
		did := changes[i:end]
		if n := len(out); n > 0 && likewise(out[n-1].entries[0], did) {
			out[n-1].entries = append(out[n-1].entries, did)
		} else {
			out = append(out, gathering{[][]member.ChangeDocument{did}})
		}
		i = end
	}
	return out
}

// sameEntry says whether changes are of one entry; what time did goes together by
// how it did it.
func sameEntry(a, b member.ChangeDocument) bool {
	return a.Event == b.Event && (a.Event != "" || a.Why == b.Why)
}

// likewise says whether two entries did the same sort of thing on one day, to
// somebody else, by the same hand, and were heard of by the same people.
func likewise(a, b []member.ChangeDocument) bool {
	x, y := a[0], b[0]
	family, _, _ := strings.Cut(x.Kind, ".")
	if x.Kind != y.Kind || !slices.Contains([]string{"device", "hub", "floor", "room", "wall", "link"}, family) || len(a) != len(b) || x.By != y.By || x.Member != y.Member || x.At[:10] != y.At[:10] || !slices.Equal(x.NotKnown, y.NotKnown) {
		return false
	}
	if len(x.Knew) != len(y.Knew) || strings.Contains(x.Told, ";") != strings.Contains(y.Told, ";") {
		return false
	}
	for i := range a {
		before, _, _ := strings.Cut(a[i].Before, ", ")
		other, _, _ := strings.Cut(b[i].Before, ", ")
		if a[i].What != b[i].What || before != other || a[i].Why != b[i].Why || strings.Split(a[i].Subject, ":")[0] != strings.Split(b[i].Subject, ":")[0] {
			return false
		}
	}
	return true
}

// gathering prints what one entry did, or several alike.
func (a *app) gathering(g gathering) {
	first, last := g.entries[0][0], g.entries[len(g.entries)-1][0]
	switch n := len(g.entries); {
	case first.Event == "":
		a.printf("\n%s\n", a.bold(oneLine(first.Why)))
	case n == 1:
		a.printf("\n%s  %s: %s\n  %s\n", a.bold(short(first.At)), oneLine(first.By), oneLine(first.Entry), a.dim(oneLine(first.Told)))
	default:
		when := short(first.At)
		if end := short(last.At); end != when {
			when += ".." + end[len("2006-01-02 "):]
		}
		a.printf("\n%s  %s: %s, from \"%s\" to \"%s\"\n  %s\n", a.bold(when), oneLine(first.By), plural(n, "entry"), oneLine(first.Entry), oneLine(last.Entry), a.dim(knewThem(last)))
	}
	var t table
	for _, alike := range alikes(g.all()) {
		t.add("  "+alike[0].What, likeness(alike), strings.Join(whom(alike), ", ")+where(alike[0]))
	}
	t.head, t.rows = t.rows[0], t.rows[1:]
	t.print(a.stdout, func(s string) string { return s })
	a.whys(g.all())
}

// whys prints how entries did what is not their own word, where that is not plain
// from the entry.
func (a *app) whys(all []member.ChangeDocument) {
	var said []string
	for _, x := range all {
		if x.Event != "" && x.Why != "" && !slices.Contains(said, x.Why) && !strings.HasPrefix(x.Why, "by an entry about") {
			said = append(said, x.Why)
			a.printf("  %s\n", a.dim(oneLine(x.Why)))
		}
	}
}

// knewThem says who knew of several entries, by the last of them.
func knewThem(last member.ChangeDocument) string {
	parts := []string{fmt.Sprintf("%s logged the last at %s", last.Member, short(last.Logged))}
	for _, k := range last.Knew {
		if k.Member != last.Member {
			parts = append(parts, fmt.Sprintf("%s is first known to have it at %s", k.Member, short(k.At)))
		}
	}
	if len(last.NotKnown) > 0 {
		parts = append(parts, "nothing shows that these have them: "+strings.Join(last.NotKnown, ", "))
	}
	return oneLine(strings.Join(parts, "; "))
}

// alikes puts changes together that read the same on one floor and hub.
func alikes(all []member.ChangeDocument) [][]member.ChangeDocument {
	var out [][]member.ChangeDocument
	at := map[string]int{}
	for _, x := range all {
		before, after := ends(x)
		if eachItsOwn(x.What) {
			after = ""
		}
		key := strings.Join([]string{x.What, x.Floor, x.Hub, before, after, strings.Split(x.Subject, ":")[0]}, "\x00")
		i, had := at[key]
		if !had {
			i, at[key] = len(out), len(out)
			out = append(out, nil)
		}
		out[i] = append(out[i], x)
	}
	return out
}

// eachItsOwn says whether a fact is another for everybody, such as a serial.
func eachItsOwn(what string) bool {
	return what == string(between.Serial) || what == string(between.Heard)
}

// ends is a change without what is each device's own: its route home.
func ends(x member.ChangeDocument) (before, after string) {
	if x.What != string(between.Path) {
		return x.Before, x.After
	}
	before, _, _ = strings.Cut(x.Before, ", ")
	after, _, _ = strings.Cut(x.After, ", ")
	return before, after
}

// likeness is what changes have in common, in words; a single one is told whole.
func likeness(alike []member.ChangeDocument) string {
	x := alike[0]
	if len(alike) == 1 {
		return dash(x.Before) + " → " + dash(x.After)
	}
	before, after := ends(x)
	switch {
	case eachItsOwn(x.What) && x.After != alike[len(alike)-1].After:
		after = fmt.Sprintf("%s … %s", x.After, alike[len(alike)-1].After)
	case before == after:
		return before + ", by another way"
	}
	return dash(before) + " → " + dash(after)
}

func where(x member.ChangeDocument) string {
	of := strings.Split(x.Subject, ":")[0]
	switch {
	case x.Floor != "" && x.Hub != "" && of == string(events.OfDevice):
		return fmt.Sprintf("  (floor %s, %s)", x.Floor, x.Hub)
	case x.Floor != "":
		return fmt.Sprintf("  (floor %s)", x.Floor)
	case x.Hub != "" && of == string(events.OfDevice):
		return fmt.Sprintf("  (%s)", x.Hub)
	}
	return ""
}

// whom names whom changes are about, devices as ranges of tags.
func whom(all []member.ChangeDocument) []string {
	var names, tags []string
	for _, x := range all {
		of, err := events.ParseSubject(x.Subject)
		if tag, device := of.Tag(); err == nil && device {
			tags = append(tags, string(tag))
		} else {
			names = append(names, x.Name)
		}
	}
	slices.SortFunc(tags, events.ByName)
	return append(names, member.TagRanges(tags)...)
}
