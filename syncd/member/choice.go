package member

import (
	"slices"
	"strings"

	"pairwalk/projection"
)

// Choice picks entries out of a history; what is empty picks them all.
type Choice struct {
	Member string   // who recorded it, by name
	Kinds  []string // kinds, or families, which stand before a kind's dot
	Refs   []string // references, or ids
	Text   string   // in what it says, who did it, or its id; case does not count
}

// Chosen lists the entries that a choice picks, in their order.
func Chosen(s *projection.Site, said []Said, c Choice) []Said {
	w, text := writer{s, s.Location()}, strings.ToLower(c.Text)
	var out []Said
	for _, x := range said {
		if len(c.Kinds) > 0 && !ofKinds(string(x.Event.Kind()), c.Kinds) {
			continue
		}
		if len(c.Refs) > 0 && !slices.Contains(c.Refs, x.Event.Ref().String()) && !slices.Contains(c.Refs, x.Event.ID.String()) {
			continue
		}
		if c.Member != "" && s.MemberName(x.Event.Member()) != c.Member {
			continue
		}
		if text != "" && !strings.Contains(strings.ToLower(w.words(x.Event)+" "+x.By+" "+x.Event.ID.String()), text) {
			continue
		}
		out = append(out, x)
	}
	return out
}

func ofKinds(kind string, kinds []string) bool {
	family, _, _ := strings.Cut(kind, ".")
	return slices.Contains(kinds, kind) || slices.Contains(kinds, family)
}
