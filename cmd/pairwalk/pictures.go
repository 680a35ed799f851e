package main

import (
	"fmt"
	"strings"

	"pairwalk/syncd/member"
)

type picturesCmd struct {
	momentFlags
	Check bool `help:"Read every picture that is here and compare it with its name."`
}

func (picturesCmd) Help() string {
	return "Example: pairwalk pictures --check\n\nLists the photos and drawings that entries speak of, and where each is. They follow the entries whenever somebody is met who holds them. One that turns out to be damaged is fetched again."
}

func (c *picturesCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		var lost []string
		if c.Check {
			if lost, err = m.CheckPictures(); err != nil {
				return err
			}
		}
		doc := m.Pictures(moment)
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.pictureTable(doc.Pictures)
		if c.Check {
			a.printf("%s read; %d damaged or gone.\n", plural(doc.Held+len(lost), "picture"), len(lost))
		}
		a.picturesAway(doc)
		return nil
	})
}

func (a *app) pictureTable(pictures []member.PictureDocument) {
	t := table{head: []string{"of", "when", "by", "size", "picture", "where", "caption"}}
	for _, p := range pictures {
		t.add(p.Subject, short(p.At), p.By, kib(p.Bytes), p.SHA256[:12], whereIs(p), dash(p.Caption))
	}
	a.table(&t)
}

// whereIs says where a picture is.
func whereIs(p member.PictureDocument) string {
	words := p.State.Words()
	if p.State == member.PictureComing {
		words += fmt.Sprintf(", %s here", kib(p.Got))
	}
	if p.State != member.PictureHeld && len(p.HeldBy) > 0 {
		words += "; held by " + strings.Join(p.HeldBy, ", ")
	}
	return words
}

func kib(n int64) string {
	if n < 1024 {
		return fmt.Sprintf("%d B", n)
	}
	return fmt.Sprintf("%d KiB", (n+512)/1024)
}

// picturesAway says in a line how many pictures are not here, and who took them.
func (a *app) picturesAway(doc member.PicturesAnswer) {
	if doc.Away > 0 {
		by := map[string]int{}
		for _, p := range doc.Pictures {
			if p.State != member.PictureHeld {
				by[p.By]++
			}
		}
		var parts []string
		for _, name := range sorted(by) {
			parts = append(parts, fmt.Sprintf("%d by %s", by[name], name))
		}
		verb := "are"
		if doc.Away == 1 {
			verb = "is"
		}
		a.printf("\n%s %s not here yet: %s. They come when somebody is met who holds them: %s sync\n", plural(doc.Away, "picture"), verb, strings.Join(parts, ", "), a.name)
	}
	if doc.Trouble != "" {
		a.println(a.warn("the last picture could not be kept: " + doc.Trouble))
	}
}
