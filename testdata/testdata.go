// Package testdata holds made-up sites: their schedules as a user would have
// them, for the demo and for tests. Everything in them is invented.
package testdata

import _ "embed"

// Bare is a schedule of three columns: 24 devices and nothing else known.
//
//go:embed bare/schedule.csv
var Bare []byte

// WorksSchedule and WorksFloors are the working site: about 480 devices on 4 hubs
// and 6 floors.
//
//go:embed works/schedule.csv
var WorksSchedule []byte

// WorksFloors lists the floors of the working site.
//
//go:embed works/floors.csv
var WorksFloors []byte

// WorksFieldSheet is an afternoon's work on paper, at the working site.
//
//go:embed works/fieldsheet.csv
var WorksFieldSheet []byte

// WorksWalls are the walls of the working site that matter to radio.
//
//go:embed works/walls.csv
var WorksWalls []byte

// WorksLinks are links measured there with test radios on the day before.
//
//go:embed works/links.csv
var WorksLinks []byte

// WorksSurvey is the Wi-Fi heard there, at some places on four floors.
//
//go:embed works/survey.csv
var WorksSurvey []byte
