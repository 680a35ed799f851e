package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/alecthomas/kong"
	"golang.org/x/term"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1 // refused, or it did not work
	exitUse    = 2 // used wrongly
)

// surroundings is what a process gives the command.
type surroundings struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	env            func(string) string
	now            func() events.Stamp
	name           string // how the command was called, for examples to paste
	tty            bool   // stdout is a terminal
	files          files
	host           *host  // the serving process that runs the command; nil: it runs by itself
	secret         secret // asks at the terminal; nil: there is none
	whole          bool   // read all of the log, also where a part would do; for trials
}

func process() surroundings {
	name := "pairwalk"
	if strings.Contains(os.Args[0], "go-build") {
		name = "go run ./cmd/pairwalk"
	}
	return surroundings{os.Stdin, os.Stdout, os.Stderr, os.Getenv, deviceStamp, name, term.IsTerminal(int(os.Stdout.Fd())), disk{}, nil, askTerminal, false}
}

// cli is every command and flag.
type cli struct {
	Home string `help:"Folder of this installation." placeholder:"DIR" env:"PAIRWALK_HOME"`
	Site string `help:"Which site, where this home has several." placeholder:"NAME"`
	From string `name:"bundle" help:"Ask the log in this bundle, or in a handover pack, instead of one of this home. It can only be read." placeholder:"FILE"`
	JSON bool   `name:"json" help:"Print one JSON document."`

	Init      initCmd      `cmd:"" group:"site" help:"Open a site, with you as its lead."`
	Sites     sitesCmd     `cmd:"" group:"site" help:"List the sites of this home."`
	Set       setCmd       `cmd:"" group:"site" help:"Show or change the site's settings."`
	Invite    inviteCmd    `cmd:"" group:"site" help:"Let one new member in."`
	Join      joinCmd      `cmd:"" group:"site" help:"Join a site by an invite."`
	Recover   recoverCmd   `cmd:"" group:"site" help:"Become lead again by the recovery sheet."`
	Keys      keysCmd      `cmd:"" name:"passphrase" group:"site" help:"Lock your keys on this device: set, change or remove a passphrase."`
	Members   membersCmd   `cmd:"" group:"site" help:"The team: list, admit, revoke, assign."`
	Import    importCmd    `cmd:"" group:"plan" help:"Take in a schedule, floors, walls, links, a survey or a field sheet."`
	Channels  channelsCmd  `cmd:"" group:"plan" help:"A radio channel for every hub, so that neighbours disturb each other least."`
	Walk      walkCmd      `cmd:"" group:"plan" help:"Everybody's whole job, from the first hub to the finish."`
	Log       logCmd       `cmd:"" group:"field" help:"Record what happened in the field."`
	Void      voidCmd      `cmd:"" group:"field" help:"Withdraw an entry."`
	Correct   correctCmd   `cmd:"" group:"field" help:"Put an entry right, at its original time."`
	Next      nextCmd      `cmd:"" group:"field" help:"What I could usefully do now."`
	Leave     leaveCmd     `cmd:"" group:"field" help:"What to do before leaving a floor."`
	Reach     reachCmd     `cmd:"" group:"ask" help:"Who has a path home, and what it hangs on."`
	Settle    settleCmd    `cmd:"" group:"ask" help:"May a hub be pushed, and why not yet?"`
	Status    statusCmd    `cmd:"" group:"ask" help:"The state of the site, now or at any moment."`
	Show      showCmd      `cmd:"" group:"ask" help:"Everything known of one subject."`
	Checks    checksCmd    `cmd:"" group:"ask" help:"Which functional checks are owed, and what came of them."`
	Faults    faultsCmd    `cmd:"" group:"ask" help:"What is broken, how bad, and who has it."`
	History   historyCmd   `cmd:"" group:"ask" help:"The entries, of one subject or all."`
	Pictures  picturesCmd  `cmd:"" group:"ask" help:"The photos and drawings, and which of them are here."`
	Changes   changesCmd   `cmd:"" group:"ask" help:"What differs between two moments, what did it, and who knew."`
	Explain   explainCmd   `cmd:"" group:"ask" help:"What would explain a complaint, likeliest first."`
	Conflicts conflictsCmd `cmd:"" group:"ask" help:"What contradicts itself."`
	Resolve   resolveCmd   `cmd:"" group:"ask" help:"Settle a conflict."`
	Merge     mergeCmd     `cmd:"" group:"carry" help:"Bring the records home to the office."`
	Bundle    bundleCmd    `cmd:"" group:"carry" help:"Carry the log in one file."`
	Handover  handoverCmd  `cmd:"" group:"carry" help:"Write the owner's pack."`
	Verify    verifyCmd    `cmd:"" group:"carry" help:"Prove the log, a bundle, or a handover pack."`
	Serve     serveCmd     `cmd:"" group:"carry" help:"Keep the site open and exchange with whoever is met."`
	Sync      syncCmd      `cmd:"" group:"carry" help:"Exchange with others once, until both hold the same."`
	Relay     relayCmd     `cmd:"" group:"carry" help:"An office's member for many sites, which others call at."`
	Doctor    doctorCmd    `cmd:"" group:"more" help:"Is this installation well, and what to do about what is not."`
	Demo      demoCmd      `cmd:"" group:"more" help:"A made-up job, end to end."`
	Complete  completeCmd  `cmd:"" group:"more" help:"Print the line that makes your shell complete commands."`
}

