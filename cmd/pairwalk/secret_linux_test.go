package main

import (
	"context"
	"errors"
	"io"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// terminal is a pseudo-terminal: what a person types and sees, and the file that a
// process has of it.
func terminal(t *testing.T) (person, process *os.File) {
	person, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if errors.Is(err, os.ErrNotExist) || errors.Is(err, os.ErrPermission) {
		t.Skip("no pseudo-terminals are permitted here")
	}
	require.NoError(t, err)
	t.Cleanup(func() { _ = person.Close() })
	require.NoError(t, unix.IoctlSetPointerInt(int(person.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(person.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	process, err = os.OpenFile("/dev/pts/"+strconv.Itoa(n), os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	t.Cleanup(func() { _ = process.Close() })
	return person, process
}

// echoes says whether a terminal shows what is typed.
func echoes(t *testing.T, f *os.File) bool {
	state, err := unix.IoctlGetTermios(int(f.Fd()), unix.TCGETS)
	require.NoError(t, err)
	return state.Lflag&unix.ECHO != 0
}

// sees reads what the person sees until it ends in some text.
func sees(t *testing.T, person *os.File, end string) string {
	var seen strings.Builder
	b := make([]byte, 1)
	for !strings.HasSuffix(seen.String(), end) {
		_, err := io.ReadFull(person, b)
		require.NoError(t, err, "seen so far: %q", seen.String())
		seen.Write(b)
	}
	return seen.String()
}

// hushed waits until the terminal has stopped showing what is typed.
func hushed(t *testing.T, f *os.File) {
	require.Eventually(t, func() bool { return !echoes(t, f) }, callWait, callWait/10_000)
}

// What is typed at the question is on no screen, nor is it shown later.
func TestAPassphraseIsNotShown(t *testing.T) {
	person, process := terminal(t)
	require.True(t, echoes(t, process))
	type answer struct {
		text string
		err  error
	}
	got := make(chan answer, 1)
	go func() {
		text, err := askUnseen(t.Context(), process, process, "Passphrase: ")
		got <- answer{text, err}
	}()
	require.Equal(t, "Passphrase: ", sees(t, person, ": "))
	hushed(t, process)
	_, err := person.WriteString("four words by lot\n")
	require.NoError(t, err)
	require.Equal(t, answer{"four words by lot", nil}, <-got)
	require.True(t, echoes(t, process), "the terminal is as it was")
	_, err = process.WriteString("and on\n")
	require.NoError(t, err)
	require.NotContains(t, sees(t, person, "and on\r\n"), "words")
}

// Whoever interrupts the question has a terminal that shows what they type again.
func TestAnInterruptedQuestionLeavesTheTerminalAsItWas(t *testing.T) {
	person, process := terminal(t)
	ctx, stop := context.WithCancel(t.Context())
	got := make(chan error, 1)
	go func() {
		_, err := askUnseen(ctx, process, process, "Passphrase: ")
		got <- err
	}()
	sees(t, person, ": ")
	hushed(t, process)
	stop()
	require.ErrorIs(t, <-got, context.Canceled)
	require.True(t, echoes(t, process))
	_, err := person.WriteString("\n") // the read that was given up ends
	require.NoError(t, err)
}
