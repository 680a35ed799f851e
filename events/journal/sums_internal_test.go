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
