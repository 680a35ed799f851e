package main

import (
	"errors"
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/handover/cobie"
	"pairwalk/projection/handover/press"
	"pairwalk/syncd/member"
)

type handoverCmd struct {
	Dir string `arg:"" help:"The folder to write: a new one, or an empty one."`
	momentFlags
	Force bool `help:"Replace an older pack that is there."`
}

func (handoverCmd) Help() string {
	return "Example: pairwalk handover harbour-pack\n         pairwalk handover pack-of-may --at 2026-05-29T17:00:00Z --known-by Ann --known-at 2026-05-29T17:00:00Z\n\n" +
		"Writes the owner's pack: the report to print and to read, the sheets for the owner's register, tables, photos, and the log that all of it follows from. " +
		"A member makes it, since their key seals it; with --bundle there is none. " +
		"Nothing is recorded: the same log, moment and photos give the same bytes. Anybody can check the folder with sha256sum, and with pairwalk verify."
}

// errNobodysSeal is what whoever only reads a file is told.
var errNobodysSeal = errors.New("a pack is sealed by a member of the site, and this log was opened from a file, to be read: ask a member to make the pack; or become one: join with an invite from any of them, take the file in with bundle in, and make it without --bundle")

func (c *handoverCmd) Run(a *app) error {
	if a.cli.From != "" {
		return errNobodysSeal
	}
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		to, err := a.files.shelve(c.Dir, c.Force)
		if err != nil {
			return err
		}
		made, err := a.pack(m, moment)
		if err == nil {
			err = a.fill(to, made.pack)
		}
		if err != nil {
			to.drop()
			return err
		}
		if err := to.keep(); err != nil {
			return err
		}
		doc := made.answer(a, c.Dir)
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		a.handedOver(doc)
		return nil
	})
}

// made is a pack, and what it was made of.
type made struct {
	pack   handover.Pack
	source handover.Source
	asks   cobie.Asks
}

// pack makes a pack of a moment. Whatever somebody knew is all there is for it, so
// that who gets the pack can make it again of the log in it.
func (a *app) pack(m *member.Member, at projection.Moment) (made, error) {
	x := m.Excerpt(at.Known)
	if !x.Opened {
		return made{}, errors.New("what was known then does not say of which site it is; ask for another moment, or take in a colleague's log first")
	}
	when := x.Last
	if at.When.Known {
		when = at.When.Value
	}
	photo := func(sha256 string) ([]byte, bool) {
		content, err := m.Picture(sha256)
		return content, err == nil
	}
	return a.pressed(x, when, photo, func(pages string) ([]byte, error) { return m.Seal(x, pages) })
}

// pressed makes a pack of an excerpt.
func (a *app) pressed(x member.Excerpt, when events.Instant, photo func(string) ([]byte, bool), seal func(pages string) ([]byte, error)) (made, error) {
	bar := a.progress(press.Steps+1, "folding the log")
	defer func() { _ = bar.Finish() }()
	src := handover.NewSource(x.History, projection.At(when), photo)
	pages, asks, err := press.Pages(src, func(s press.Step) error {
		bar.Describe(string(s))
		_ = bar.Add(1)
		return a.ctx.Err()
	})
	if err != nil {
		return made{}, err
	}
	p, err := handover.Bind(src, pages, press.Tools(), seal)
	return made{p, src, asks}, err
}

// fill writes a pack's files into a folder.
func (a *app) fill(to shelf, p handover.Pack) error {
	bar := a.progress(len(p.Files), "writing")
	defer func() { _ = bar.Finish() }()
	for _, f := range p.Files {
		if err := a.ctx.Err(); err != nil {
			return err
		}
		if err := to.begin(f.Name); err != nil {
			return err
		}
		if _, err := to.Write(f.Content); err != nil {
			return err
		}
		_ = bar.Add(1)
	}
	return nil
}

// answer says what was written and what is missing.
func (x made) answer(a *app, folder string) member.PackAnswer {
	s, m := x.source.Site, x.pack.Manifest
	doc := member.PackAnswer{
		V: member.AnswerVersion, Folder: folder,
		Site:     member.StatusSite{ID: s.ID, Name: s.Name, Zone: s.Zone},
		Practice: s.Practice,
		Moment:   x.moment(),
		Entries:  m.Entries,
		Missing:  member.PackMissing{Asks: []member.PackAsk{}, Photos: texts(x.pack.Absent), Tests: x.source.Book.Owed},
		Signed:   signedOver(s),
		Next:     []string{},
	}
	for _, f := range x.pack.Files {
		doc.Bytes += int64(len(f.Content))
		doc.Files = append(doc.Files, member.PackFile{Name: f.Name, Bytes: int64(len(f.Content)), SHA256: f.Sum()})
	}
	for _, ask := range x.asks {
		doc.Missing.Asks = append(doc.Missing.Asks, member.PackAsk{Words: ask.String(), Needed: ask.Needed})
	}
	for _, f := range s.Faults {
		if f.Open() {
			doc.Missing.Faults++
		}
	}
	if doc.Signed == "" {
		doc.Next = append(doc.Next, a.name+` log signed site "handed over" --signer NAME --as ROLE`)
	}
	doc.Next = append(doc.Next, a.name+" verify "+quoted(folder))
	return doc
}

// moment is what a pack is of, in the site's zone.
func (x made) moment() string {
	s := x.source.Site
	return s.Moment.When.Value.Time().In(s.Location()).Format("2006-01-02T15:04:05.000Z07:00")
}

// signedOver says when and by whom the whole site was signed for last.
func signedOver(s *projection.Site) string {
	var last projection.Signature
	for _, x := range s.Signed {
		if x.Of == events.Site() && (last.Signed.IsZero() || x.Signed.After(last.Signed)) {
			last = x
		}
	}
	if last.Signed.IsZero() {
		return ""
	}
	return fmt.Sprintf("%s by %s", last.Signed.At.Time().In(s.Location()).Format("2006-01-02 15:04"), last.Signer)
}
