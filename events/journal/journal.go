package journal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"slices"
	"strings"
	"sync"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// Env is what a journal needs of its surroundings.
type Env struct {
	Now func() events.Stamp // reads the device's clocks
	Log *slog.Logger        // hears of every problem; nil for silence

	// Hear is told, where it is set, what all lines held say as the journal is
	// opened: some lines of one branch at a time, as All yields them. They are decoded
	// as they are read, which saves reading them a second time.
	Hear func(said []events.Event)

	// Skim is told that instead, where it is set, without what those field facts say
	// that Want does not want, whose bodies are given: see [events.Lexicon.Outline].
	// Want is asked by several goroutines at once.
	Want func(events.Kind, []byte) bool
	Skim func(said []events.Event, bodies [][]byte)
}

// Own is the feed this installation may append to.
type Own struct {
	Feed    events.FeedID   // "" if none was begun, or if it is not known any more
	Head    events.Head     // its newest line here
	Replace events.StartWhy // if not "", the feed must not be continued; a new one begins for this reason
	Last    events.Head     // with Replace: the last line this installation can vouch for
}

// Journal keeps the sealed events of one site. Its methods may be called from
// many goroutines.
type Journal struct {
	id    events.SiteID
	site  FS
	marks FS
	env   Env
	lock  io.Closer

	// write is held by the one writer at work. Under it and mu are changed:
	write    sync.Mutex
	mark     mark // guarded by write
	ownFile  File // guarded by write; nil until needed
	receipts File // guarded by write; nil until needed

	mu       sync.RWMutex
	strands  strands
	gone     map[events.Hash]bool // lines that were looked for all over their file in vain
	own      Own                  // Head is filled in on reading
	stopped  error
	opened   events.Stamp
	problems []Problem

	queue queue
}

// Open opens the journal of a site, checks it, and mends what can be mended
// without a peer. The folder site holds the journal; marks is a folder outside
// of it, where a copy of the mark is kept under the site's id.
//
// What was found wrong is in Problems. The error is ErrLocked where another
// process has the site open.
func Open(site, marks FS, id events.SiteID, env Env) (*Journal, error) {
	if env.Log == nil {
		env.Log = slog.New(slog.DiscardHandler)
	}
	if err := errors.Join(site.Mkdir(feedsDir), marks.Mkdir(".")); err != nil {
		return nil, fmt.Errorf("open journal: %w", err)
	}
	lock, err := site.Lock("lock")
	if err != nil {
		return nil, fmt.Errorf("open journal: %w", err)
	}
	j := &Journal{id: id, site: site, marks: marks, env: env, lock: lock, gone: map[events.Hash]bool{}}
	if err := j.recover(env.Now()); err != nil {
		return nil, errors.Join(fmt.Errorf("open journal: %w", err), lock.Close())
	}
	for _, p := range j.problems {
		env.Log.Warn("journal problem", "fault", string(p.Fault), "place", p.String())
	}
	return j, nil
}

// Close writes down that all is well, and lets others open the site. Lines that
// wait in the queue are written first.
func (j *Journal) Close() error {
	j.write.Lock()
	defer j.write.Unlock()
	j.commitQueue()
	stopped := j.stop(ErrClosed)
	if errors.Is(stopped, ErrClosed) {
		return nil
	}
	var err error
	if stopped == nil {
		err = j.closeClean()
	}
	j.closeFiles()
	return errors.Join(err, j.lock.Close())
}

func (j *Journal) closeClean() error {
	now := j.env.Now()
	if err := j.coverOwn(now); err != nil {
		return fmt.Errorf("close journal: %w", err)
	}
	if err := j.writeMark(j.marked(now, true)); err != nil {
		return fmt.Errorf("close journal: %w", err)
	}
	return nil
}

// coverOwn writes check values for own lines that have none yet.
func (j *Journal) coverOwn(now events.Stamp) error {
	s := j.strand(string(j.own.Feed))
	if s == nil {
		return nil
	}
	c := *s
	c.places = slices.Clone(s.places)
	if err := j.appendReceipts(issue(&c, 0, true, now, false)); err != nil {
		return err
	}
	j.publish(&c)
	return nil
}

func (j *Journal) closeFiles() {
	for _, f := range []File{j.ownFile, j.receipts} {
		if f != nil {
			_ = f.Close() // all that matters was synced before
		}
	}
	j.ownFile, j.receipts = nil, nil
}

// stop ends writing for good, for the first reason given, and returns the reason
// there was before.
func (j *Journal) stop(why error) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	was := j.stopped
	if was == nil || why == ErrClosed {
		j.stopped = why
	}
	return was
}

// broke stops writing because a write failed.
func (j *Journal) broke(err error) error {
	err = fmt.Errorf("%w: %w", ErrBroken, err)
	j.stop(err)
	j.env.Log.Error("journal stopped writing", "error", err)
	return err
}

// refusal says why nothing can be written, or nil.
func (j *Journal) refusal() error {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return j.stopped
}

func (j *Journal) strand(name string) *strand {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return j.strands.named(name)
}

// strandsOf is a feed's main branch, if any, then its forks by name.
func (j *Journal) strandsOf(feed events.FeedID) strands {
	j.mu.RLock()
	defer j.mu.RUnlock()
	return slices.Clone(j.strands.of(feed))
}

func (j *Journal) publish(changed ...*strand) {
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, s := range changed {
		s.count()
		j.strands.put(s)
	}
}

func (j *Journal) headOf(feed events.FeedID) events.Head {
	if s := j.strand(string(feed)); s != nil {
		return s.head()
	}
	return events.Head{}
}

// checkSite refuses lines of other sites.
func (j *Journal) checkSite(lines []seal.Verified) error {
	for _, v := range lines {
		if v.Header().Site != j.id {
			return fmt.Errorf("take %s: %w", v.Ref(), ErrWrongSite)
		}
	}
	return nil
}

// readFeeds reads the names of the strands there are.
func readFeeds(site FS) ([]string, error) {
	files, err := site.List(feedsDir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("list feeds: %w", err)
	}
	var names []string
	for _, f := range files {
		if name, ok := strings.CutSuffix(f, lineSuffix); ok {
			names = append(names, name)
		}
	}
	return names, nil
}
