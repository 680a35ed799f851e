package register_test

import (
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection"
	"pairwalk/projection/handover/cobie/register"
	"pairwalk/testdata/handed"
)

// works is the job of the works, told once: nothing here changes it.
var works = sync.OnceValue(handed.Works)

func book(h *projection.History) register.Book {
	return register.Of(h, projection.Moment{}, h.At(projection.Moment{}))
}

func sheet(t *testing.T, b register.Book, name string) register.Sheet {
	t.Helper()
	s, ok := b.Sheet(name)
	require.True(t, ok, name)
	return s
}

// column is what the rows of a sheet say in one column.
func column(t *testing.T, s register.Sheet, name string) []string {
	t.Helper()
	at := s.At(name)
	require.GreaterOrEqual(t, at, 0, "%s.%s", s.Name, name)
	var out []string
	for _, row := range s.Rows {
		out = append(out, row[at])
	}
	return out
}

// cell is what the row of a key says in one column.
func cell(t *testing.T, s register.Sheet, key, name string) string {
	t.Helper()
	for i, k := range column(t, s, s.Columns[0].Name) {
		if k == key {
			return column(t, s, name)[i]
		}
	}
	require.Failf(t, "no row", "%s %q", s.Name, key)
	return ""
}

// The columns of COBie 2.4 in their order. Component, Type, Space and System: values
// from a secondary text, and the same in the template files COBie2_24_template_*.csv
// of IBM's open-source COBie parser, which Contact, Facility, Floor and Attribute are
// from. Issue: from one open checker's schema and from memory.
func TestColumns(t *testing.T) {
	want := [][2]string{
		{"Contact", "Email,CreatedBy,CreatedOn,Category,Company,Phone,ExternalSystem,ExternalObject,ExternalIdentifier,Department,OrganizationCode,GivenName,FamilyName,Street,PostalBox,Town,StateRegion,PostalCode,Country"},
		{"Facility", "Name,CreatedBy,CreatedOn,Category,ProjectName,SiteName,LinearUnits,AreaUnits,VolumeUnits,CurrencyUnit,AreaMeasurement,ExternalSystem,ExternalProjectObject,ExternalProjectIdentifier,ExternalSiteObject,ExternalSiteIdentifier,ExternalFacilityObject,ExternalFacilityIdentifier,Description,ProjectDescription,SiteDescription,Phase"},
		{"Floor", "Name,CreatedBy,CreatedOn,Category,ExtSystem,ExtObject,ExtIdentifier,Description,Elevation,Height"},
		{"Space", "Name,CreatedBy,CreatedOn,Category,FloorName,Description,ExtSystem,ExtObject,ExtIdentifier,RoomTag,UsableHeight,GrossArea,NetArea"},
		{"Type", "Name,CreatedBy,CreatedOn,Category,Description,AssetType,Manufacturer,ModelNumber,WarrantyGuarantorParts,WarrantyDurationParts,WarrantyGuarantorLabor,WarrantyDurationLabor,WarrantyDurationUnit,ExtSystem,ExtObject,ExtIdentifier,ReplacementCost,ExpectedLife,DurationUnit,WarrantyDescription,NominalLength,NominalWidth,NominalHeight,ModelReference,Shape,Size,Color,Finish,Grade,Material,Constituents,Features,AccessibilityPerformance,CodePerformance,SustainabilityPerformance"},
		{"Component", "Name,CreatedBy,CreatedOn,TypeName,Space,Description,ExtSystem,ExtObject,ExtIdentifier,SerialNumber,InstallationDate,WarrantyStartDate,TagNumber,BarCode,AssetIdentifier"},
		{"System", "Name,CreatedBy,CreatedOn,Category,ComponentNames,ExtSystem,ExtObject,ExtIdentifier,Description"},
		{"Attribute", "Name,CreatedBy,CreatedOn,Category,SheetName,RowName,Value,Unit,ExtSystem,ExtObject,ExtIdentifier,Description,AllowedValues"},
		{"Issue", "Name,CreatedBy,CreatedOn,Type,Risk,Chance,Impact,SheetName1,RowName1,SheetName2,RowName2,Description,Owner,Mitigation,ExtSystem,ExtObject,ExtIdentifier"},
	}
	b := book(works())
	require.Len(t, b.Sheets, len(want))
	for i, w := range want {
		var names []string
		for _, c := range b.Sheets[i].Columns {
			names = append(names, c.Name)
		}
		require.Equal(t, w[0], b.Sheets[i].Name)
		require.Equal(t, w[1], strings.Join(names, ","), w[0])
		require.NotEmpty(t, b.Sheets[i].Rows, w[0])
	}
}

// Which columns refuse n/a, and which hold numbers: COBieRules.sch of the open-source
// COBie plug-ins of opensourceBIM, whose messages say "n/a is unacceptable" of the
// first and check the second as numbers or n/a.
func TestWhatRefusesUnknown(t *testing.T) {
	want := map[string][2]string{
		"Contact":   {"Email CreatedBy CreatedOn Category Company Phone", ""},
		"Facility":  {"Name CreatedBy CreatedOn Category ProjectName SiteName LinearUnits AreaUnits VolumeUnits CurrencyUnit AreaMeasurement", ""},
		"Floor":     {"Name CreatedBy CreatedOn Category", "Elevation Height"},
		"Space":     {"Name CreatedBy CreatedOn Category FloorName Description", "UsableHeight GrossArea NetArea"},
		"Component": {"Name CreatedBy CreatedOn TypeName Space Description InstallationDate WarrantyStartDate", ""},
		"System":    {"Name CreatedBy CreatedOn Category ComponentNames", ""},
	}
	b := book(handed.Bare())
	for name, w := range want {
		var needed, numbers []string
		for _, c := range sheet(t, b, name).Columns {
			if c.Needed {
				needed = append(needed, c.Name)
			}
			if c.Number {
				numbers = append(numbers, c.Name)
			}
		}
		require.Equal(t, w[0], strings.Join(needed, " "), name)
		require.Equal(t, w[1], strings.Join(numbers, " "), name)
	}
}

// Every row has a cell for every column, and no cell is empty.
func TestNoCellIsEmpty(t *testing.T) {
	for _, h := range []*projection.History{works(), handed.Bare(), {}} {
		for _, s := range book(h).Sheets {
			for _, row := range s.Rows {
				require.Len(t, row, len(s.Columns), s.Name)
				for i, c := range row {
					require.NotEmpty(t, c, "%s.%s of %s", s.Name, s.Columns[i].Name, row[0])
				}
			}
		}
	}
}
