package member

import (
	"strings"

	"pairwalk/projection"
)

// Choice picks entries out of a history; what is empty picks them all.
type Choice struct {
	Member string // who recorded it, by name
	Kind   string // a kind, or the family before its dot
	Text   string // in what it says, who did it, or its id; case does not count
}

// Chosen lists the entries that a choice picks, in their order.
func Chosen(s *projection.Site, said []Said, c Choice) []Said {
	w, text := writer{s, s.Location()}, strings.ToLower(c.Text)
	var out []Said
	for _, x := range said {
		kind := string(x.Event.Kind())
		if c.Kind != "" && kind != c.Kind && !strings.HasPrefix(kind, c.Kind+".") {
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
