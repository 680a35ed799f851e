package register

import (
	"fmt"
	"strings"
	"unicode/utf16"
)

// names gives out the keys of one sheet, each once.
type names struct {
	given map[string]bool // what no key may be alike, folded
}

func newNames() *names { return &names{map[string]bool{fold(Unknown): true}} }

// fold makes names alike that a person, or a spreadsheet's look-up, takes for one.
func fold(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// give makes a key of a name: without commas, at which COBie parts lists, in single
// spaces, and unlike all that were given before.
func (n *names) give(name string) string {
	name = strings.Join(strings.Fields(strings.ReplaceAll(name, ",", ";")), " ")
	if name == "" {
		name = "-"
	}
	key := name
	for i := 2; n.given[fold(key)]; i++ {
		key = fmt.Sprintf("%s (%d)", name, i)
	}
	n.given[fold(key)] = true
	return key
}

// lists parts keys into comma lists that each fit a cell.
func lists(keys []string) []string {
	var out []string
	var list strings.Builder
	size := 0
	for _, k := range keys {
		n := units(k)
		if size > 0 && size+1+n > CellMost {
			out = append(out, list.String())
			list.Reset()
			size = 0
		}
		if size > 0 {
			list.WriteByte(',')
			size++
		}
		list.WriteString(k)
		size += n
	}
	if size > 0 {
		out = append(out, list.String())
	}
	return out
}

// units is the length of a text as spreadsheets count it.
func units(s string) int {
	n := 0
	for _, r := range s {
		n += max(1, utf16.RuneLen(r))
	}
	return n
}

// words joins what there is of some words.
func words(sep string, parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, sep)
}
