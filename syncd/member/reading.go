package member

import (
	"context"
	"errors"
	"fmt"
	"io"

	"pairwalk/events/bundle"
	"pairwalk/events/journal"
)

// ErrReading means that the log was opened from a file, to be read.
var ErrReading = errors.New("this log was opened from a file, to be read; to record, join the site by an invite and take the file in")

// Reading opens the log in a bundle, in memory, for somebody who need not be a
// member: every question has the answer its maker would have got, and nothing can
// be recorded ([ErrReading]).
func Reading(ctx context.Context, r io.Reader, w World) (*Member, error) {
	b, err := bundle.Read(r)
	if err != nil {
		return nil, err
	}
	keys, err := newKeys(w.Rand, b.Site, "", Opening{Name: b.Name, Practice: b.Practice})
	if err != nil {
		return nil, err
	}
	m, err := NewHome(journal.Memory(), w).settle(ctx, keys)
	if err != nil {
		return nil, fmt.Errorf("read bundle: %w", err)
	}
	if _, err := m.bundleIn(ctx, b); err != nil {
		return nil, errors.Join(err, m.Close())
	}
	m.reading = true
	return m, nil
}
