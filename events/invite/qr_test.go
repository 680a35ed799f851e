package invite

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

func lines(drawing string) []string { return strings.Split(strings.TrimSuffix(drawing, "\n"), "\n") }

// A token of the usual kind can be shown on a terminal of 80 columns, and the
// package doc says how wide the others are.
func TestTokenFitsATerminal(t *testing.T) {
	usual := offer(events.Tech)
	usual.SiteName = "Harbour House, wing B and garage" // 32 bytes; with Ana and Europe/Vienna 48

	further := usual
	further.Meet = append(further.Meet, Meeting{Addr: "192.0.2.44:4222", Key: public(benBus)})

	root, _ := ana(t)
	carla := keyOf(30)
	byCarla, err := NewToken(dice(9), carla, root.Key(), carlasJoin(t, carla), usual)
	require.NoError(t, err)

	for _, tt := range []struct {
		name        string
		token       Token
		chars, cols int
	}{
		{"by a lead whom the root made", byAna(t, usual), 619, 77},
		{"with a relay to meet at", byAna(t, further), 683, 85},
		{"by a lead whom the root invited", byCarla, 834, 89},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := tt.token.String()
			require.LessOrEqual(t, len(text), tt.chars)
			drawing, err := QR(text)
			require.NoError(t, err)
			require.Equal(t, tt.cols, utf8.RuneCountInString(lines(drawing)[0]))
		})
	}
}

func TestQRKeepsItsQuietZone(t *testing.T) {
	drawing, err := QR(strings.Join(rootFrom(t, 0x7f).Words(), " "))
	require.NoError(t, err)
	rows := lines(drawing)
	width := utf8.RuneCountInString(rows[0])
	require.Len(t, rows, (width+1)/2)
	light := strings.Repeat("█", width)
	require.Equal(t, []string{light, light}, rows[:2], "four modules above")
	require.Equal(t, light, rows[len(rows)-2], "four below: the last line and a half, and this")
	for _, row := range rows {
		require.Equal(t, width, utf8.RuneCountInString(row))
		require.True(t, strings.HasPrefix(row, "████") && strings.HasSuffix(row, "████"), row)
	}
	require.Contains(t, rows[2], "████ ▄▄▄▄▄ █", "the top of a finder pattern: seven dark, then a ring")
}

func TestQRTooLong(t *testing.T) {
	_, err := QR(strings.Repeat("x", 3000))
	require.Error(t, err)
}
