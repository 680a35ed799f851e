package register_test

import (
	"crypto/ed25519"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover/cobie/register"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
)

// references are the columns that hold keys of other sheets; lists are parted by
// commas, as COBieRules.sch of opensourceBIM's COBie plug-ins reads them.
var references = []struct{ sheet, column, to string }{
	{"Contact", "CreatedBy", "Contact"}, {"Facility", "CreatedBy", "Contact"}, {"Floor", "CreatedBy", "Contact"},
	{"Space", "CreatedBy", "Contact"}, {"Type", "CreatedBy", "Contact"}, {"Component", "CreatedBy", "Contact"},
	{"System", "CreatedBy", "Contact"}, {"Attribute", "CreatedBy", "Contact"}, {"Issue", "CreatedBy", "Contact"},
	{"Space", "FloorName", "Floor"},
	{"Type", "Manufacturer", "Contact"}, {"Type", "WarrantyGuarantorParts", "Contact"}, {"Type", "WarrantyGuarantorLabor", "Contact"},
	{"Component", "TypeName", "Type"}, {"Component", "Space", "Space"},
	{"System", "ComponentNames", "Component"},
	{"Attribute", "RowName", "Component"}, {"Issue", "Owner", "Contact"},
}

func folded(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// holdKeys fails where a key leads nowhere or stands twice.
func holdKeys(t require.TestingT, b register.Book) {
	keys := map[string]map[string]bool{}
	for _, s := range b.Sheets {
		keys[s.Name] = map[string]bool{}
		alike := map[string]string{}
		for _, row := range s.Rows {
			id := row[0]
			switch s.Name { // the keys of several columns
			case "Attribute":
				id = row[0] + "," + row[s.At("SheetName")] + "," + row[s.At("RowName")]
			case "System":
				id = row[0] + "," + row[s.At("Category")] + "," + row[s.At("ComponentNames")]
			}
			require.NotContains(t, alike, folded(id), "%s: %q and %q", s.Name, id, alike[folded(id)])
			require.NotEqual(t, "n/a", folded(row[0]))
			require.NotContains(t, row[0], ",", s.Name)
			alike[folded(id)] = id
			keys[s.Name][row[0]] = true
		}
	}
	for _, r := range references {
		s, _ := b.Sheet(r.sheet)
		for _, row := range s.Rows {
			for key := range strings.SplitSeq(row[s.At(r.column)], ",") {
				require.True(t, key == register.Unknown || keys[r.to][key], "%s.%s of %s: %q is not in %s", r.sheet, r.column, row[0], key, r.to)
			}
		}
	}
	holdTypesUsed(t, b)
}

// holdTypesUsed: "All Types must have at least one associated Component", says
// COBieRules.sch of opensourceBIM's COBie plug-ins.
func holdTypesUsed(t require.TestingT, b register.Book) {
	used := map[string]bool{}
	components, _ := b.Sheet("Component")
	for _, row := range components.Rows {
		used[row[components.At("TypeName")]] = true
	}
	types, _ := b.Sheet("Type")
	for _, row := range types.Rows {
		require.True(t, used[row[0]], "type %q has no component", row[0])
	}
	require.False(t, used[register.Unknown], "a component without a type")
}

func TestKeysHold(t *testing.T) {
	for name, h := range map[string]*projection.History{"works": works(), "bare": handed.Bare(), "nothing": {}} {
		t.Run(name, func(t *testing.T) { holdKeys(t, book(h)) })
	}
	works := book(works())
	require.Len(t, sheet(t, works, "Component").Rows, 480+4, "480 devices and 4 hubs")
	require.Len(t, sheet(t, works, "Floor").Rows, 6)
	require.Len(t, sheet(t, works, "Facility").Rows, 1, "exactly one, says COBieRules.sch")
}

// The order in which a log arrived changes nothing.
func TestWhateverOrderTheLogCameIn(t *testing.T) {
	back := &projection.History{Site: works().Site}
	for _, e := range slices.Backward(works().Ordered()) {
		back.Add(*e)
	}
	require.Equal(t, book(works()), book(back))
}

// The keys of contacts are e-mail addresses, one for each address whoever's devices
// it stands for.
func TestContacts(t *testing.T) {
	b := book(works())
	require.Equal(t, []string{"bo@works.example", "ada@works.example"}, column(t, sheet(t, b, "Contact"), "Email"))
	require.Equal(t, []string{"tech", "lead"}, column(t, sheet(t, b, "Contact"), "Category"))
	by := map[string]int{}
	for _, who := range column(t, sheet(t, b, "Attribute"), "CreatedBy") {
		by[who]++
	}
	require.NotZero(t, by["bo@works.example"])
	require.NotZero(t, by[register.Unknown], "cy's contact is no address")
	require.Empty(t, sheet(t, book(&projection.History{}), "Contact").Rows)
}

// Whoever's word does not count is no contact: here, the lead who had invited them is
// out, and nobody else has said yes.
func TestNoContactWhoseWordDoesNotCount(t *testing.T) {
	s := tale.New()
	dee := s.Join("dee", events.Lead)
	secret := ed25519.NewKeyFromSeed(slices.Repeat([]byte{7}, 32))
	s.JoinBy(secret, "bo", events.Tech)
	require.Contains(t, column(t, sheet(t, book(handed.History(s)), "Contact"), "Email"), "bo@works.example")
	dee.Say("10:00", s.RevokedByRoot(events.MemberRevoked{Key: s.Lead.Key, Heads: tale.Cut(s.Lead), Why: "left"}))
	require.Equal(t, []string{"ada@works.example"}, column(t, sheet(t, book(handed.History(s)), "Contact"), "Email"))
}
