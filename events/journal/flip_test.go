package journal_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
)

// story is a laptop with an own feed, a colleague's, and a fork of the latter;
// and all its lines, as the others hold them.
type story struct {
	*laptop
	mine, theirs, branch []seal.Verified
}

func (s *story) copy() *story {
	return &story{s.laptop.copy(), s.mine, s.theirs, s.branch}
}

func (s *story) all() [][]seal.Verified { return [][]seal.Verified{s.mine, s.theirs, s.branch} }

func tell(t *testing.T, closed bool) *story {
	s := &story{laptop: newLaptop()}
	j, mine := s.begun(t, newAuthor(1), 2)
	ben := newAuthor(2)
	s.mine, s.theirs = mine, ben.says(1, "theirs")
	twin := ben.twin()
	s.theirs = append(s.theirs, ben.says(2, "theirs")...)
	s.branch = twin.says(1, "twin's")
	for _, lines := range s.all()[1:] {
		_, err := j.Take(ctx, lines)
		require.NoError(t, err)
	}
	if closed {
		require.NoError(t, j.Close())
	}
	return s
}

// One flipped byte at every offset of every file, the copy of the mark included:
// it is never silent, nothing is ever renumbered, and with the others' lines the
// journal is whole again.
func TestOneFlippedByteAnywhere(t *testing.T) {
	for how, closed := range map[string]bool{"after a clean close": true, "after a kill in the same boot": false} {
		whole := tell(t, closed)
		t.Run(how, func(t *testing.T) {
			t.Parallel()
			for _, file := range whole.site.Files() {
				b := read(t, whole.site, file)
				for at := 0; at < len(b); at += stride {
					s := whole.copy()
					change(t, s.site, file, flip(at, mask(at, b[at])))
					report, err := journal.Verify(s.site, journaltest.Site())
					require.NoError(t, err)
					require.NotEmpty(t, report.Problems, "verify: %s, byte %d", file, at)
					s.heals(t, fmt.Sprintf("%s, byte %d", file, at))
				}
			}
			b := read(t, whole.marks, string(journaltest.Site()))
			for at := 0; at < len(b); at += stride {
				s := whole.copy()
				change(t, s.marks, string(journaltest.Site()), flip(at, mask(at, b[at])))
				s.heals(t, fmt.Sprintf("copy of the mark, byte %d", at))
			}
		})
	}
}

// mask takes turns between one bit, every bit, and what makes a line feed.
func mask(at int, was byte) byte {
	switch {
	case at%3 == 0:
		return 1 << (at / 3 % 8)
	case at%3 == 1 || was == '\n':
		return 0xff
	}
	return was ^ '\n'
}

// heals opens the damaged journal, and mends it with the others' lines.
func (s *story) heals(t *testing.T, where string) {
	j := s.open(t)
	require.NotEmpty(t, j.Problems(), "silent: %s", where)
	s.holdsNothingElse(t, j, where)
	if own := j.Own(); own.Replace == "" {
		require.Equal(t, s.mine[1].Head(), own.Head, "a number would be used again: %s", where)
		require.Equal(t, s.mine[0].Feed(), own.Feed, where)
	}
	for _, lines := range s.all() {
		_, err := j.Take(ctx, lines)
		require.NoError(t, err, where)
	}
	s.isWhole(t, j, where)
	require.NoError(t, j.Close(), where)
	again := s.open(t)
	s.isWhole(t, again, where)
	for _, p := range again.Problems() {
		require.Equal(t, journal.BehindMark, p.Fault, "healed, and still: %s: %s", p, where)
	}
	require.NoError(t, again.Close())
}

// holdsNothingElse says that every line shown is one that was written, at its
// own number.
func (s *story) holdsNothingElse(t *testing.T, j *journal.Journal, where string) {
	known := map[events.Ref]bool{}
	for _, lines := range s.all() {
		for _, v := range lines {
			known[v.Ref()] = true
		}
	}
	for _, v := range have(t, j.All()) {
		require.True(t, known[v.Ref()], "%s was never written: %s", v.Ref(), where)
	}
}

func (s *story) isWhole(t *testing.T, j *journal.Journal, where string) {
	requireLines(t, j, s.mine, where)
	requireLines(t, j, s.theirs, where)
	require.Empty(t, j.Holes(), where)
	forks := j.Forks()
	require.Len(t, forks, 1, where)
	require.Equal(t, texts(s.branch), texts(have(t, j.Branch(forks[0]))), where)
	for _, f := range s.site.Files() {
		require.False(t, strings.HasSuffix(f, ".new"), "%s is left over: %s", f, where)
	}
}
