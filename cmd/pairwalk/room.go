package main

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"syscall"
	"time"

	"pairwalk/events/journal"
	"pairwalk/syncd/member"
)

// diskFull says whether a write failed for want of room.
func diskFull(err error) bool {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return true
	}
	var code syscall.Errno
	return runtime.GOOS == "windows" && errors.As(err, &code) && (code == 39 || code == 112) // ERROR_HANDLE_DISK_FULL, ERROR_DISK_FULL
}

// openFull is the failure to open a site for work because its disk is full.
type openFull struct{ error }

func (f openFull) Unwrap() error { return f.error }

// looking does work that may only read, on a site whose disk is full.
func (a *app) looking(h *member.Home, full error, work func(*member.Member) error) error {
	m, err := h.Look(a.cli.Site)
	if err != nil {
		return openFull{full}
	}
	fmt.Fprintln(a.stderr, "pairwalk: note: the disk is full, so nothing can be recorded; this is what the log holds")
	return errors.Join(work(m), m.Close())
}

// makeRoom says what to do about a disk that took no more.
func (a *app) makeRoom(err error) {
	var full openFull
	switch {
	case errors.Is(err, journal.ErrBroken) && a.host != nil:
		fmt.Fprintln(a.stderr, "  The disk takes nothing more, so nothing was recorded. Make room on it: pairwalk serve goes on by itself then, and the command can be given again.")
	case errors.Is(err, journal.ErrBroken) || errors.As(err, &full):
		fmt.Fprintln(a.stderr, "  The disk takes nothing more, so nothing was recorded. Make room on it, then give the command again. What was recorded before is safe and can be read meanwhile.")
	case diskFull(err):
		fmt.Fprintln(a.stderr, "  The disk is full. Make room on it, then give the command again.")
	}
}

// Waits of a serving process whose disk takes nothing more.
const (
	stoppedLook = time.Second     // how soon it is noticed
	roomLook    = 2 * time.Second // how often room is looked for
)

// errRoom ends a serving process' work on a site, so that the site is opened again.
var errRoom = errors.New("the disk takes entries again")

// awaitRoom returns once the site was stopped and its disk has room again, or ctx
// ends. It tells of the stop once.
func awaitRoom(ctx context.Context, m *member.Member, tell func(kind, words string)) error {
	tick := time.NewTicker(stoppedLook)
	defer tick.Stop()
	for told := false; ; {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		why := m.Stopped()
		switch {
		case why == nil:
		case !told:
			told = true
			tell("stopped", "the disk takes nothing more, so nothing is recorded; what was recorded is safe and can be read. Make room on the disk; this goes on by itself then ("+why.Error()+")")
			tick.Reset(roomLook)
		case m.Room() == nil:
			return errRoom
		}
	}
}
