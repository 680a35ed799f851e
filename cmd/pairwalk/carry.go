package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"pairwalk/events/bundle"
	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
	"pairwalk/events/journal"
	"pairwalk/syncd/member"
)

type bundleCmd struct {
	Out bundleOutCmd `cmd:"" help:"Write the whole log as one file."`
	In  bundleInCmd  `cmd:"" help:"Take in what a file holds and this device lacks."`
}

type bundleOutCmd struct {
	File   string `arg:"" help:"Where to write it."`
	Photos string `help:"Write the pictures that are here too, as this tar file." placeholder:"FILE"`
	Force  bool   `help:"Replace a file that is there."`
}

func (bundleOutCmd) Help() string {
	return "Example: pairwalk bundle out site.pairwalk --photos site.photos.tar\n\nThe bundle holds the log. Pictures are many times as large, so they go into a file of their own, and only if asked for."
}

func (c *bundleOutCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		var n bundle.Count
		err := a.writeFile(c.File, c.Force, func(f io.Writer) (err error) {
			n, err = m.BundleOut(a.ctx, f)
			return err
		})
		if err != nil {
			return err
		}
		photos, away, err := c.photos(a, m)
		if err != nil {
			return err
		}
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "file": c.File, "feeds": n.Feeds, "entries": n.Lines, "holes": n.Holes, "photos": photos, "photos_away": away})
		}
		a.printf("%s holds %s of %s.\n", c.File, plural(n.Lines, "entry"), plural(n.Feeds, "feed"))
		if c.Photos != "" {
			a.printf("%s holds %s; %s not here.\n", c.Photos, plural(photos, "picture"), isAre(away))
		}
		return nil
	})
}

// photos writes the pictures that are here, if asked for.
func (c *bundleOutCmd) photos(a *app, m *member.Member) (written, away int, err error) {
	if c.Photos == "" {
		return 0, 0, nil
	}
	err = a.writeFile(c.Photos, c.Force, func(f io.Writer) (err error) {
		written, away, err = m.PhotosOut(f)
		return err
	})
	return written, away, err
}

func isAre(n int) string {
	if n == 1 {
		return "1 is"
	}
	return fmt.Sprintf("%d are", n)
}

type bundleInCmd struct {
	File   string `arg:"" help:"The file; - is standard input."`
	Photos string `help:"Take in the pictures of this tar file too." placeholder:"FILE"`
}

func (bundleInCmd) Help() string {
	return "Example: pairwalk bundle in site.pairwalk --photos site.photos.tar\n\nThe bundle is checked whole before anything is taken, and each picture before it is kept. Taking them in twice does no harm."
}

func (c *bundleInCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		f, err := a.file(c.File)
		if err != nil {
			return err
		}
		defer f.Close()
		bar := a.progress(-1, "checking and writing")
		got, err := m.BundleIn(a.ctx, f)
		_ = bar.Finish()
		if err != nil {
			return fmt.Errorf("%s: %w", called(c.File), err)
		}
		photos, err := c.photos(a, m)
		if err != nil {
			return err
		}
		if a.cli.JSON {
			return a.printJSON(map[string]any{
				"photos": photos.Fresh, "photos_known": photos.Known, "photos_wrong": photos.Wrong, "photos_spare": photos.Spare,
				"v": member.AnswerVersion, "from": got.From, "fresh": got.Fresh, "known": got.Known, "healed": got.Healed, "strange": got.Strange,
				"admitted": texts(got.Admitted), "waiting": texts(got.Waiting), "conflicts": len(got.New), "they_lack": got.Theirs,
			})
		}
		a.received(got)
		if c.Photos != "" {
			a.printf("%s new, %d here already.\n", plural(photos.Fresh, "picture"), photos.Known)
		}
		if photos.Wrong > 0 {
			a.println(a.warn(fmt.Sprintf("%s left out: not what the name says, or too large.", plural(photos.Wrong, "picture"))))
		}
		return nil
	})
}

