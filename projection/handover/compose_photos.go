package handover

import (
	"crypto/sha256"
	"encoding/hex"

	"pairwalk/events"
	"pairwalk/projection"
)

// photos shows the pictures of some subjects under a heading; nothing where there
// are none.
func (c *composer) photos(title string, of map[events.Subject]bool) []Block {
	var out []Block
	for _, p := range c.site.Photos {
		if of[p.Of] {
			out = append(out, c.photo(p))
		}
	}
	if len(out) == 0 {
		return nil
	}
	return append([]Block{Heading{Text: title}}, out...)
}

// photoTable names every picture of the log, also where no part shows it.
func (c *composer) photoTable() Table {
	t := Table{
		Caption: "Photos of the log",
		Columns: []Column{{"Of", 2, false}, {"What it shows", 4, false}, {"When, and by whom", 3, false}, {"SHA-256", 5, false}, {"In this pack", 2, false}},
		None:    "Nobody has added a photo.",
	}
	for _, p := range c.site.Photos {
		in := "missing: this pack's maker did not hold it"
		if c.photo(p).Content != nil {
			in = "in " + PhotoDir + "/"
		}
		t.Rows = append(t.Rows, []string{c.subject(p.Of), said(p.Caption), c.whenBy(&p.Added), p.Picture.SHA256, in})
	}
	return t
}

// photo is a picture as this device holds it: what is not what its name says is not
// the picture.
func (c *composer) photo(p projection.Photo) Photo {
	out := Photo{SHA256: p.Picture.SHA256, Type: p.Picture.Type, Caption: join(". ", c.subject(p.Of), said(p.Caption), c.whenBy(&p.Added))}
	if c.Photo == nil {
		return out
	}
	content, ok := c.Photo(p.Picture.SHA256)
	sum := sha256.Sum256(content)
	if ok && hex.EncodeToString(sum[:]) == p.Picture.SHA256 {
		out.Content = content
	}
	return out
}
