package register_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/handover/cobie/register"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
)

func driver(tag events.Tag) events.DeviceListed {
	return events.DeviceListed{Device: tag, Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains}
}

// begun is a site of one hub.
func begun() *tale.Story {
	s := tale.New()
	s.Lead.Say("09:00", events.HubListed{Hub: "H1"})
	return s
}

// COBie keeps warranties with types, so one product under two warranties is two.
func TestOneProductUnderTwoWarranties(t *testing.T) {
	s := begun()
	for i, months := range []int{24, 60, 60, 0} {
		d := driver(events.Tag(fmt.Sprintf("1-%d", i+1)))
		d.Maker, d.Model, d.WarrantyMonths, d.Circuit = "Hollow Lane", "HL-1", months, "C1"
		s.Lead.Say("09:00", d)
	}
	b := book(handed.History(s))
	types := sheet(t, b, "Type")
	require.Equal(t, []string{
		"Hollow Lane HL-1 driver; warranty of 24 months", "Hollow Lane HL-1 driver; warranty of 60 months",
		"Hollow Lane HL-1 driver; warranty not told", "hub",
	}, column(t, types, "Name"))
	require.Equal(t, []string{"24", "60", "n/a", "n/a"}, column(t, types, "WarrantyDurationParts"))
	require.Equal(t, []string{"month", "month", "n/a", "n/a"}, column(t, types, "WarrantyDurationUnit"))
	require.Equal(t, []string{"n/a", "n/a", "n/a", "n/a"}, column(t, types, "WarrantyDurationLabor"), "nobody told of labour")
	require.Equal(t, []string{"Fixed", "Fixed", "Fixed", "n/a"}, column(t, types, "AssetType"))
	holdKeys(t, b)
}

// A maker is a contact only where the schedule names it by its address, as COBie
// wants; else nobody can say what its key is.
func TestMakersByTheirAddress(t *testing.T) {
	s := begun()
	for i, maker := range []string{"Hollow Lane", "sales@hollow.example", "Sales@Hollow.example", "Hollow <sales@hollow.example>", "sales@hollow"} {
		d := driver(events.Tag(fmt.Sprintf("1-%d", i+1)))
		d.Maker = maker
		s.Lead.Say("09:00", d)
	}
	b := book(handed.History(s))
	types := sheet(t, b, "Type")
	require.Equal(t, []string{"n/a", "sales@hollow.example", "sales@hollow.example", "n/a", "n/a", "n/a"}, column(t, types, "Manufacturer"))
	require.Equal(t, []string{"ada@works.example", "sales@hollow.example"}, column(t, sheet(t, b, "Contact"), "Email"))
	require.Equal(t, "n/a", cell(t, sheet(t, b, "Contact"), "sales@hollow.example", "Company"))
	holdKeys(t, b)
}

// The day of installation is the one on which the unit that is there now came.
func TestInstallationDate(t *testing.T) {
	s := begun()
	for _, tag := range []events.Tag{"1-1", "1-2", "1-3", "1-4"} {
		s.Lead.Say("09:00", driver(tag))
	}
	s.Lead.Say("2026-03-05T10:00:00Z", events.DeviceFitted{Device: "1-1", Serial: "SN-1", Source: events.Typed})
	s.Lead.Say("2026-03-06T10:00:00Z", events.DevicePaired{Device: "1-1", Hub: "H1", How: events.ByButton})
	s.Lead.Say("2026-03-06T11:00:00Z", events.DevicePaired{Device: "1-2", Hub: "H1", How: events.ByButton})
	s.Lead.Say("2026-03-07T11:00:00Z", events.DeviceFitted{Device: "1-2", Serial: "SN-2", Source: events.OnPaper})
	s.Lead.Say("2026-03-08T10:00:00Z", events.DeviceFitted{Device: "1-3", Serial: "SN-3", Source: events.Typed})
	s.Lead.Say("2026-06-01T10:00:00Z", events.DeviceReplaced{Device: "1-3", Old: "SN-3", New: "SN-33", Why: "dead"})
	s.Lead.Say("2026-06-02T10:00:00Z", events.DevicePaired{Device: "1-3", Hub: "H1", How: events.ByButton})
	s.Lead.Say("2026-06-03T10:00:00Z", events.DeviceFitted{Device: "1-3", Serial: "SN-33", Source: events.Scanned})
	b := book(handed.History(s))
	days := column(t, sheet(t, b, "Component"), "InstallationDate")
	require.Equal(t, []string{"n/a", "2026-03-05", "2026-03-06", "2026-06-01", "n/a"}, days, "the hub first")
	require.Equal(t, "SN-33", cell(t, sheet(t, b, "Component"), "1-3", "SerialNumber"))
}