var groups = kong.ExplicitGroups([]kong.Group{
	{Key: "site", Title: "The site and its people"},
	{Key: "plan", Title: "Before the walk"},
	{Key: "field", Title: "In the field"},
	{Key: "ask", Title: "Questions"},
	{Key: "carry", Title: "Carrying the log"},
	{Key: "more", Title: "More"},
})

const about = "The field log of a lighting-controls commissioning team. Every field action is an entry that nobody can lose; every question can be asked of any moment.\n\n" + notPermit

// app is what a command works with.
type app struct {
	surroundings
	ctx   context.Context
	args  []string // as they were given
	cli   *cli
	world member.World
	about []string // names that are all there is to know of; empty: whatever there is
}

// run parses the arguments, runs the command, and returns the exit code.
func run(ctx context.Context, args []string, s surroundings) int {
	out := &output{to: s.stdout}
	s.stdout = out
	a := &app{surroundings: s, ctx: ctx, args: args, cli: &cli{}}
	var exited *int
	parser, err := kong.New(a.cli, kong.Name("pairwalk"), kong.Description(about), groups,
		kong.Writers(s.stdout, s.stderr), kong.Exit(func(code int) { exited = &code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}), kong.Bind(a))
	if err != nil {
		fmt.Fprintln(s.stderr, "pairwalk:", err)
		return exitFailed
	}
	if done, err := a.completing(parser); done {
		return a.report(err)
	}
	parsed, err := parser.Parse(minusJoined(args))
	if exited != nil {
		return *exited
	}
	if err != nil {
		fmt.Fprintf(s.stderr, "pairwalk: %s\n", err)
		fmt.Fprintln(s.stderr, "  pairwalk --help lists the commands; add --help to one for its own.")
		return exitUse
	}
	if a.world, err = newWorld(s); err == nil || parsed.Command() == "doctor" { // who tells what is wrong with the clock
		a.world.Passphrase = a.passphrase
		err = asText(parsed, args)
	}
	if err == nil {
		err = parsed.Run(a)
	}
	var elsewhere passedOn
	if errors.As(err, &elsewhere) {
		if out.failed == nil {
			return int(elsewhere)
		}
		err = nil // told already, over there
	}
	return a.report(errors.Join(err, out.err()))
}

// asText refuses arguments that are no text, which would go into the log changed.
// The name of a file may be any bytes.
func asText(parsed *kong.Context, args []string) error {
	named := slices.ContainsFunc(parsed.Selected().Positional, func(p *kong.Positional) bool { return p.Name == "file" })
	bad := slices.IndexFunc(args, func(arg string) bool { return !utf8.ValidString(arg) })
	if named || bad < 0 {
		return nil
	}
	return usef("%q is not valid UTF-8 text; type it again, or set the terminal to UTF-8", args[bad])
}

// output remembers whether what the command printed got through: somebody may
// rely on reading it.
type output struct {
	to     io.Writer
	failed error
}

func (o *output) Write(b []byte) (int, error) {
	n, err := o.to.Write(b)
	if err != nil && o.failed == nil {
		o.failed = err
	}
	return n, err
}

func (o *output) err() error {
	if o.failed == nil {
		return nil
	}
	return fmt.Errorf("what was printed did not get through: %w; what was recorded before that stands", o.failed)
}

// minusJoined lets a value such as -2h or -71 follow its flag, and a setting be a
// number below zero: without an equals sign, or two minus signs before it, either
// would read as a flag of its own.
func minusJoined(args []string) []string {
	var out, last []string
	for i := 0; i < len(args); i++ {
		switch args[i] {
		case "--at", "--known-at", "--when", "--from", "--to", "--last", "--rssi", "--with-relay":
			if i+1 < len(args) && minus(args[i+1]) {
				out = append(out, args[i]+"="+args[i+1])
				i++
				continue
			}
		}
		if minus(args[i]) && slices.Contains(out, "changes") {
			out = append(out, trueMinus+args[i][1:])
			continue
		}
		if minus(args[i]) && slices.Contains(out, "set") {
			last = []string{"--", args[i]}
			continue
		}
		out = append(out, args[i])
	}
	return append(out, last...)
}

