package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"

	"pairwalk/events/intake"
	"pairwalk/syncd/member"
)

type importCmd struct {
	File    string `arg:"" help:"A CSV file: schedule, floors or field sheet. Its header row says which. - is standard input."`
	DryRun  bool   `help:"Only show what it would change."`
	Partial bool   `help:"Take the good rows and leave the bad ones."`
	Renames bool   `help:"Accept the renames it suggests."`
	Strikes bool   `help:"Accept the strikes it suggests."`
	Day     string `help:"Date of a field sheet's bare times, such as 2026-03-02." placeholder:"DATE"`
}

func (importCmd) Help() string {
	return "Example: pairwalk import schedule.csv --dry-run\n\nA schedule needs the columns tag, kind and hub. What would change is shown first; nothing is taken unless every row is good, or --partial."
}

func (c *importCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		plan, err := c.plan(a, m)
		if err != nil {
			return err
		}
		if !a.cli.JSON {
			c.show(a, plan)
		}
		if c.DryRun {
			return c.done(a, plan, 0)
		}
		before := m.Now()
		bar := a.progress(-1, "writing")
		evs, err := m.Import(a.ctx, plan, intake.Accept{Renames: c.Renames, Strikes: c.Strikes}, c.Partial)
		_ = bar.Finish()
		if err != nil {
			return err
		}
		if err := c.done(a, plan, len(evs)); err != nil || a.cli.JSON {
			return err
		}
		x := broken(before, m.Now(), evs)
		x.cautions = nil
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
	f, err := a.file(c.File)
	if err != nil {
		return member.Plan{}, err
	}
	defer f.Close()
	plan, err := m.Sheet(f, day)
	if err != nil {
		return member.Plan{}, fmt.Errorf("%s: %w", called(c.File), err)
	}
	return plan, nil
}

// show prints what the file would change, and which rows are bad.
func (c *importCmd) show(a *app, plan member.Plan) {
	a.printf("%s is a %s with %s.\n", called(c.File), plan.Sheet.Kind, plural(len(plan.Sheet.Rows), "good row"))
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

func (c *importCmd) done(a *app, plan member.Plan, taken int) error {
	if a.cli.JSON {
		problems := []string{}
		for _, p := range plan.Problems() {
			problems = append(problems, p.String())
		}
		return a.printJSON(map[string]any{
			"v": member.AnswerVersion, "kind": plan.Sheet.Kind, "taken": taken, "dry_run": c.DryRun,
			"adds": len(plan.Diff.Adds), "amends": len(plan.Diff.Amends), "renames": len(plan.Diff.Renames),
			"strikes": len(plan.Diff.Strikes), "same": plan.Diff.Same, "problems": problems,
		})
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
