package register

// external are the columns that lead back to the log.
const external = " ExtSystem ExtObject ExtIdentifier "

// The sheets with their columns; ! marks those that refuse n/a, # numbers. For the
// sources see the package's own text.
var layouts = []struct{ name, columns string }{
	{"Contact", `Email! CreatedBy! CreatedOn! Category! Company! Phone! ExternalSystem ExternalObject
		ExternalIdentifier Department OrganizationCode GivenName FamilyName Street PostalBox Town
		StateRegion PostalCode Country`},
	{"Facility", `Name! CreatedBy! CreatedOn! Category! ProjectName! SiteName! LinearUnits! AreaUnits!
		VolumeUnits! CurrencyUnit! AreaMeasurement! ExternalSystem ExternalProjectObject
		ExternalProjectIdentifier ExternalSiteObject ExternalSiteIdentifier ExternalFacilityObject
		ExternalFacilityIdentifier Description ProjectDescription SiteDescription Phase`},
	{"Floor", `Name! CreatedBy! CreatedOn! Category!` + external + `Description Elevation# Height#`},
	{"Space", `Name! CreatedBy! CreatedOn! Category! FloorName! Description!` + external +
		`RoomTag UsableHeight# GrossArea# NetArea#`},
	{"Type", `Name! CreatedBy! CreatedOn! Category! Description! AssetType! Manufacturer! ModelNumber!
		WarrantyGuarantorParts! WarrantyDurationParts# WarrantyGuarantorLabor! WarrantyDurationLabor#
		WarrantyDurationUnit!` + external + `ReplacementCost# ExpectedLife# DurationUnit!
		WarrantyDescription NominalLength# NominalWidth# NominalHeight# ModelReference Shape Size Color
		Finish Grade Material Constituents Features AccessibilityPerformance CodePerformance
		SustainabilityPerformance`},
	{"Component", `Name! CreatedBy! CreatedOn! TypeName! Space! Description!` + external + `SerialNumber
		InstallationDate! WarrantyStartDate! TagNumber BarCode AssetIdentifier`},
	{"System", `Name! CreatedBy! CreatedOn! Category! ComponentNames!` + external + `Description`},
	{"Attribute", `Name! CreatedBy! CreatedOn! Category! SheetName! RowName! Value! Unit` + external +
		`Description AllowedValues`},
	{"Issue", `Name! CreatedBy! CreatedOn! Type! Risk! Chance! Impact! SheetName1! RowName1! SheetName2
		RowName2 Description Owner Mitigation` + external},
}
