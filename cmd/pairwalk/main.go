// Command pairwalk is the field log of a lighting-controls commissioning team.
//
// It holds no rules of its own: package syncd/member records and answers, and
// the command puts questions to it and prints what it says. This is the only
// place that reads the clock, the environment and the flags.
//
//	main.go     ten lines
//	run.go      flags, and what every command is given
//	clock.go    the device's clocks, and the made-up one of practice sites
//	print.go    tables, times and colours
//	log*.go     pairwalk log: one struct for each verb
//	passon.go   a command passed on to the serving process, when there is one
//	reading.go  the log in a file, asked without being a member
//	door.go     where that process takes commands in (frames, caller, attend: their talk)
//	meeting.go  where members meet: the bus, tied to a member
//	pack*.go    the owner's pack, made and checked (shelf: its folder)
//	relay*.go   an office's member for many sites (hatch: copies out of one that runs)
//	collect.go  when garbage is collected
//	room.go     what is done where the disk takes nothing more
//	demo*.go    a made-up job, end to end
//	*.go        one file for each other command
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // a site's zone must be known on any machine
)

// untilStopped ends with the first signal to stop; a second one ends the process at
// once.
func untilStopped() (context.Context, context.CancelFunc) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	context.AfterFunc(ctx, stop)
	return ctx, stop
}

func main() {
	collectLate()
	ctx, stop := untilStopped()
	code := run(ctx, os.Args[1:], process())
	stop()
	os.Exit(code)
}
