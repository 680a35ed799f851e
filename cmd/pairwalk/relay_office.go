package main

import (
	"log/slog"
	"os"

	"pairwalk/events/journal"
	"pairwalk/syncd/relay"
)

// officeFlags say where a relay's sites are kept.
type officeFlags struct {
	As string `default:"relay" help:"What the relay is called on the sites it joins."`
}

// relayOffice is where the sites are kept, and this process's own folder.
type relayOffice struct {
	relay.Office
	folder string
}

// office opens what the flags name.
func (f officeFlags) office(a *app, _ *slog.Logger) (relayOffice, error) {
	if err := a.notReading(); err != nil {
		return relayOffice{}, err
	}
	dir, err := a.homeDir()
	if err == nil {
		err = os.MkdirAll(dir, 0o700)
	}
	if err != nil {
		return relayOffice{}, err
	}
	return relayOffice{relay.AtHome(journal.Dir(dir), f.As, a.world), dir}, nil
}
