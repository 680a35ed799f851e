package journal

import "pairwalk/events"

// MarkCopy is one of the two copies of a mark, as it is on disk.
type MarkCopy struct {
	There bool          // it can be read
	Wrong string        // in words, where there is a file that is no mark of this site
	Turn  int64         // how often the mark was written
	Feed  events.FeedID // the own feed
	Seq   events.Seq    // the highest event of it that was ever held
	Clean bool          // the journal was closed after the last opening
	Boot  string        // it was written in
}

// ReadMarks reads both copies of a site's mark as they are: the one in its folder,
// and the one in the folder marks. It changes nothing and takes no lock.
func ReadMarks(site, marks FS, id events.SiteID) (inside, outside MarkCopy, err error) {
	if inside, err = markCopy(site, markFile, id, markFile); err != nil {
		return
	}
	outside, err = markCopy(marks, string(id), id, "copy of the mark")
	return
}

func markCopy(at FS, name string, id events.SiteID, label string) (MarkCopy, error) {
	m, bad, err := readMark(at, name, id, label)
	switch {
	case err != nil || m == nil && bad == nil:
		return MarkCopy{}, err
	case bad != nil:
		return MarkCopy{Wrong: bad.Words}, nil
	}
	return MarkCopy{There: true, Turn: m.Turn, Feed: m.Feed, Seq: m.Seq, Clean: m.Clean, Boot: m.Boot}, nil
}
