package main

import (
	"errors"
	"fmt"
	"os"
	"slices"

	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/syncd/member"
)

// verifyPack checks a pack by itself: no site of ours is needed.
func (a *app) verifyPack(folder string) error {
	doc, err := a.checkPack(folder)
	if err != nil {
		return err
	}
	if a.cli.JSON {
		if err := a.printJSON(doc); err != nil {
			return err
		}
	} else {
		a.checkedPack(doc)
	}
	if n := len(doc.Problems); n > 0 {
		return fmt.Errorf("%s is not the pack that was made: %s; ask whoever made it for it again", folder, plural(n, "problem"))
	}
	return nil
}

// checkPack says what is wrong with a pack, if anything.
func (a *app) checkPack(folder string) (member.PackCheck, error) {
	found, flaws, err := handover.Check(os.DirFS(folder))
	if err != nil {
		return member.PackCheck{}, fmt.Errorf("%s: %w", folder, err)
	}
	doc := member.PackCheck{
		V: member.AnswerVersion, Pack: folder, Files: len(found.Manifest.Files), Version: found.Manifest.Version,
		Pages: string(handover.NoPage), Notes: []string{}, Problems: []string{},
	}
	c := packCheck{found, &doc, flaws}
	if err := c.log(a); err != nil {
		return doc, err
	}
	for _, f := range c.flaws {
		doc.Problems = append(doc.Problems, f.String())
	}
	return doc, nil
}

// packCheck is a pack half verified.
type packCheck struct {
	found handover.Found
	doc   *member.PackCheck
	flaws []handover.Flaw
}

// flaw adds what is wrong with a file, unless that file is known to be bad.
func (c *packCheck) flaw(f handover.Flaw) {
	if !slices.ContainsFunc(c.flaws, func(x handover.Flaw) bool { return x.File == f.File }) {
		c.flaws = append(c.flaws, f)
	}
}

// log checks the log in the pack, and the pack against it. The error is that the
// user gave up.
func (c *packCheck) log(a *app) error {
	if c.bad(handover.LogFile) || c.bad(handover.MarkFile) {
		return nil // nothing to hold it against
	}
	file, err := c.found.Log()
	if err != nil {
		c.flaw(handover.Flaw{File: handover.LogFile, What: err.Error()})
		return nil
	}
	defer file.Close()
	x, err := member.ReadExcerpt(file)
	if err != nil {
		c.flaw(handover.Flaw{File: handover.LogFile, What: err.Error()})
		return nil
	}
	if x.Pages != c.found.SealedFor() {
		c.flaw(handover.Flaw{File: handover.LogFile, What: fmt.Sprintf("was sealed by %s for other pages than these: somebody changed them", x.Site.Member)})
	}
	when, err := c.found.Moment()
	if err != nil {
		c.flaw(handover.Flaw{File: handover.MarkFile, What: err.Error()})
		return nil
	}
	made, err := a.pressed(x, when, c.found.Photo, func(string) ([]byte, error) { return nil, nil })
	if a.ctx.Err() != nil {
		return errors.New("interrupted")
	}
	if err != nil {
		return err
	}
	c.against(x, made)
	return nil
}

func (c *packCheck) bad(name string) bool {
	return slices.ContainsFunc(c.flaws, func(f handover.Flaw) bool { return f.File == name || f.File == handover.SumsFile })
}

// against holds the pack against the one made again, and says whose seal it has.
func (c *packCheck) against(x member.Excerpt, made made) {
	flaws, compared := c.found.Against(made.pack)
	for _, f := range flaws {
		c.flaw(f)
	}
	s := made.source.Site
	doc := c.doc
	doc.Site, doc.Practice = member.StatusSite{ID: s.ID, Name: s.Name, Zone: s.Zone}, s.Practice
	doc.Moment = made.moment()
	doc.Entries, doc.Pages = s.Entries, string(compared)
	doc.Maker = member.PackMaker{Name: x.Site.Member, Key: string(x.Site.Key)}
	if who, known := s.Member(x.Site.Key); known {
		doc.Maker.Name, doc.Maker.Standing = s.MemberName(who.Key), string(who.Standing)
	}
	switch compared {
	case handover.NoPage:
		doc.Notes = append(doc.Notes, fmt.Sprintf("made by another version (%s, this is %s); pages not compared", c.found.Manifest.Version, handover.Version))
	case handover.PlainPages:
		doc.Notes = append(doc.Notes, "report.pdf and cobie.xlsx were packed by another build; they are not compared, all other pages are")
	}
	trusted := doc.Maker.Standing == string(projection.Admitted)
	switch {
	case trusted:
	case compared == handover.AllPages:
		doc.Notes = append(doc.Notes, fmt.Sprintf("sealed by somebody who is no admitted member in this log, calling themselves %q; what is in it proves itself, and whether it is all there was does not", x.Site.Member))
	default:
		c.flaw(handover.Flaw{File: handover.LogFile, What: fmt.Sprintf("is sealed by somebody who is no admitted member in it, calling themselves %q: nobody vouches for the pages that were not compared", x.Site.Member)})
	}
}

// checkedPack prints what came of it.
func (a *app) checkedPack(doc member.PackCheck) {
	if doc.Site.Name != "" {
		name := doc.Site.Name
		if doc.Practice {
			name += "   PRACTICE SITE, a made-up job"
		}
		a.printf("%s\nas of %s, from %s of the log, sealed by %s\n\n", a.bold(oneLine(name)), short(doc.Moment), plural(doc.Entries, "entry"), oneLine(doc.Maker.Name))
	}
	for _, p := range doc.Problems {
		a.println(a.warn(oneLine(p)))
	}
	for _, n := range doc.Notes {
		a.printf("note: %s\n", oneLine(n))
	}
	if len(doc.Problems) > 0 {
		return
	}
	a.printf("%s: %s and no other, none of them changed; every signature in the log holds.\n", doc.Pack, plural(doc.Files, "file"))
	switch handover.Compared(doc.Pages) {
	case handover.AllPages:
		a.println("Every page of this pack follows from the log in it: made again, it is the same.")
	case handover.PlainPages:
		a.println("Every page that could be compared follows from the log in it.")
	}
}

// isFolder says whether a name is that of a folder.
func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}
