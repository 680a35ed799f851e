package intake_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/intake"
)

func TestWrittenCellsAreNoFormulas(t *testing.T) {
	for _, tt := range []struct{ name, cell, want string }{
		{"plain", "2-114", "2-114"},
		{"equals", "=1+1", "'=1+1"},
		{"plus", "+43 1 234", "'+43 1 234"},
		{"minus", "-cmd", "'-cmd"},
		{"at", "@SUM(A1)", "'@SUM(A1)"},
		{"tab", "\t=1", "'\t=1"},
		{"return", "\r=1", "\"'\r\n=1\""},
		{"a negative number stays a number", "-3.60", "-3.60"},
		{"a sum of them doesn't", "-3.60-1", "'-3.60-1"},
		{"an apostrophe that would be taken off", "'=1", "''=1"},
		{"an apostrophe of its own", "'tis fine", "'tis fine"},
		{"a comma", "left, right", `"left, right"`},
		{"a quote", `5" rail`, `"5"" rail"`},
		{"a line break", "one\ntwo", "\"one\r\ntwo\""},
		{"a formula in quotes", `=HYPERLINK("x")`, `"'=HYPERLINK(""x"")"`},
		{"inside it is harmless", "a=b", "a=b"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var out bytes.Buffer
			require.NoError(t, intake.WriteCSV(&out, []string{"tag", "note"}, [][]string{{"2-101", tt.cell}}))
			require.Equal(t, "tag,note\r\n2-101,"+tt.want+"\r\n", out.String())
		})
	}
}

// Whatever is written as a note is read back as it was, but for the space at its
// ends; and no spreadsheet takes a cell for a formula.
func TestWrittenCellsAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		note := strings.TrimSpace(rapid.StringMatching(`['=+\-@]{0,4}[a-z0-9=",;\n ]{0,12}`).Draw(t, "note"))
		var out bytes.Buffer
		require.NoError(t, intake.WriteCSV(&out, []string{"tag", "kind", "hub", "note"}, [][]string{{"2-101", "dimmer", "H1", note}}))

		cells, err := csv.NewReader(bytes.NewReader(out.Bytes())).ReadAll()
		require.NoError(t, err)
		require.NotRegexp(t, `^([=+@\t\r]|-.*[^0-9.])`, cells[1][3])

		sheet, err := intake.Read(&out, intake.Options{})
		require.NoError(t, err)
		require.Empty(t, sheet.Problems)
		require.Equal(t, note, sheet.Rows[0].Payload.(events.DeviceListed).Note)
	})
}

type full struct{}

var errFull = errors.New("disk full")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestAWriteThatFailsSaysSo(t *testing.T) {
	require.ErrorIs(t, intake.WriteCSV(full{}, []string{"tag"}, nil), errFull)
	require.ErrorIs(t, intake.WriteCSV(full{}, []string{"tag"}, [][]string{{strings.Repeat("x", 10_000)}}), errFull)
}
