package journal

import (
	"errors"
	"fmt"
	"io"

	"pairwalk/events"
)

// Look opens the journal of a site to be read where nothing can be written, as on
// a full disk. What opening mends is mended in memory alone, and whatever is to be
// written is refused with ErrBroken.
//
// Lines that opening would write afresh are synced where they are, for what is
// read here may be shown.
func Look(site, marks FS, id events.SiteID, env Env) (*Journal, error) {
	lock, err := site.Lock("lock")
	if err != nil {
		return nil, fmt.Errorf("look at journal: %w", err)
	}
	if err := syncFeeds(site); err != nil {
		return nil, errors.Join(fmt.Errorf("look at journal: %w", err), lock.Close())
	}
	j, err := Open(Overlay(site), Overlay(marks), id, env)
	if err != nil {
		return nil, errors.Join(err, lock.Close())
	}
	j.stop(ErrBroken)
	j.lock = closers{j.lock, lock}
	return j, nil
}

// syncFeeds makes durable what is in the files of feeds. It needs no room.
func syncFeeds(site FS) error {
	names, err := readFeeds(site)
	if err != nil {
		return err
	}
	for _, name := range names {
		f, err := site.Append(fileOf(name))
		if err != nil {
			return err
		}
		if err := errors.Join(f.Sync(), f.Close()); err != nil {
			return err
		}
	}
	return site.SyncDir(feedsDir)
}

type closers []io.Closer

func (c closers) Close() error {
	var errs []error
	for _, x := range c {
		errs = append(errs, x.Close())
	}
	return errors.Join(errs...)
}

// Stopped says why nothing is accepted any more, or nil.
func (j *Journal) Stopped() error { return j.refusal() }

// trialFile is what Room writes and takes away.
const (
	trialFile = "room"
	spare     = 64 << 10 // bytes beyond what opening writes, so that work can go on
)

// Room tries whether a stopped journal could be opened again: its disk must take
// what opening writes, which is the own feed and the receipts afresh, and a little
// more.
func (j *Journal) Room() error {
	need := spare
	j.mu.RLock()
	if s := j.strands.named(string(j.own.Feed)); s != nil {
		need += int(s.size)
	}
	j.mu.RUnlock()
	if b, err := j.site.Read(receiptsFile); err == nil {
		need += len(b)
	}
	name := trialFile + FreshSuffix
	f, err := j.site.Create(name)
	if err != nil {
		return fmt.Errorf("try for room: %w", err)
	}
	if _, err = f.Write(make([]byte, need)); err == nil {
		err = f.Sync()
	}
	return wrap("try for room", errors.Join(err, f.Close(), j.site.Remove(name)))
}