// photos takes in a file of pictures, if one is given.
func (c *bundleInCmd) photos(a *app, m *member.Member) (member.PhotosReceived, error) {
	if c.Photos == "" {
		return member.PhotosReceived{}, nil
	}
	f, err := a.file(c.Photos)
	if err != nil {
		return member.PhotosReceived{}, err
	}
	defer f.Close()
	got, err := m.PhotosIn(f)
	if err != nil {
		return got, fmt.Errorf("%s: %w", called(c.Photos), err)
	}
	return got, nil
}

func texts(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}

func (a *app) received(got member.Received) {
	a.printf("%s.\n", got.Words())
	for _, name := range got.Admitted {
		a.printf("Admitted %s: their invite was good and nobody else used it.\n", name)
	}
	for _, name := range got.Waiting {
		a.println(a.warn(fmt.Sprintf("%s waits for a lead's word: %s members admit NAME", name, a.name)))
	}
	for _, x := range got.New {
		a.printf("%s %s\n  %s conflicts\n", a.warn("conflict:"), x.Why, a.name)
	}
	if got.Theirs > 0 {
		a.printf("%s here that %s did not have when the file was made; give them yours: %s bundle out FILE\n", plural(got.Theirs, "entry"), got.From, a.name)
	}
}

type mergeCmd struct {
	Out mergeOutCmd `cmd:"" help:"Write the field's pairings for the office."`
	In  mergeInCmd  `cmd:"" help:"Hold the office's rows against the field."`
}

type mergeOutCmd struct {
	File  string `arg:"" help:"Where to write them: a workbook if the name ends in .xlsx, else CSV."`
	Force bool   `help:"Replace a file that is there."`
}

func (mergeOutCmd) Help() string {
	return "Example: pairwalk merge out records.csv\n         pairwalk merge out records.xlsx\n\n" +
		"A row for every paired device: export, tag, kind, serial, hub, how, paired_at, paired_by, and the entry that says so. " +
		"The log notes the export with all that was known when it was made; a workbook lists that on a second sheet."
}

func (c *mergeOutCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		out, err := m.Records()
		if err != nil {
			return err
		}
		err = a.writeFile(c.File, c.Force, func(f io.Writer) error {
			if strings.EqualFold(filepath.Ext(c.File), ".xlsx") {
				return workbook.Write(f, out.Pairings, out.Covers)
			}
			return out.CSV(f)
		})
		if err != nil {
			return err
		}
		if _, err := m.Exported(a.ctx, out); err != nil {
			return err
		}
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "export": out.Export, "rows": len(out.Pairings.Rows), "file": c.File})
		}
		a.printf("%s holds %s as export %s.\n", c.File, plural(len(out.Pairings.Rows), "pairing"), out.Export)
		a.printf("When the office has merged it into the design file: %s log merged --export %s\n", a.name, out.Export)
		return nil
	})
}

type mergeInCmd struct {
	File   string `arg:"" help:"The office's file, CSV or XLSX."`
	Accept bool   `help:"Log the export as merged although some rows differ."`
}

func (mergeInCmd) Help() string {
	return "Example: pairwalk merge in merged.xlsx\n\n" +
		"The file needs the columns tag and serial; export, hub and kind are compared where it has them. " +
		"Where every row agrees with the field, its export is logged as merged."
}

func (c *mergeInCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		f, err := a.file(c.File)
		if err != nil {
			return err
		}
		defer f.Close()
		data, err := io.ReadAll(io.LimitReader(f, intake.MaxBytes+1))
		if err != nil {
			return err
		}
		rows, err := workbook.Records(data)
		if err != nil {
			return fmt.Errorf("%s: %w", called(c.File), err)
		}
		home := m.RecordsBack(rows)
		merged := home.Export != "" && (c.Accept || home.Agrees())
		if !a.cli.JSON {
			a.homecoming(home)
		}
		if merged {
			if _, err := m.Merged(a.ctx, home.Export, "", member.Entry{}); err != nil {
				return err
			}
		}
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "export": home.Export, "same": home.Same, "differences": home.Differences, "merged": merged})
		}
		if merged {
			a.printf("Export %s is logged as merged.\n", home.Export)
			return nil
		}
		if home.Agrees() {
			a.printf("Nothing was logged: the file does not name its export. If the office has merged it: %s log merged --export EXPORT\n", a.name)
			return nil
		}
		a.println("Nothing was logged. Settle the differences, or take it as it is with --accept (the file must name its export).")
		return nil
	})
}

