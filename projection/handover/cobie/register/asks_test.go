package register_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection"
	"pairwalk/projection/handover/cobie/register"
	"pairwalk/testdata/handed"
)

func ask(b register.Book, sheet, column string) []register.Ask {
	return slices.DeleteFunc(slices.Clone(b.Asks), func(a register.Ask) bool { return a.Sheet != sheet || a.Column != column })
}

// Every n/a is asked for, but for the few that don't apply; and nothing else is.
func TestAsksAreWhatIsNotKnown(t *testing.T) {
	idle := map[string][]string{ // no office could answer these
		"Facility":  {"ExternalProjectObject", "ExternalProjectIdentifier"},
		"Attribute": {"Unit", "Description", "AllowedValues"},
		"Issue":     {"SheetName2", "RowName2"},
	}
	for name, h := range map[string]*projection.History{"works": works(), "bare": handed.Bare()} {
		t.Run(name, func(t *testing.T) {
			b := book(h)
			for _, s := range b.Sheets {
				for i, c := range s.Columns {
					var lacking, asked []string
					for _, row := range s.Rows {
						if row[i] == register.Unknown && !slices.Contains(idle[s.Name], c.Name) {
							lacking = append(lacking, row[0])
						}
					}
					for _, a := range ask(b, s.Name, c.Name) {
						if a.Why == "" {
							asked = a.Rows
							require.Equal(t, c.Needed, a.Needed)
							require.Equal(t, len(s.Rows), a.Of)
						}
					}
					require.Equal(t, lacking, asked, "%s.%s", s.Name, c.Name)
				}
			}
		})
	}
}

func TestWhatIsAskedOfABareList(t *testing.T) {
	b := book(handed.Bare())
	require.Equal(t, "Component.Space is not known in 26 of 26 rows", ask(b, "Component", "Space")[0].String())
	require.Equal(t, "Space: has no row: the schedule names no room", ask(b, "Space", "")[0].String())
	require.Equal(t, "Type.Category in 8 of 8 rows: in the log's own words; give the owner's classification", ask(b, "Type", "Category")[0].String())
	require.Equal(t, "Type.Manufacturer is not known in 8 of 8 rows (the maker's e-mail address, which is its key)", ask(b, "Type", "Manufacturer")[0].String())
	for _, a := range b.Asks.Needed() {
		require.True(t, a.Needed)
	}
	require.Less(t, len(b.Asks.Needed()), len(b.Asks))
	require.Contains(t, b.Asks.Needed(), ask(b, "Type", "Manufacturer")[0])
	require.NotContains(t, b.Asks.Needed(), ask(b, "Type", "Color")[0])
}
