package intake_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/intake"
)

func TestTheOfficesRecordsComeBack(t *testing.T) {
	got, err := intake.ReadRecords(strings.NewReader("\uFEFFExport;Tag;Colour;Serial;Hub\r\nx1;2-101;white;'=S1;H1\r\n\r\nx1;2-102;;;\r\n"))
	require.NoError(t, err)
	require.Equal(t, []intake.Record{
		{Number: 2, Export: "x1", Tag: "2-101", Serial: "=S1", Hub: "H1"},
		{Number: 4, Export: "x1", Tag: "2-102"},
	}, got)

	for _, tt := range []struct{ name, file, words string }{
		{"nothing", "", "nothing is in the file"},
		{"no serial", "tag,hub\n2-101,H1\n", "needs the columns tag and serial; it has tag, hub"},
		{"a row without tag", "tag,serial\n,S1\n", "row 2 has no tag"},
		{"a stray quote", "tag,serial\n2-101,S\"1\n", "row 2"},
		{"a stray quote in the header", "ta\"g,serial\n2-101,S1\n", "bad header row"},
		{"no rows", "tag,serial\n", "a header and no rows"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := intake.ReadRecords(strings.NewReader(tt.file))
			require.ErrorContains(t, err, tt.words)
		})
	}
}
