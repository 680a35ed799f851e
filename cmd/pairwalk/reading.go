package main

import (
	"fmt"
	"os"
	"path/filepath"

	"pairwalk/projection/handover"
	"pairwalk/syncd/member"
)

// reading opens the log in a bundle, or in the pack in a folder.
func (a *app) reading() (*member.Member, error) {
	name := a.cli.From
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		name = filepath.Join(name, handover.LogFile)
	}
	f, err := a.file(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	m, err := member.Reading(a.ctx, f, a.world)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", called(name), err)
	}
	return m, nil
}

// notReading refuses a log in a file to what changes or exchanges logs.
func (a *app) notReading() error {
	if a.cli.From != "" {
		return usef("--bundle is for questions; leave it out here")
	}
	return nil
}
