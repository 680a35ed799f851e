package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"pairwalk/events/journal"
	"pairwalk/syncd/member"
)

// makeHome makes the folder of this installation and those above it. Until it has
// a site their names are made durable as well, right up to the top: what is in
// the home is no safer than the name of the home.
func makeHome(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	at := journal.Dir(dir)
	if sites, err := member.NewHome(at, member.World{}).Sites(); err != nil || len(sites) > 0 {
		return nil // whatever is wrong with it is told by whoever uses it
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	for parent := filepath.Dir(dir); parent != dir; dir, parent = parent, filepath.Dir(parent) {
		err := journal.Dir(parent).SyncDir(".")
		if errors.Is(err, fs.ErrPermission) {
			return nil // nothing of ours was made there
		}
		if err != nil {
			return err
		}
	}
	return nil
}
