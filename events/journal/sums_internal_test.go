package journal

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The check value of lines one after the other is that of all their bytes.
func TestCheckValuesJoin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOf(rapid.SliceOfN(rapid.Byte(), 0, 3000)).Draw(t, "lines")
		var whole []byte
		var sum uint32
		for _, line := range lines {
			whole = append(append(whole, line...), '\n')
			sum = joined(sum, lineSum(line), len(line)+1)
		}
		require.Equal(t, castagnoli(0, whole), sum)
	})
}

// Every line of a log is summed when it is opened, and nothing is set aside for that.
func TestALineIsSummedInPlace(t *testing.T) {
	line := []byte(`{"v":1}`)
	require.Zero(t, testing.AllocsPerRun(100, func() { lineSum(line) }))
}
