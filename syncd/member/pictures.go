package member

import (
	"fmt"
	"io/fs"
	"regexp"

	"pairwalk/events"
	"pairwalk/events/journal"
)

// picturesDir holds pictures beside the log, each named by its SHA-256.
const picturesDir = "pictures"

// KeepPicture puts a picture beside the log, under its content's name. It is
// durable before the entry that speaks of it is made.
func (m *Member) KeepPicture(p events.Picture, content []byte) error {
	if err := m.at.Mkdir(picturesDir); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	if err := m.at.SyncDir("."); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	if err := journal.Replace(m.at, picturesDir+"/"+p.SHA256, content); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	return nil
}

// Picture reads a picture that is kept beside the log. The error is fs.ErrNotExist
// where this device does not hold it.
func (m *Member) Picture(sha256 string) ([]byte, error) {
	if !pictureName.MatchString(sha256) {
		return nil, fmt.Errorf("picture %q: %w", sha256, fs.ErrNotExist)
	}
	return m.at.Read(picturesDir + "/" + sha256)
}

var pictureName = regexp.MustCompile(`^[0-9a-f]{64}$`)