// trueMinus stands before a time such as -2h where a hyphen would read as a flag.
const trueMinus = "−"

// minus says whether text is a minus sign with a digit behind it.
func minus(s string) bool { return len(s) > 1 && s[0] == '-' && s[1] >= '0' && s[1] <= '9' }

// wrongUse is an error of the user's call rather than of the work.
type wrongUse struct{ error }

func usef(format string, args ...any) error { return wrongUse{fmt.Errorf(format, args...)} }

func (a *app) report(err error) int {
	if err == nil {
		return exitDone
	}
	fmt.Fprintf(a.stderr, "pairwalk: %s\n", err)
	a.makeRoom(err)
	var use wrongUse
	if errors.As(err, &use) {
		return exitUse
	}
	return exitFailed
}

func (a *app) homeDir() (string, error) {
	if a.cli.Home != "" {
		return a.cli.Home, nil
	}
	base, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("find a home folder: %w; say where with --home DIR", err)
	}
	return filepath.Join(base, "pairwalk"), nil
}

func (a *app) home() (*member.Home, error) {
	if err := a.notReading(); err != nil {
		return nil, err
	}
	dir, err := a.homeDir()
	if err != nil {
		return nil, err
	}
	if err := makeHome(dir); err != nil {
		return nil, fmt.Errorf("make home folder: %w", err)
	}
	return member.NewHome(journal.Dir(dir), a.world), nil
}

// withMember opens the site, does the work, and closes it. In a serving process it
// works with the one that is open. Where the disk is full the work may still read.
func (a *app) withMember(work func(*member.Member) error) error {
	return a.withSite(work, a.looking)
}

// withSite does that, and hands a site that its full disk keeps from being opened
// to instead.
func (a *app) withSite(work func(*member.Member) error, instead func(*member.Home, error, func(*member.Member) error) error) error {
	if a.cli.From != "" {
		m, err := a.reading()
		if err != nil {
			return err
		}
		return errors.Join(work(m), m.Close())
	}
	if a.host != nil { // which told what was wrong with the files when it opened them
		return work(a.host.m)
	}
	h, err := a.home()
	if err != nil {
		return err
	}
	m, err := a.open(h)
	if diskFull(err) {
		return instead(h, err, work)
	}
	if err != nil {
		return err
	}
	a.problems(m)
	err = work(m)
	closed := m.Close()
	if err == nil && diskFull(closed) { // which takes nothing of what was recorded
		fmt.Fprintln(a.stderr, "pairwalk: note: the disk is full now: what was recorded is safe, and nothing more will be until there is room")
		return nil
	}
	return errors.Join(err, closed)
}

func (a *app) problems(m *member.Member) {
	for _, p := range m.Problems() {
		fmt.Fprintf(a.stderr, "pairwalk: note: %s\n", p)
	}
}

// momentFlags ask a view of the past.
type momentFlags struct {
	At      string `help:"As of when: 14:05, yesterday 17:00, -2h, or RFC 3339." placeholder:"TIME"`
	KnownBy string `help:"As known to this member." placeholder:"MEMBER"`
	KnownAt string `help:"With --known-by: as they knew it at this time." placeholder:"TIME"`
}

func (f momentFlags) moment(a *app, m *member.Member) (projection.Moment, error) {
	var out projection.Moment
	if f.At != "" {
		at, err := a.parseMoment(m, f.At)
		if err != nil {
			return out, err
		}
		out.When = events.Some(at)
	}
	if f.KnownAt != "" && f.KnownBy == "" {
		return out, usef("--known-at goes with --known-by MEMBER: whose knowledge?")
	}
	if f.KnownBy == "" {
		return out, nil
	}
	who, err := m.Person(f.KnownBy)
	if err != nil {
		return out, err
	}
	out.Known.Member = who.Key
	if f.KnownAt != "" {
		at, err := a.parseMoment(m, f.KnownAt)
		if err != nil {
			return out, err
		}
		out.Known.At = events.Some(at)
	}
	return out, nil
}

func (a *app) parseMoment(m *member.Member, text string) (events.Instant, error) {
	return intake.ParseMoment(text, a.today(m), m.Now().Location())
}

// today is now in the site's zone.
func (a *app) today(m *member.Member) time.Time {
	return a.world.Now().Wall.At.Time().In(m.Now().Location())
}

// printLine prints one document on a line of its own, of several.
func (a *app) printLine(doc any) error { return json.NewEncoder(a.stdout).Encode(doc) }

// printJSON prints one document.
func (a *app) printJSON(doc any) error {
	enc := json.NewEncoder(a.stdout)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(doc)
}
