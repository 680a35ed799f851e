package member_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

// scanned reads the feeds of a site's folder whole and has every line looked over
// by encoding/json's own scanner. It makes nothing of them: json.Valid is the
// least that a reader of JSON can do. The tokens of its Decoder took nine times as
// long, for the 255 things it allocates a line, and would flatter us.
func scanned(b *testing.B, folder string) (lines int) {
	feeds, err := filepath.Glob(filepath.Join(folder, "sites/*/feeds/*.ndjson"))
	require.NoError(b, err)
	for _, feed := range feeds {
		content, err := os.ReadFile(feed)
		require.NoError(b, err)
		for line := range bytes.Lines(content) {
			if !json.Valid(line) {
				b.Fatalf("%s: a line is no JSON", feed)
			}
			lines++
		}
	}
	return lines
}

// BenchmarkRatioOpen sets opening a site of 100,000 entries for work, and folding
// all of it, beside reading its files and looking over their JSON.
func BenchmarkRatioOpen(b *testing.B) {
	const count = 100_000
	folder := b.TempDir()
	home, err := lodged.Of(invent.History(1, 10, count)).In(folder, "Ann")
	require.NoError(b, err)
	limit := func() time.Duration {
		began := time.Now()
		lines := scanned(b, folder)
		took := time.Since(began)
		require.Greater(b, lines, count)
		return took
	}
	ours := func() time.Duration {
		began := time.Now()
		m, err := home.Open("")
		require.NoError(b, err)
		s := m.Now()
		took := time.Since(began)
		require.Greater(b, s.Entries, count)
		require.NoError(b, m.Close())
		return took
	}
	median := beside.Limit{Rounds: 3, Limit: limit, Ours: ours}.Report(b)
	b.ReportMetric(count/median.Seconds(), "events/s")
}
