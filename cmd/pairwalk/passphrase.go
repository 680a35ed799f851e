package main

import (
	"errors"
	"fmt"

	"pairwalk/syncd/member"
)

type keysCmd struct {
	Show   keysShowCmd  `cmd:"" default:"1" help:"Say whether this site's keys are locked."`
	Set    keysLockCmd  `cmd:"" help:"Lock this site's keys with a passphrase, or with another one."`
	Remove keysClearCmd `cmd:"" help:"Leave this site's keys in the clear."`
}

func (keysCmd) Help() string {
	return "Example: pairwalk passphrase set\n\n" + passphraseHelp
}

const passphraseHelp = "Your keys on this device are what makes an entry yours. Under a passphrase, whoever takes the device or a copy of its files can't sign with them; the log itself can still be read. " +
	"The passphrase is asked for at the terminal, or taken from the first line of the file that " + passphraseFile + " names, for a service that starts by itself: then that file is the key, so keep it where the device's files are not. " +
	"While pairwalk serve runs, other commands don't ask."

type keysShowCmd struct{}

func (keysShowCmd) Run(a *app) error {
	h, err := a.home()
	if err != nil {
		return err
	}
	info, err := h.Find(a.cli.Site)
	if err != nil {
		return err
	}
	if a.cli.JSON {
		return a.keysJSON(info)
	}
	if info.Locked {
		a.printf("Your keys of %s are locked with a passphrase on this device.\n", info.Name)
		return nil
	}
	a.printf("Your keys of %s are in the clear on this device, for your account alone. To lock them:\n  %s passphrase set\n", info.Name, a.name)
	return nil
}

type keysLockCmd struct {
	New  string `help:"Take the new passphrase from the first line of this file; asked for at the terminal unless given." placeholder:"FILE"`
	Work int    `default:"18" help:"How much a guess costs, from 15 to 20: 18 takes about a second and 256 MiB to open, one less halves both."`
}

func (keysLockCmd) Help() string {
	return "Example: pairwalk passphrase set\n\nAsks for the passphrase there is, if there is one, and twice for the new one. If you forget it, join again by a new invite, or by the recovery sheet. " +
		"The file with the clear keys is replaced and gone, but nobody can promise that of the disk: old blocks, snapshots and backups may hold it still. Where that matters, set the passphrase right after joining; or have a lead revoke you, and join anew."
}

// workLeast is the least work that the command locks with.
const workLeast = 15

func (c *keysLockCmd) Run(a *app) error {
	if c.Work < workLeast || c.Work > int(member.MostWork) {
		return usef("--work is from %d to %d", workLeast, member.MostWork)
	}
	h, err := a.home()
	if err != nil {
		return err
	}
	before, err := h.Unlock(a.cli.Site)
	if err != nil {
		return err
	}
	text, err := c.passphrase(a, before)
	if err != nil {
		return err
	}
	info, err := h.SetPassphrase(a.cli.Site, text, member.Work(c.Work))
	if err != nil {
		return err
	}
	if a.cli.JSON {
		return a.keysJSON(info)
	}
	if before.Locked {
		a.printf("The passphrase of your keys of %s is changed.\n", info.Name)
		a.println("Copies made before, such as backups, still open with the old one.")
		return nil
	}
	a.printf("Your keys of %s are locked on this device; opening the site asks for the passphrase.\n", info.Name)
	a.println("If you forget it, nobody can open them: you would join again by a new invite.")
	a.println("The clear file is gone; old disk blocks, snapshots and backups may still hold it.")
	return nil
}

// passphrase is the new one, from the file or typed twice.
func (c *keysLockCmd) passphrase(a *app, site member.SiteInfo) (string, error) {
	if c.New != "" {
		text, err := secretIn(c.New)
		if err != nil {
			return "", fmt.Errorf("take the new passphrase: %w", err)
		}
		return text, nil
	}
	text, err := a.ask(fmt.Sprintf("New passphrase for the keys of %s: ", oneLine(site.Name)))
	if errors.Is(err, errNoTerminal) {
		return "", errors.New("there is no terminal to ask for the new passphrase at; run this at one, or give a file that holds it with --new FILE")
	}
	if err != nil {
		return "", err
	}
	again, err := a.ask("The same again: ")
	if err != nil {
		return "", err
	}
	if text != again {
		return "", errors.New("the two are not the same; nothing was changed")
	}
	return text, nil
}

type keysClearCmd struct{}

func (keysClearCmd) Help() string {
	return "Example: pairwalk passphrase remove\n\nAsks for the passphrase, and leaves the keys in the clear, for your account alone."
}

func (keysClearCmd) Run(a *app) error {
	h, err := a.home()
	if err != nil {
		return err
	}
	info, err := h.RemovePassphrase(a.cli.Site)
	if err != nil {
		return err
	}
	if a.cli.JSON {
		return a.keysJSON(info)
	}
	a.printf("Your keys of %s have no passphrase any more: whoever can read this device's files can sign as you.\n", info.Name)
	return nil
}

func (a *app) keysJSON(info member.SiteInfo) error {
	return a.printJSON(map[string]any{"v": member.AnswerVersion, "site": info})
}

// keysWord says how a member's keys are kept.
func keysWord(s member.SiteInfo) string {
	if s.Locked {
		return "locked"
	}
	return "clear"
}

// keysWords tells whoever is new on a site how their keys are kept.
func (a *app) keysWords() {
	a.printf("\nYour keys are in the clear on this device; %s passphrase set locks them.\n", a.name)
}