func (a *app) homecoming(home member.Homecoming) {
	a.printf("%s agree with the field.\n", plural(home.Same, "row"))
	for _, d := range home.Differences {
		where := "not in the file"
		if d.Row > 0 {
			where = fmt.Sprintf("row %d", d.Row)
		}
		a.println(a.warn(fmt.Sprintf("%s: %s %s", where, d.Tag, d.Words)))
	}
}

type verifyCmd struct {
	File string `arg:"" optional:"" help:"A bundle, or the folder of a handover pack; this site's own files unless given."`
}

func (verifyCmd) Help() string {
	return "Example: pairwalk verify\n         pairwalk verify site.pairwalk\n         pairwalk verify harbour-pack\n\nReads the files as they are, before any repair, and checks every signature. " +
		"A pack is checked on any machine: its checksums, the log in it, and every page against the one that follows from that log."
}

func (c *verifyCmd) Run(a *app) error {
	switch {
	case c.File != "" && isFolder(c.File):
		return a.verifyPack(c.File)
	case c.File != "":
		return c.bundle(a)
	}
	h, err := a.home()
	if err != nil {
		return err
	}
	info, report, err := verifyTwice(h, a.cli.Site)
	if err != nil {
		return err
	}
	lines, problems := 0, []string{}
	for _, s := range report.Strands {
		lines += s.Lines
	}
	for _, p := range report.Problems {
		problems = append(problems, p.String())
	}
	if a.cli.JSON {
		if err := a.printJSON(map[string]any{"v": member.AnswerVersion, "site": info.Name, "entries": lines, "feeds": len(report.Strands), "problems": problems, "kept_aside": texts(report.Aside)}); err != nil {
			return err
		}
	} else {
		a.printf("%s: %s in %s, every signature checked.\n", info.Name, plural(lines, "entry"), plural(len(report.Strands), "file"))
		for _, p := range problems {
			a.println(a.warn(p))
		}
		for _, f := range report.Aside {
			a.printf("kept aside by an earlier repair: %s\n", f)
		}
	}
	if len(problems) > 0 {
		return errors.New("the log is damaged in places; take in a bundle from a colleague, which heals it")
	}
	return nil
}

// verifyTwice reads the files, and once more where something seems wrong: what is
// being written just now may look torn, and a second reading does not find the
// same again.
func verifyTwice(h *member.Home, site string) (member.SiteInfo, journal.Report, error) {
	info, first, err := h.Verify(site)
	if err != nil || len(first.Problems) == 0 {
		return info, first, err
	}
	info, report, err := h.Verify(site)
	report.Problems = slices.DeleteFunc(report.Problems, func(p journal.Problem) bool { return !slices.Contains(first.Problems, p) })
	return info, report, err
}

func (c *verifyCmd) bundle(a *app) error {
	f, err := a.file(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	b, err := bundle.Read(f)
	if err != nil {
		return fmt.Errorf("%s: %w", called(c.File), err)
	}
	if a.cli.JSON {
		return a.printJSON(map[string]any{"v": member.AnswerVersion, "site": b.Name, "practice": b.Practice, "maker": b.MakerName, "made": b.Made.Wall.At.String(), "excerpt": b.Excerpt(), "feeds": b.Count.Feeds, "entries": b.Count.Lines, "holes": b.Count.Holes, "problems": []string{}})
	}
	a.printf("%s is whole: %s of %s from the log of %s, made by %s%s.\n", called(c.File), plural(b.Count.Lines, "entry"), plural(b.Count.Feeds, "feed"), b.Name, b.MakerName, madeAt(b.Manifest))
	if b.Count.Holes > 0 {
		a.printf("%s that its maker lacked are marked as such.\n", plural(b.Count.Holes, "entry"))
	}
	return nil
}

func madeAt(m bundle.Manifest) string {
	if m.Excerpt() {
		return " for a handover pack, maybe of an earlier moment"
	}
	return " at " + m.Made.Wall.At.String()
}
