package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"

	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
	"pairwalk/syncd/member"
)

type importCmd struct {
	File    string `arg:"" help:"A CSV or XLSX file: schedule, floors, walls, links, Wi-Fi survey or field sheet. Its header row says which. FILE.xlsx#NAME takes that sheet of a workbook. - is standard input."`
	DryRun  bool   `help:"Only show what it would change."`
	Partial bool   `help:"Take the good rows and leave the bad ones."`
	Renames bool   `help:"Accept the renames it suggests."`
	Strikes bool   `help:"Accept the strikes it suggests."`
	Day     string `help:"Date of a sheet's bare times, such as 2026-03-02." placeholder:"DATE"`
}

func (importCmd) Help() string {
	return "Example: pairwalk import schedule.csv --dry-run\n\n" +
		"The first row names the columns; these are needed:\n\n" +
		"  schedule      tag, kind, hub\n" +
		"  floors        floor, level\n" +
		"  walls         floor, material, thickness_mm, points (x y; x y; … in metres)\n" +
		"  links         a, b, and any of rssi_dbm, pdr (0.93 or 93 %), lqi: how well b heard a\n" +
		"  Wi-Fi survey  floor, x_m, y_m, channel, rssi_dbm: a row for each access point\n" +
		"  field sheet   tag, what, when\n\n" +
		"Of a workbook, the first sheet with such a row is taken, and the others are named; take one of them with FILE.xlsx#NAME. " +
		"What would change is shown first; nothing is taken unless every row is good, or --partial. " +
		"The same file again changes nothing, except a field sheet, which is logged again."
}

func (c *importCmd) Run(a *app) error {
	if err := a.notReading(); err != nil && !c.DryRun {
		return err
	}
	return a.withMember(func(m *member.Member) error {
		plan, err := c.plan(a, m)
		if err != nil {
			return err
		}
		if !a.cli.JSON {
			c.show(a, plan)
		}
		if c.DryRun {
			return c.done(a, m, plan, 0)
		}
		before := m.Now()
		bar := a.progress(-1, "writing")
		evs, err := m.Import(a.ctx, plan, intake.Accept{Renames: c.Renames, Strikes: c.Strikes}, c.Partial)
		_ = bar.Finish()
		if err != nil {
			return err
		}
		if err := c.done(a, m, plan, len(evs)); err != nil || a.cli.JSON {
			return err
		}
		x := member.MarksOf(before, m.Now(), evs)
		x.Cautions = nil
		a.marked(x)
		return nil
	})
}

func (c *importCmd) plan(a *app, m *member.Member) (member.Plan, error) {
	var day time.Time
	if c.Day != "" {
		d, err := time.Parse(time.DateOnly, c.Day)
		if err != nil {
			return member.Plan{}, usef("--day %q is not a date like 2026-03-02", c.Day)
		}
		day = d
	}
	name, table := c.split()
	f, err := a.file(name)
	if err != nil {
		return member.Plan{}, err
	}
	defer f.Close()
	plan, err := readSheet(m, f, table, day)
	if err != nil {
		return member.Plan{}, fmt.Errorf("%s: %w", called(c.File), err)
	}
	return plan, nil
}

// readSheet reads a file, or a table of it. A workbook is known by what is in it
// and not by its name.
func readSheet(m *member.Member, f io.Reader, table string, day time.Time) (member.Plan, error) {
	data, err := io.ReadAll(io.LimitReader(f, intake.MaxBytes+1))
	if err != nil {
		return member.Plan{}, err
	}
	if !workbook.Is(data) && table == "" {
		return m.Sheet(bytes.NewReader(data), day)
	}
	tables, err := workbook.Read(data)
	if err != nil {
		return member.Plan{}, err
	}
	if table != "" {
		t, err := workbook.Named(tables, table)
		if err != nil {
			return member.Plan{}, err
		}
		tables = []intake.Table{t}
	}
	return m.Tables(tables, day)
}

// split parts FILE.xlsx#NAME. Any other file may be called what it likes.
func (c *importCmd) split() (file, table string) {
	for i, x := range c.File {
		if ext := strings.ToLower(filepath.Ext(c.File[:i])); x == '#' && (ext == ".xlsx" || ext == ".xlsm") {
			return c.File[:i], c.File[i+1:]
		}
	}
	return c.File, ""
}

// show prints what the file would change, and which rows are bad.
func (c *importCmd) show(a *app, plan member.Plan) {
	what := "good row"
	if plan.Sheet.Kind == intake.Survey {
		what = "place"
	}
	of := called(c.File)
	if plan.Sheet.Table != "" {
		of = fmt.Sprintf("Sheet %q of %s", plan.Sheet.Table, of)
	}
	a.printf("%s is a %s with %s.\n", of, plan.Sheet.Kind, plural(len(plan.Sheet.Rows), what))
	if plan.Sheet.Kind != intake.FieldSheet {
		a.changes(strings.Split(strings.TrimSpace(plan.Diff.String()), "\n"), c.DryRun)
	}
	for _, n := range plan.Sheet.Notes {
		a.printf("note: %s\n", n)
	}
	for _, p := range plan.Problems() {
		a.println(a.warn(p.String()))
	}
}

// changes prints what would change; all of it only where nothing is taken.
func (a *app) changes(lines []string, all bool) {
	const most = 12
	for i, line := range lines {
		if i == most && !all {
			a.println(a.dim(fmt.Sprintf("… and %d more; --dry-run lists them all", len(lines)-most)))
			return
		}
		a.println(line)
	}
}

func (c *importCmd) done(a *app, m *member.Member, plan member.Plan, taken int) error {
	if a.cli.JSON {
		doc := plan.Answer(m.Now())
		doc.DryRun, doc.Taken = c.DryRun, taken
		return a.printJSON(doc)
	}
	if c.DryRun {
		a.println("Nothing was taken: this was a dry run.")
		return nil
	}
	a.printf("%s recorded.\n", plural(taken, "entry"))
	return nil
}

// progress draws how far a long piece of work has come, on a terminal only.
func (a *app) progress(of int, what string) *progressbar.ProgressBar {
	return progressbar.NewOptions(of,
		progressbar.OptionSetWriter(a.stderr),
		progressbar.OptionSetDescription(what),
		progressbar.OptionSetVisibility(a.tty && !a.cli.JSON),
		progressbar.OptionSetItsString("entries"),
		progressbar.OptionClearOnFinish(),
		progressbar.OptionThrottle(200*time.Millisecond))
}
