package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"

	"golang.org/x/term"

	"pairwalk/syncd/member"
)

// passphraseFile names a file whose first line is the passphrase, for a process that
// nobody sits at. The passphrase itself is taken from no argument and no environment
// value: both are shown to other processes, and end up in histories and reports.
const passphraseFile = "PAIRWALK_PASSPHRASE_FILE"

const secretMost = 4 << 10 // bytes of a secret's line

// secret asks a person for what must not be shown.
type secret func(ctx context.Context, prompt string) (string, error)

// errNoTerminal means that nobody can be asked.
var errNoTerminal = errors.New("there is no terminal")

// passphrase is what a site's keys are locked with, from the file or from whoever
// sits at the terminal.
func (a *app) passphrase(site member.SiteInfo) (string, error) {
	if name := a.env(passphraseFile); name != "" {
		text, err := secretIn(name)
		if err != nil {
			return "", fmt.Errorf("take the passphrase from %s: %w", passphraseFile, err)
		}
		return text, nil
	}
	text, err := a.ask(fmt.Sprintf("Passphrase for the keys of %s: ", oneLine(site.Name)))
	if errors.Is(err, errNoTerminal) {
		return "", fmt.Errorf("the keys of %s are locked, and there is no terminal to ask for the passphrase at; run this at one, or name a file that holds it in %s", oneLine(site.Name), passphraseFile)
	}
	return text, err
}

func (a *app) ask(prompt string) (string, error) {
	if a.secret == nil {
		return "", errNoTerminal
	}
	return a.secret(a.ctx, prompt)
}

// secretIn is the first line of a file.
func secretIn(name string) (string, error) {
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	return firstLine(f)
}

func firstLine(from io.Reader) (string, error) {
	line, err := bufio.NewReader(io.LimitReader(from, secretMost)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	if line = strings.TrimRight(line, "\r\n"); line == "" {
		return "", errors.New("its first line is empty")
	}
	return line, nil
}

// askTerminal asks the person at the terminal, and does not show what they type. The
// terminal is asked even where standard input is a file.
func askTerminal(ctx context.Context, prompt string) (string, error) {
	from, to := os.Stdin, os.Stderr
	if !term.IsTerminal(int(from.Fd())) {
		name := "/dev/tty"
		if runtime.GOOS == "windows" {
			name = "CONIN$"
		}
		tty, err := os.OpenFile(name, os.O_RDWR, 0)
		if err != nil {
			return "", errNoTerminal
		}
		defer tty.Close()
		from = tty
		if runtime.GOOS != "windows" {
			to = tty
		}
	}
	return askUnseen(ctx, from, to, prompt)
}

// askUnseen reads a line from a terminal that does not show it meanwhile. When ctx
// ends it gives up, and leaves the terminal as it was.
func askUnseen(ctx context.Context, from *os.File, to io.Writer, prompt string) (string, error) {
	fd := int(from.Fd())
	shown, err := term.GetState(fd)
	if err != nil {
		return "", errNoTerminal
	}
	fmt.Fprint(to, prompt)
	defer fmt.Fprintln(to)
	type answer struct {
		text []byte
		err  error
	}
	got := make(chan answer, 1)
	go func() { // a read of a terminal can't be broken off
		text, err := term.ReadPassword(fd)
		got <- answer{text, err}
	}()
	select {
	case <-ctx.Done():
		return "", errors.Join(context.Cause(ctx), term.Restore(fd, shown))
	case x := <-got:
		if errors.Is(x.err, io.EOF) {
			return "", errors.New("nothing was typed")
		}
		return string(x.text), x.err
	}
}
