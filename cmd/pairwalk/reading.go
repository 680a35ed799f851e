package main

import (
	"fmt"
	"os"
	"path/filepath"

	"pairwalk/syncd/member"
)

// packLog is what a handover pack calls the log in it.
const packLog = "log.pairwalk"

// reading opens the log in a bundle, or in the pack in a folder.
func (a *app) reading() (*member.Member, error) {
	name := a.cli.From
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		name = filepath.Join(name, packLog)
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
