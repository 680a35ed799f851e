package lodged_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

// The reader is one more member, in good standing as far as anybody knows, and has
// all that was said.
func TestALodgedJobIsAHomeLikeOthers(t *testing.T) {
	job := lodged.Of(invent.History(3, 4, 1_500))
	home, err := job.In(t.TempDir(), "Ann")
	require.NoError(t, err)
	m, err := home.Open("")
	require.NoError(t, err)
	defer func() { require.NoError(t, m.Close()) }()
	require.Empty(t, m.Problems())
	s := m.Now()
	require.Equal(t, 1_500+2, s.Entries, "all of them, and the two by which the reader joined")
	require.Empty(t, s.Quarantined)
	require.Empty(t, s.NotUnderstood)
	require.Len(t, s.Members, 5)
	ann, ok := s.Member(m.Key())
	require.True(t, ok)
	require.Equal(t, projection.Provisional, ann.Standing)

	total := 0
	for _, v := range job.Lines {
		total += len(v.Line()) + 1
	}
	require.Equal(t, total, job.Bytes())
}

func TestTwoMayReadOneJob(t *testing.T) {
	job := lodged.Of(invent.History(3, 2, 300))
	_, ann, err := job.Join(t.TempDir(), "Ann")
	require.NoError(t, err)
	_, bo, err := job.Join(t.TempDir(), "Bo")
	require.NoError(t, err)
	require.NotEqual(t, ann.Key(), bo.Key())
	require.Equal(t, ann.Info().ID, bo.Info().ID)
	require.NoError(t, ann.Close())
	require.NoError(t, bo.Close())
}
