package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestAChanceThatIsOneFigureIsToldAsOne: 99..99 % is no range.
func TestAChanceThatIsOneFigureIsToldAsOne(t *testing.T) {
	require.Equal(t, "99 %", chanceWords(&[2]int64{991_000, 998_000}))
	require.Equal(t, "98..99 %", chanceWords(&[2]int64{989_000, 998_000}))
	require.Equal(t, "-", chanceWords(nil))
}
