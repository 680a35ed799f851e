package main

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
	"pairwalk/projection/walk"
	"pairwalk/syncd/member"
)

type settleCmd struct {
	Hub []string `arg:"" optional:"" help:"Which hubs; all unless given."`
}

func (settleCmd) Help() string {
	return "Example: pairwalk settle H2\n\nThe answer holds as far as this device has heard, and says from whom it has not."
}

func (c *settleCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		ids := make([]events.HubID, len(c.Hub))
		for i, h := range c.Hub {
			ids[i] = events.HubID(h)
		}
		js, err := m.Settle(ids...)
		if err != nil {
			return err
		}
		s := m.Now()
		doc := member.SettleOf(s, js)
		if a.cli.JSON {
			return a.printJSON(doc)
		}
		for _, j := range doc {
			a.verdict(j)
		}
		if len(doc) == 0 {
			a.println("No hub is on the schedule yet.")
		}
		return nil
	})
}

// verdict prints one hub's judgement: what may be done, then why.
func (a *app) verdict(j member.SettleAnswer) {
	a.printf("%s  %s\n", a.bold(j.Hub), verdictWords(j))
	for _, r := range j.Reasons {
		if r.Kind != string(settle.Unheard) { // told below, with what to log
			a.printf("    %s\n", r.Words)
		}
	}
	for _, x := range j.Ask {
		since := "not heard yet"
		if x.Since != "" {
			since = "not heard since " + short(x.Since)
		}
		a.printf("    ask %s (%s): paired anything on %s?  Then: %s log asked %s %s --last none\n", x.Member, since, j.Hub, a.name, quoted(x.Member), j.Hub)
	}
	if j.Verdict == string(settle.Ready) {
		a.printf("    %s\n", walk.CautionPush)
	}
}

func verdictWords(j member.SettleAnswer) string {
	switch settle.Verdict(j.Verdict) {
	case settle.Ready:
		return "push may go, as far as this device has heard"
	case settle.Wait:
		return "wait until " + clockTime(j.At)
	case settle.Ask:
		return "ask first"
	case settle.Blocked:
		return "not yet"
	}
	return "nothing to push"
}

func clockTime(rfc string) string {
	if len(rfc) < 19 {
		return rfc
	}
	return rfc[11:19]
}

// quoted puts quotes around what a shell would split.
func quoted(s string) string {
	if strings.ContainsAny(s, " '\"$&;()~*?<>|") {
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return s
}

type nextCmd struct {
	All int `default:"5" help:"How many suggestions." placeholder:"N"`
}

func (nextCmd) Help() string { return "Example: pairwalk next" }

func (c *nextCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		steps := m.Next()
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "steps": member.StepsOf(steps)})
		}
		if len(steps) == 0 {
			a.println("Nothing to do that this log knows of.")
			return nil
		}
		a.steps(steps[:min(len(steps), max(1, c.All))])
		if n := len(steps) - c.All; n > 0 {
			a.println(a.dim(fmt.Sprintf("(and %d more; --all %d lists them)", n, len(steps))))
		}
		return nil
	})
}

func (a *app) steps(steps []walk.Step) {
	for i, x := range steps {
		line := fmt.Sprintf("%s %s", x.Act, x.Subject.Words())
		if x.How != "" {
			line += " by " + string(x.How)
		}
		if i == 0 {
			line = a.bold(line)
		}
		a.printf("%d  %s: %s\n", i+1, line, x.Why)
		for _, c := range x.Cautions {
			a.printf("     %s\n", a.warn(c))
		}
	}
}

type leaveCmd struct {
	Floor string `arg:"" help:"Which floor."`
}

func (leaveCmd) Help() string { return "Example: pairwalk leave 3" }

func (c *leaveCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		steps, err := m.Leave(events.FloorID(c.Floor))
		if err != nil {
			return err
		}
		unsent := m.Unsent()
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "steps": member.StepsOf(steps), "unsent": unsent})
		}
		if len(steps) == 0 {
			a.printf("Floor %s has nothing open that this log knows of.\n", c.Floor)
		} else {
			a.printf("Before you leave floor %s:\n", c.Floor)
			a.steps(steps)
		}
		if unsent > 0 {
			a.printf("\n%s of yours on this device only; meet somebody or carry a bundle: %s bundle out FILE\n", plural(unsent, "entry"), a.name)
		}
		a.println("Are any ceilings about to close here?")
		return nil
	})
}

type conflictsCmd struct{ momentFlags }

func (conflictsCmd) Help() string { return "Example: pairwalk conflicts" }

func (c *conflictsCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		moment, err := c.moment(a, m)
		if err != nil {
			return err
		}
		s := m.At(moment)
		doc := member.StatusOf(s)
		if a.cli.JSON {
			return a.printJSON(map[string]any{"v": member.AnswerVersion, "conflicts": doc.Conflicts, "anomalies": doc.Anomalies, "quarantined": quarantined(s)})
		}
		a.conflicts(doc)
		a.oddities(s)
		return nil
	})
}

func (a *app) conflicts(doc member.StatusAnswer) {
	if len(doc.Conflicts) == 0 {
		a.println("No conflict stands.")
	}
	for _, c := range doc.Conflicts {
		a.printf("%s\n  %s\n  stands meanwhile: %s\n", a.bold(c.Key), c.Why, c.Stands)
		for i, o := range c.Offers {
			a.printf("  %d  %s\n", i+1, o.Words)
		}
		pick := ""
		if len(c.Offers) > 0 {
			pick = " --stands 1"
		}
		a.printf("  %s resolve %s%s --why \"…\"\n", a.name, quoted(c.Key), pick)
	}
}

func (a *app) oddities(s *projection.Site) {
	if len(s.Anomalies) > 0 {
		a.printf("\n%s\n", a.bold("entries that make no sense where they stand"))
	}
	for _, x := range s.Anomalies {
		a.printf("  %s  %s %s  (%s, by %s)\n", entryID(x.Event), x.Subject.Words(), x.Why, member.Words(s, x.Event), s.DoneBy(x.Event))
	}
	if len(s.Quarantined) > 0 {
		a.printf("\n%s\n", a.bold("kept, and not counted"))
	}
	for _, x := range s.Quarantined {
		a.printf("  %s  %s: %s\n", entryID(x.Event), member.Words(s, x.Event), x.Why)
	}
}

// doubt is an entry in quarantine, as a document.
type doubt struct {
	Event string `json:"event"`
	Kind  string `json:"kind"`
	Why   string `json:"why"`
}

func quarantined(s *projection.Site) []doubt {
	out := []doubt{}
	for _, x := range s.Quarantined {
		out = append(out, doubt{x.Ref().String(), string(x.Event.Kind()), x.Why})
	}
	return out
}

type resolveCmd struct {
	Key    string `arg:"" help:"The conflict's key, or the start of it."`
	Stands string `help:"Which of its offers stands: its number or value." placeholder:"N"`
	Why    string `required:"" help:"How you know."`
}

func (resolveCmd) Help() string {
	return "Example: pairwalk resolve paired-twice:2-114 --stands 1 --why \"asked Bo, label read again\""
}

func (c *resolveCmd) Run(a *app) error {
	return a.withMember(func(m *member.Member) error {
		e, err := m.Resolve(a.ctx, c.Key, c.Stands, c.Why)
		if err != nil {
			return err
		}
		return a.said(m, e)
	})
}
