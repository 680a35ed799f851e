package asbuilt_test

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
)

// What was built, imported into a fresh site, is the same schedule.
func TestTakenBack(t *testing.T) {
	for name, h := range map[string]*projection.History{"works": works(), "bare": handed.Bare()} {
		t.Run(name, func(t *testing.T) {
			f, was := files(t, h), h.At(projection.Moment{})
			again := imported(t, f["csv/floors.csv"], f["csv/devices.csv"])
			hubs, devices := schedule(was)
			hubsAgain, devicesAgain := schedule(again)
			require.Equal(t, hubs, hubsAgain)
			require.Equal(t, devices, devicesAgain)
			require.NotEmpty(t, devices)
			require.Equal(t, was.Floors, again.Floors)
			require.Equal(t, was.Rooms, again.Rooms)
		})
	}
}

// Where somebody logged the real place, that is the one that comes back; what is
// struck, was found without a kind, or is called as a hub is, does not.
func TestTakenBackAsItStands(t *testing.T) {
	s := tale.New()
	s.Lead.Say("09:00", events.HubListed{Hub: "H1", Radio: events.Star})
	for _, tag := range []events.Tag{"1-1", "1-2", "1-3"} {
		s.Lead.Say("09:00", events.DeviceListed{Device: tag, Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "1"})
	}
	s.Lead.Say("09:01", events.DevicePlaced{Device: "1-1", Place: events.Point{X: -12345, Y: 50, Z: 2700}, Accuracy: 100})
	s.Lead.Say("09:02", events.DeviceStruck{Device: "1-2", Why: "drawn twice"})
	s.Lead.Say("09:03", events.DeviceRenamed{From: "1-3", To: "1-30"})
	s.Lead.Say("09:04", events.DevicePaired{Device: "7-7", Hub: "H1", How: events.ByButton})
	s.Lead.Say("09:05", events.DeviceListed{Device: "H1", Is: events.Sensor, Hub: "H1", Radio: events.Star, Power: events.Battery})
	f := files(t, handed.HistoryIn(s, "Europe/Vienna"))
	again := imported(t, f["csv/floors.csv"], f["csv/devices.csv"])
	_, devices := schedule(again)
	require.Len(t, devices, 2)
	require.Equal(t, events.Some(events.Point{X: -12345, Y: 50, Z: 2700}), devices[0].Place)
	require.Equal(t, events.Tag("1-30"), devices[1].Device)
	require.Equal(t, events.Star, again.Hubs[0].Radio)

	record := rows(t, f["csv/serials.csv"])
	var tags []string
	for _, r := range record {
		tags = append(tags, r["tag"])
	}
	require.Equal(t, []string{"1-1", "1-2", "1-30", "7-7", "H1"}, tags, "the record has them all")
	require.Equal(t, "drawn twice", record[1]["struck_why"])
	require.Equal(t, "2026-03-02T10:02:00+01:00", record[1]["struck_at"], "in the site's zone")
	require.Equal(t, "1-3", record[2]["was"])
	require.Equal(t, "0.1", record[0]["accuracy_m"])
	hub := rows(t, f["csv/hubs.csv"])[0]
	require.Equal(t, []string{"3", "1"}, []string{hub["listed"], hub["paired"]})
}

// text draws what people write, with all that means something to a spreadsheet or
// to CSV, but no blanks at its ends.
func text() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.StringMatching(`[=+\-@'"a,;]{1,3}( ?["',;=\-é💡]){0,3}`),
		rapid.SampledFrom([]string{"=1+1", "-5", "'-5", "''=x", "-5.0", "+1", "@a", "\"", "a\nb", "2-10", "1e5", "TRUE", "007"}),
	)
}

// Whatever a schedule says comes back.
func TestTakenBackWhateverItSays(t *testing.T) {
	name := text().Filter(func(s string) bool { return events.CheckName(s) == nil })
	line := text().Filter(func(s string) bool { return events.CheckName(s) == nil })
	rapid.Check(t, func(t *rapid.T) {
		s := tale.New()
		s.Lead.Say("09:00", events.FloorListed{Floor: "1", Level: rapid.IntRange(-9, 99).Draw(t, "level"), Elevation: events.Some(rapid.Int64Range(-9999, 99999).Draw(t, "elevation"))})
		hub := events.HubID(name.Draw(t, "hub"))
		s.Lead.Say("09:00", events.HubListed{Hub: hub, Note: text().Draw(t, "note of the hub")})
		for i := range rapid.IntRange(1, 5).Draw(t, "devices") {
			d := events.DeviceListed{
				Device: events.Tag(fmt.Sprint(name.Draw(t, "tag"), i)), Is: rapid.SampledFrom(events.DeviceKinds).Draw(t, "kind"), Hub: hub,
				Radio: rapid.SampledFrom(events.Radios).Draw(t, "radio"), Power: rapid.SampledFrom(events.Powers).Draw(t, "power"),
				Emergency: rapid.Bool().Draw(t, "emergency"), Maker: line.Draw(t, "maker"), Model: line.Draw(t, "model"), Type: line.Draw(t, "type"),
				Circuit: events.CircuitID(name.Draw(t, "circuit")), Note: text().Draw(t, "note"), WarrantyMonths: rapid.IntRange(0, 1200).Draw(t, "months"),
				WarrantyStart: "2026-04-01", Room: events.RoomID(name.Draw(t, "room")), Floor: "1",
			}
			if rapid.Bool().Draw(t, "placed") {
				d.Place = events.Some(events.Point{X: rapid.Int64Range(-99999, 99999).Draw(t, "x"), Y: rapid.Int64Range(-99999, 99999).Draw(t, "y"), Z: rapid.Int64Range(-9999, 99999).Draw(t, "z")})
			}
			s.Lead.Say("09:00", d)
		}
		h := s.History()
		f := files(t, h)
		again := imported(t, f["csv/floors.csv"], f["csv/devices.csv"])
		hubs, devices := schedule(h.At(projection.Moment{}))
		hubsAgain, devicesAgain := schedule(again)
		require.Equal(t, hubs, hubsAgain)
		require.Equal(t, devices, devicesAgain)
		require.Equal(t, h.At(projection.Moment{}).Floors, again.Floors)
	})
}

// Measured links come back too, with what they said and when.
func TestLinksTakenBack(t *testing.T) {
	h := works()
	site := h.At(projection.Moment{})
	opt := intake.Options{Site: intake.Listing{Devices: map[events.Tag]events.DeviceListed{}}}
	for _, d := range site.Devices {
		opt.Site.Devices[d.Device] = *d.DeviceListed
	}
	sheet, err := intake.Read(bytes.NewReader(files(t, h)["csv/links.csv"]), opt)
	require.NoError(t, err)
	require.Equal(t, intake.Links, sheet.Kind)
	require.Empty(t, sheet.Problems)
	require.Len(t, sheet.Rows, len(site.Links))
	require.NotEmpty(t, sheet.Rows)
	for i, l := range site.Links {
		require.Equal(t, l.LinkMeasured, sheet.Rows[i].Payload)
		require.Equal(t, l.Measured.At/1000, sheet.Rows[i].When.Value.From/1000)
	}
}