// Times are in the site's zone, and a row's are those of the listing that stands.
func TestTimesAndWhatStands(t *testing.T) {
	s := begun()
	s.Lead.Say("09:00", events.RoomListed{Room: "hall", Geometry: "open"})
	wrong := s.Lead.Say("09:10", events.RoomListed{Room: "hall", Geometry: "closed"})
	s.Lead.Say("09:20", events.EventVoided{Event: wrong.Ref(), Why: events.WrongDetail})
	s.Lead.Say("09:30", driver("1-1"))
	s.Lead.Say("23:30", events.DeviceFitted{Device: "1-1", Serial: "SN-1", Source: events.Typed})
	b := book(handed.HistoryIn(s, "Europe/Vienna"))
	require.Equal(t, "2026-03-02T10:00:00", cell(t, sheet(t, b, "Space"), "hall", "CreatedOn"))
	require.Equal(t, "open", cell(t, sheet(t, b, "Space"), "hall", "Description"))
	require.Equal(t, "2026-03-02T10:30:00", cell(t, sheet(t, b, "Component"), "1-1", "CreatedOn"))
	require.Equal(t, "2026-03-03", cell(t, sheet(t, b, "Component"), "1-1", "InstallationDate"), "it was past midnight there")
}

// A log may hold what no tool of ours would write: a secret in a label.
func TestNoSecretGetsIntoTheBarCode(t *testing.T) {
	s := begun()
	labels := []string{
		"MT:Y.K9042C00KA0648G00",                         // a Matter setup code (made-up test vector of the Matter SDK)
		"83FED3407A939723A5C639B26916D505 C3B5",          // an install code (published example of the Zigbee documents)
		"00-00-5E-FF-FE-00-53-01 34970112332",            // an address with a manual setup code beside it
		"(01)05412345000013(21)AJY3095721P49(91)our own", // the company's own part is no business of the log's
	}
	for i, text := range labels {
		tag := events.Tag(fmt.Sprintf("1-%d", i+1))
		s.Lead.Say("09:00", driver(tag))
		s.Lead.Say("09:05", events.DeviceFitted{Device: tag, Serial: events.Serial(fmt.Sprint("SN-", i)), Label: text, Source: events.Scanned})
	}
	b := book(handed.History(s))
	require.Equal(t, []string{"n/a", "n/a", "n/a", "n/a", "(01)05412345000013(21)AJY3095721P49"}, column(t, sheet(t, b, "Component"), "BarCode"))
	for _, sheet := range b.Sheets {
		for _, row := range sheet.Rows {
			for _, secret := range []string{"MT:", "83FED3", "34970112332", "our own"} {
				require.NotContains(t, strings.Join(row, "|"), secret, sheet.Name)
			}
		}
	}
}

