package journal

import (
	"errors"
	"fmt"
	"io/fs"

	"pairwalk/events"
)

const markFile = "mark"

// mark is what an installation knows of its own feed apart from the feed.
type mark struct {
	Turn  int64           `json:"turn"` // counts the writings of the mark
	Site  events.SiteID   `json:"site"`
	Feed  events.FeedID   `json:"feed,omitempty"`
	Boot  string          `json:"boot,omitempty"`
	Clean bool            `json:"clean"`
	Seq   events.Seq      `json:"seq"`  // the highest ever held of the own feed
	Hash  string          `json:"hash"` // of that event
	Why   events.StartWhy `json:"replace,omitempty"`
	Last  events.Seq      `json:"last,omitempty"` // with Why: the last event that can be vouched for
	LastH string          `json:"last_hash,omitempty"`
}

// readMark reads one copy. There is none where both results are zero; a damaged
// one gives a problem.
func readMark(at FS, name string, id events.SiteID, label string) (*mark, *Problem, error) {
	b, err := at.Read(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, fmt.Errorf("read %s: %w", label, err)
	}
	var m mark
	if len(b) == 0 || b[len(b)-1] != '\n' || !decodeChecked(b[:len(b)-1], &m) {
		return nil, &Problem{Fault: BadMark, File: label, Words: "the mark is damaged"}, nil
	}
	if m.Site != id {
		return nil, &Problem{Fault: BadMark, File: label, Words: "the mark is of another site"}, nil
	}
	return &m, nil, nil
}

// writeMark replaces both copies. The one outside goes first, so that it is
// never behind the one inside.
func (j *Journal) writeMark(m mark) error {
	b, err := encodeChecked(m)
	if err != nil {
		return fmt.Errorf("write mark: %w", err)
	}
	if err := Replace(j.marks, string(j.id), b); err != nil {
		return fmt.Errorf("write copy of the mark: %w", err)
	}
	if err := Replace(j.site, markFile, b); err != nil {
		return fmt.Errorf("write mark: %w", err)
	}
	j.mark = m
	return nil
}

// marked is the mark for the present state of the own feed. It never goes back:
// what was once held of a feed stays known.
func (j *Journal) marked(now events.Stamp, clean bool) mark {
	m := j.mark
	m.Turn++
	m.Site, m.Boot, m.Clean = j.id, now.Mono.Boot, clean
	own := j.own
	if own.Feed != m.Feed {
		m.Feed, m.Seq, m.Hash = own.Feed, 0, ""
	}
	if head := j.headOf(own.Feed); head.Seq >= m.Seq {
		m.Seq, m.Hash = head.Seq, head.Hash.String()
	}
	m.Why, m.Last, m.LastH = own.Replace, 0, ""
	if own.Replace != "" {
		m.Last, m.LastH = own.Last.Seq, own.Last.Hash.String()
	}
	return m
}

// Replace puts a whole durable file in place of another, or neither.
func Replace(at FS, name string, b []byte) error {
	fresh := name + FreshSuffix
	f, err := at.Create(fresh)
	if err != nil {
		return err
	}
	if _, err = f.Write(b); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		_ = at.Remove(fresh) // half a file takes up room, which may be what is missing
		return err
	}
	if err := at.Rename(fresh, name); err != nil {
		return err
	}
	return at.SyncDir(folderOf(name))
}
