package member

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"pairwalk/events"
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
	p := c.picker(s)
	var out []Said
	for _, x := range said {
		if p.picks(x.Event, func() string { return x.By }) {
			out = append(out, x)
		}
	}
	return out
}

// picker is a choice made ready to look at many entries.
type picker struct {
	Choice
	writer
	refs map[events.Ref]bool
	ids  map[string]bool
	text string
}

func (c Choice) picker(s *projection.Site) picker {
	p := picker{c, writer{s, s.Location()}, map[events.Ref]bool{}, map[string]bool{}, strings.ToLower(c.Text)}
	for _, text := range c.Refs {
		if ref, err := events.ParseRef(text); err == nil {
			p.refs[ref] = true
		} else {
			p.ids[text] = true
		}
	}
	return p
}

// all says whether it takes every entry.
func (p picker) all() bool {
	return p.Choice.Member == "" && len(p.Kinds) == 0 && len(p.Refs) == 0 && p.text == ""
}

// picks says whether an entry is taken. By says who did it, where that is asked.
func (p picker) picks(e *events.Event, by func() string) bool {
	switch {
	case len(p.Kinds) > 0 && !ofKinds(string(e.Kind()), p.Kinds),
		len(p.Refs) > 0 && !p.refs[e.Ref()] && !(len(p.ids) > 0 && p.ids[e.ID.String()]),
		p.Choice.Member != "" && p.MemberName(e.Member()) != p.Choice.Member:
		return false
	}
	return p.text == "" || strings.Contains(strings.ToLower(p.words(e)+" "+by()+" "+e.ID.String()), p.text)
}

// places are where in a telling those entries stand that may be taken, the last first:
// the ones that are named by reference, where all are, and else every one.
func (p picker) places(all projection.Telling) iter.Seq[int] {
	if len(p.refs) > 0 && len(p.ids) == 0 {
		var named []int
		for ref := range p.refs {
			if i, told := all.Place(ref); told {
				named = append(named, i)
			}
		}
		slices.SortFunc(named, func(a, b int) int { return b - a })
		return slices.Values(named)
	}
	return func(yield func(int) bool) {
		for i := all.Len() - 1; i >= 0 && yield(i); i-- {
		}
	}
}

func ofKinds(kind string, kinds []string) bool {
	family, _, _ := strings.Cut(kind, ".")
	return slices.Contains(kinds, kind) || slices.Contains(kinds, family)
}

// Leaf is a leaf of a log that is read from its end.
type Leaf struct {
	Said  []Said // the latest first
	Total int    // that were asked for
	More  bool   // before these
}

// Leaf turns to the entries about a subject, or to all for the zero subject, that a
// choice picks: the latest ones, or those before the one that an entry's reference
// names, but no more than so many. What the others say is not worked out.
func (m *Member) Leaf(moment projection.Moment, about events.Subject, c Choice, before string, most int) (Leaf, error) {
	p := c.picker(m.At(projection.Moment{Known: moment.Known}))
	m.mu.Lock()
	defer m.mu.Unlock()
	all := m.history.Tell(moment)
	every := p.all() && about == (events.Subject{})
	var out Leaf
	found := before == ""
	for i := range p.places(all) {
		if every && found && len(out.Said) == most {
			out.Total, out.More = all.Len(), true // the rest is picked as well
			break
		}
		if about != (events.Subject{}) && !slices.Contains(all.Subjects(i), about) || !p.picks(all.Event(i), func() string { return all.At(i).By }) {
			continue
		}
		out.Total++
		switch {
		case !found:
			found = all.Event(i).Ref().String() == before
		case len(out.Said) < most:
			out.Said = append(out.Said, saidAt(all, i))
		default:
			out.More = true
		}
	}
	if !found {
		return Leaf{}, fmt.Errorf("%s is not among the entries asked for", before)
	}
	return out, nil
}

// Uncounted lists the entries of a moment that do not count, and those of a kind that
// is not understood here, in the order they are told.
func (m *Member) Uncounted(moment projection.Moment) (quarantined, odd []Said) {
	s := m.At(moment)
	looked := map[*events.Event]bool{}
	for i := range s.Quarantined {
		looked[s.Quarantined[i].Event] = true
	}
	for _, e := range s.NotUnderstood {
		looked[e] = true
	}
	if len(looked) == 0 {
		return nil, nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	all := m.history.Tell(moment)
	for i := range all.Len() {
		if !looked[all.Event(i)] {
			continue
		}
		switch x := saidAt(all, i); {
		case x.Quarantined != "":
			quarantined = append(quarantined, x)
		case !x.Event.Understood():
			odd = append(odd, x)
		}
	}
	return quarantined, odd
}
