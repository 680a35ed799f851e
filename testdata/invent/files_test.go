package invent_test

import (
	"bytes"
	"flag"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/testdata/invent"
)

var update = flag.Bool("update", false, "write the files of testdata anew")

// golden compares a sheet with the committed file, which is what everybody
// imports in tests.
func golden(t *testing.T, path string, f invent.File) []byte {
	t.Helper()
	var got bytes.Buffer
	require.NoError(t, intake.WriteCSV(&got, f.Header, f.Rows))
	if *update {
		require.NoError(t, os.WriteFile(path, got.Bytes(), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run the test with -update")
	require.Equal(t, string(want), got.String(), "%s is not what the code invents; run the test with -update", path)
	return want
}

func read(t *testing.T, file []byte, opt intake.Options) intake.Sheet {
	t.Helper()
	sheet, err := intake.Read(bytes.NewReader(file), opt)
	require.NoError(t, err)
	require.Empty(t, sheet.Problems)
	require.Empty(t, sheet.Notes)
	return sheet
}

func TestTheBareListIsTagKindAndHub(t *testing.T) {
	sheet := read(t, golden(t, "../bare/schedule.csv", invent.Bare()), intake.Options{})
	require.Equal(t, []string{"tag", "kind", "hub"}, sheet.Columns())
	require.Len(t, sheet.Rows, 24)

	site := listing(sheet.Diff(intake.Listing{}))
	require.Len(t, site.Hubs, 2)
	require.Len(t, site.Devices, 24)
}

func TestTheWorksHaveAllThatASiteMayHave(t *testing.T) {
	files := invent.Works()
	floors := read(t, golden(t, "../works/floors.csv", files.Floors), intake.Options{})
	schedule := read(t, golden(t, "../works/schedule.csv", files.Schedule), intake.Options{})
	site := listing(floors.Diff(intake.Listing{}), schedule.Diff(intake.Listing{}))
	golden(t, "../works/walls.csv", files.Walls)
	golden(t, "../works/links.csv", files.Links)
	golden(t, "../works/survey.csv", files.Survey)

	require.Len(t, site.Floors, 6)
	require.Equal(t, -1, site.Floors["B1"].Level)
	require.Len(t, site.Hubs, 4)
	require.Len(t, site.Devices, 480)

	has := map[string]int{}
	for _, d := range site.Devices {
		require.Contains(t, site.Hubs, d.Hub)
		require.Contains(t, site.Rooms, d.Room)
		require.Contains(t, site.Floors, d.Floor)
		has[string(d.Is)]++
		has[string(d.Radio)]++
		has[string(d.Power)]++
		if d.Emergency {
			has["emergency"]++
		}
		if d.Place.Known {
			has["placed on "+string(d.Floor)]++
		}
	}
	for _, k := range events.DeviceKinds {
		require.Positive(t, has[string(k)], "no %s", k)
	}
	require.Positive(t, has["star"])
	require.Positive(t, has["battery"])
	require.Positive(t, has["emergency"])
	require.Less(t, has["emergency"], 10)
	require.Equal(t, 80, has["placed on B1"], "the basement has a plan")
	require.Zero(t, has["placed on 2"], "floor 2 has none")
}

func TestTheFieldSheetFitsTheSchedule(t *testing.T) {
	files := invent.Works()
	var schedule bytes.Buffer
	require.NoError(t, intake.WriteCSV(&schedule, files.Schedule.Header, files.Schedule.Rows))
	site := listing(read(t, schedule.Bytes(), intake.Options{}).Diff(intake.Listing{}))

	sheet := read(t, golden(t, "../works/fieldsheet.csv", files.FieldSheet), intake.Options{
		Site: site, Day: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC), Tolerance: 5 * time.Minute,
	})
	require.Len(t, sheet.Rows, 13, "twelve lines, and a note that goes with a pairing")
	for _, r := range sheet.Rows {
		require.True(t, r.When.Known)
	}
}

// listing is what a site would have after these imports.
func listing(diffs ...intake.Diff) intake.Listing {
	l := intake.Listing{}
	for _, d := range diffs {
		l = listed(l, d.Payloads(intake.Accept{}))
	}
	return l
}
