package bundle

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"iter"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// firstLine is how every bundle's text begins, whatever its version.
const firstLine = `{"pairwalk":"bundle","v":`

// Bundle is a whole bundle that has been checked.
type Bundle struct {
	Manifest
	// Forks are the last lines of the branches of each forked feed, but for the
	// main one, whose last line is in Heads.
	Forks map[events.FeedID][]events.Head
	Count Count

	runs []Run
}

// Run is a piece of a feed: lines that follow each other without a gap. It begins
// the feed, goes on after holes of the same branch, or begins another branch after
// a line of a run before it. Runs taken in order always have what they follow.
type Run struct {
	Feed   events.FeedID
	Branch int           // 0 on the main branch, 1 on the next, as in Forks
	Holes  []events.Head // missing just before Lines[0], whose prev proves the last; the others have no hash
	Lines  []seal.Verified
}

// Runs yields the runs in the order of the file, each under its feed.
func (b *Bundle) Runs() iter.Seq2[events.FeedID, Run] {
	return func(yield func(events.FeedID, Run) bool) {
		for _, run := range b.runs {
			if !yield(run.Feed, run) {
				return
			}
		}
	}
}

// Read reads a whole bundle and checks it before it gives out anything. Its error
// wraps one of ErrNotBundle, ErrVersion, ErrDamaged, ErrForged and ErrTooLarge, or
// is r's own. Ask [Manifest.For] whether it is the site that is wanted.
func Read(r io.Reader) (*Bundle, error) { return read(r, sizes{MaxText, MaxFile}) }

func read(r io.Reader, limit sizes) (*Bundle, error) {
	text, err := unpack(r, limit)
	if err != nil {
		return nil, fmt.Errorf("read bundle: %w", err)
	}
	b, err := parse(text)
	if err != nil {
		return nil, fmt.Errorf("read bundle: %w", err)
	}
	return b, nil
}

func parse(text []byte) (*Bundle, error) {
	if !bytes.HasPrefix(text, []byte(firstLine)) {
		return nil, ErrNotBundle
	}
	if !bytes.HasPrefix(text[len(firstLine):], fmt.Appendf(nil, "%d,", version)) {
		return nil, ErrVersion
	}
	whole, ok := bytes.CutSuffix(text, []byte("\n"))
	cut := bytes.LastIndexByte(whole, '\n') + 1
	if !ok || cut == 0 {
		return nil, ErrDamaged
	}
	trailer, err := readTrailer(whole[cut:])
	sum := sha256.Sum256(text[:cut])
	if err != nil || trailer.SHA256 != hex.EncodeToString(sum[:]) {
		return nil, ErrDamaged
	}
	first, body, _ := bytes.Cut(text[:cut], []byte("\n"))
	m, err := readManifest(first)
	if err != nil {
		return nil, fmt.Errorf("%w (manifest: %w)", ErrForged, err)
	}
	if !trailer.Sig.VerifiedBy(m.Maker.Key(), trailer.statement(m.Site)) {
		return nil, fmt.Errorf("%w (its maker did not sign it)", ErrForged)
	}
	b, err := readBody(m, body)
	if err == nil && b.Count.Lines+b.Count.Holes != trailer.Lines {
		err = errors.New("line count differs")
	}
	if err != nil {
		return nil, fmt.Errorf("%w (%w)", ErrForged, err)
	}
	return b, nil
}

// readBody reads the events and holes, and opens every run.
func readBody(m Manifest, body []byte) (*Bundle, error) {
	rd := reading{layout: newLayout(m.Site)}
	for line := range bytes.Lines(body) {
		line = line[:len(line)-1]
		var err error
		if bytes.HasPrefix(line, []byte(`{"hole":`)) {
			err = rd.hole(line)
		} else {
			err = rd.event(line)
		}
		if err != nil {
			return nil, err
		}
	}
	if err := rd.openRun(); err != nil {
		return nil, err
	}
	if err := rd.layout.end(m.Heads); err != nil {
		return nil, err
	}
	rd.count.Feeds = len(m.Heads)
	return &Bundle{Manifest: m, Forks: rd.layout.forks, Count: rd.count, runs: rd.runs}, nil
}

// reading is a bundle's body half read.
type reading struct {
	layout *layout
	runs   []Run
	lines  [][]byte // of the last run, not opened yet
	holes  []events.Head
	count  Count
}

func (r *reading) hole(line []byte) error {
	feed, head, err := readHole(line)
	if err != nil {
		return err
	}
	r.holes = append(r.holes, head)
	r.count.Holes++
	return r.layout.hole(feed, head)
}

// event takes a line by its place alone; openRun will ask for proof.
func (r *reading) event(line []byte) error {
	v, err := seal.Trusted(line)
	if err != nil {
		return err
	}
	at, err := r.layout.line(v)
	if err != nil {
		return err
	}
	if at != runsOn {
		if err := r.openRun(); err != nil {
			return err
		}
		r.runs = append(r.runs, Run{Feed: v.Feed(), Branch: len(r.layout.forks[v.Feed()]), Holes: r.holes})
		r.holes = nil
	}
	r.lines = append(r.lines, line)
	r.count.Lines++
	return nil
}

// openRun lets the lines of the last run in through the door.
func (r *reading) openRun() error {
	if len(r.runs) == 0 {
		return nil
	}
	run := &r.runs[len(r.runs)-1]
	opened, err := seal.OpenRun(r.lines) // short only with an error
	if err != nil {
		return fmt.Errorf("feed %s: %w", run.Feed.Short(), err)
	}
	run.Lines, r.lines = opened, nil
	return nil
}