// What is only named has a row too, what is struck has none, and a stairwell that
// several floors name is on none of them.
func TestWhatIsOnlyNamed(t *testing.T) {
	s := begun()
	at := func(tag events.Tag, floor events.FloorID, room events.RoomID) events.DeviceListed {
		d := driver(tag)
		d.Floor, d.Room, d.Circuit = floor, room, "C1"
		return d
	}
	s.Lead.Say("09:00", events.FloorListed{Floor: "1", Level: 1, Elevation: events.Some[int64](-3600)})
	for _, d := range []events.DeviceListed{at("1-1", "1", "hall"), at("1-2", "1", "stairs"), at("2-1", "2", "stairs"), at("9-1", "9", "gone")} {
		s.Lead.Say("09:01", d)
	}
	s.Lead.Say("09:02", events.DeviceStruck{Device: "9-1", Why: "drawn twice"})
	s.Lead.Say("09:02", events.DeviceListed{Device: "3-1", Is: events.Sensor, Hub: "H3", Radio: events.Star, Power: events.Battery})
	s.Lead.Say("09:03", events.DevicePaired{Device: "7-7", Hub: "H2", How: events.ByButton})
	b := book(handed.History(s))
	require.Equal(t, []string{"1", "2"}, column(t, sheet(t, b, "Floor"), "Name"))
	require.Equal(t, []string{"-3.6", "n/a"}, column(t, sheet(t, b, "Floor"), "Elevation"))
	require.Equal(t, []string{"level 1", "n/a"}, column(t, sheet(t, b, "Floor"), "Description"))
	require.Equal(t, []string{"hall", "stairs"}, column(t, sheet(t, b, "Space"), "Name"))
	require.Equal(t, []string{"1", "n/a"}, column(t, sheet(t, b, "Space"), "FloorName"))
	require.Equal(t, []string{"H1", "H2", "1-1", "1-2", "2-1", "3-1", "7-7"}, column(t, sheet(t, b, "Component"), "Name"))
	require.Equal(t, "device of unknown kind", cell(t, sheet(t, b, "Component"), "7-7", "TypeName"))
	require.Equal(t, "device.paired", cell(t, sheet(t, b, "Component"), "7-7", "ExtObject"))
	systems := sheet(t, b, "System")
	require.Equal(t, []string{"hub H1", "hub H2", "hub H3", "circuit C1"}, column(t, systems, "Name"))
	require.Equal(t, []string{"H1,1-1,1-2,2-1", "H2,7-7", "3-1", "1-1,1-2,2-1"}, column(t, systems, "ComponentNames"))
	holdKeys(t, b)
}

// An open fault is an issue at its row; a cleared one is none.
func TestFaultsAreIssues(t *testing.T) {
	issues := sheet(t, book(works()), "Issue")
	require.Equal(t, []string{"Component", "Space"}, column(t, issues, "SheetName1"))
	require.Equal(t, []string{"bo@works.example", "n/a"}, column(t, issues, "Owner"))
	require.Equal(t, []string{"minor", "major"}, column(t, issues, "Impact"))
	require.Equal(t, "hums when dimmed; trade: electrical; owner: bo@works.example", issues.Rows[0][issues.At("Description")])
}

// A hub with more devices than a cell can name goes on in another row, as the key of
// System lets it (COBieRules.sch: name, category and components together).
func TestAListLongerThanACell(t *testing.T) {
	s := begun()
	for i := range 700 {
		s.Lead.Say("09:00", driver(events.Tag(fmt.Sprintf("%s %03d", strings.Repeat("ä", 59), i))))
	}
	b := book(handed.History(s))
	systems := sheet(t, b, "System")
	require.Equal(t, []string{"hub H1", "hub H1"}, column(t, systems, "Name"))
	n := 0
	for _, list := range column(t, systems, "ComponentNames") {
		require.LessOrEqual(t, len(utf16.Encode([]rune(list))), register.CellMost)
		n += len(strings.Split(list, ","))
	}
	require.Equal(t, 701, n)
	holdKeys(t, b)
}

// How a device is fed and what radio it speaks stand there where somebody said so, and
// not where the log takes it for granted.
func TestNoDefaultIsWrittenAsAFact(t *testing.T) {
	bare := book(handed.Bare())
	require.NotContains(t, column(t, sheet(t, bare, "Attribute"), "Name"), "Radio")
	require.NotContains(t, column(t, sheet(t, bare, "Attribute"), "Name"), "Power")
	require.NotContains(t, column(t, sheet(t, bare, "Type"), "AssetType"), "Fixed")

	s := begun()
	s.Lead.Say("09:00", driver("1-1"))
	s.Lead.Say("09:00", events.DeviceListed{Device: "1-2", Is: events.Sensor, Hub: "H1", Radio: events.Star, Power: events.Mains})
	b := book(handed.History(s))
	rows := map[string]string{}
	for _, row := range sheet(t, b, "Attribute").Rows {
		rows[row[sheet(t, b, "Attribute").At("RowName")]+" "+row[0]] = row[sheet(t, b, "Attribute").At("Value")]
	}
	require.Equal(t, "mains", rows["1-2 Power"])
	require.Equal(t, "star", rows["1-2 Radio"])
	require.NotContains(t, rows, "1-1 Power")
	require.Equal(t, []string{"n/a", "Fixed", "n/a"}, column(t, sheet(t, b, "Type"), "AssetType"))
}
