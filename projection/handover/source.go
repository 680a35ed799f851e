package handover

import (
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/mesh"
)

// Source is what a pack is made of.
type Source struct {
	History *projection.History
	Moment  projection.Moment                  // as asked; zero: everything known here
	Site    *projection.Site                   // the facts of that moment
	Net     *mesh.Net                          // reach at that moment
	Book    checks.Book                        // functional checks at that moment
	Photo   func(sha256 string) ([]byte, bool) // a picture held here; may be nil
	Version string                             // of the renderer: packs of one version are the same, byte for byte
}

// NewSource reads off what a pack of a moment is made of. Photo gives the content of
// a picture that is held here; it may be nil.
func NewSource(h *projection.History, m projection.Moment, photo func(sha256 string) ([]byte, bool)) Source {
	site := h.At(m)
	const anotherDay = 1 // a pack is read on another day than it was made, so its times carry theirs
	return Source{
		History: h,
		Moment:  m,
		Site:    site,
		Net:     mesh.Survey(site).Net(site, mesh.What{Now: anotherDay}),
		Book:    checks.At(h, m),
		Photo:   photo,
		Version: Version,
	}
}

// Version is the rendering's own: it changes whenever a pack of the same log would
// read otherwise.
const Version = "1"
