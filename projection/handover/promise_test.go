package handover_test

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/tale"
	"pairwalk/projection/walk"
)

// row finds the row of a table by its caption and first cell.
func row(t require.TestingT, d handover.Document, id, caption, first string) []string {
	for _, r := range table(t, d, id, caption).Rows {
		if r[0] == first {
			return r
		}
	}
	require.Fail(t, "no such row", "%s: %s: %s", id, caption, first)
	return nil
}

func table(t require.TestingT, d handover.Document, id, caption string) handover.Table {
	for _, p := range d.Parts {
		for _, b := range p.Blocks {
			if x, ok := b.(handover.Table); ok && p.ID == id && x.Caption == caption {
				return x
			}
		}
	}
	require.Fail(t, "no such table", "%s: %s", id, caption)
	return handover.Table{}
}

// In the works, the wing of floor 3 hangs on the corridor's circuit, and the boiler
// house on the passage's: rooms with power of their own stop answering without them.
func TestTheCaretakerLearnsWhichBreakerCutsOffAnotherRoom(t *testing.T) {
	d := works(t).document()
	words := part(t, d, "caretaker")
	require.Contains(t, words, "first look whether circuit C4-7 is on: room 3-R08 (3-157..3-164), room 3-R10 (3-173..3-180).")
	require.Contains(t, words, "first look whether circuit C1-5 is on: room B1-R09")
	r := row(t, d, "caretaker", "Floor 3: what must stay on", "circuit C4-7")
	require.Equal(t, "room 3-R07 (3-149..3-156)", r[1])
	require.Equal(t, "room 3-R08 (3-157..3-164), room 3-R10 (3-173..3-180)", r[2])
	require.Contains(t, r[3], "ways: worked out from the paths")
	r = row(t, d, "caretaker", "Floor B1: what must stay on", "circuit C1-3")
	require.Equal(t, "room B1-R02 (B1-109..B1-116), room B1-R03 (B1-117..B1-120, B1-122..B1-124)", r[1], "B1-121 is a sensor on batteries")
	r = row(t, d, "caretaker", "Floor B1: what must stay on", "circuit C1-2")
	require.Contains(t, r[3], "supply of B1-105, B1-130: learned", "seen to go dark with it, a sensor on batteries and one that is scheduled elsewhere")
}

// A wall switch that was seen to darken other positions is a thing to keep on.
func TestTheCaretakerLearnsWhichSwitchDarkensOthers(t *testing.T) {
	j := bare(t)
	j.say(events.PowerOff{Of: events.Device("0-107"), Dark: []events.Tag{"0-102", "1-103"}}, events.PowerOn{Of: events.Device("0-107")})
	wrong := j.say(events.PowerOff{Of: events.Device("1-107"), Dark: []events.Tag{"1-102"}})
	j.say(events.EventVoided{Event: wrong.Ref(), Why: events.DidNotHappen})
	r := row(t, j.document(), "caretaker", "Floor not known: what must stay on", "0-107")
	require.Equal(t, "0-102, 1-103", r[1])
	require.Contains(t, r[3], "learned")
	require.NotContains(t, part(t, j.document(), "caretaker"), "\n| 1-107")
}

func TestTheElectricianFindsWhatIsWrongByCircuit(t *testing.T) {
	d := works(t).document()
	words := part(t, d, "electrician")
	require.Contains(t, words, "### Circuit C1-3\n! Isolate this circuit first")
	require.Equal(t, []string{"B1-110", "B1, B1-R02", "driver", "fault, major: flickers when dimmed; trade: electrical; to be done: look at the driver"},
		row(t, d, "electrician", "Circuit C1-3: what to look at", "B1-110"))
	require.Contains(t, row(t, d, "electrician", "Circuit C1-2: what to look at", "B1-103")[3], "missed the push")
	require.Contains(t, row(t, d, "electrician", "Circuit not known: what to look at", "2-301")[3], "locked, key with the caretaker")
	headings := strings.Count(words, "### Circuit C")
	require.Equal(t, headings, strings.Count(words, "! Isolate this circuit first"), "each circuit has its caution")
	require.Contains(t, words, walk.CautionPermit)
}

// What nobody said appears nowhere, and is asked for.
func TestNothingIsMadeUp(t *testing.T) {
	d := bare(t).document()
	for i, column := range table(t, d, "devices", "All devices: what they are and where they sit").Columns {
		for _, r := range table(t, d, "devices", "All devices: what they are and where they sit").Rows {
			if slices.Contains([]string{"Serial", "Floor, room", "Circuit", "Maker, model, type, warranty"}, column.Head) {
				require.Empty(t, r[i], "%s of %s", column.Head, r[0])
			}
		}
	}
	all := "0-101..0-108, 1-101..1-108, B1-101..B1-108"
	for _, what := range []string{"Maker", "Model", "Type", "Start of warranty", "Months of warranty", "Serial", "Floor", "Room", "Place on the plan"} {
		require.Equal(t, []string{what, "24", all}, row(t, d, "office", "What is missing", what))
	}
	require.Equal(t, "H1, H2", row(t, d, "office", "What is missing", "Circuit of a hub")[2])
	require.Contains(t, part(t, d, "floors"), "no places are known")
	require.NotContains(t, part(t, d, "floors"), "[drawing")
	require.Contains(t, part(t, d, "caretaker"), "To find out: on which breaker these positions are: 0-101..0-104")
	require.NotContains(t, part(t, d, "caretaker"), "look whether")

	full := works(t).document()
	for _, r := range table(t, full, "office", "What is missing").Rows {
		if r[0] == "Maker" {
			require.Equal(t, "2-301", r[2], "of all others the maker is known")
		}
	}
	require.Contains(t, text(full), "Hollow Lane Lighting")
	require.NotContains(t, text(d), "Hollow Lane")
}

// lot draws devices of all sorts, and says what each is called in the end.
func lot(t *rapid.T, s *tale.Story) (tags []events.Tag) {
	for i := range rapid.IntRange(0, 12).Draw(t, "devices") {
		tag := events.Tag(fmt.Sprintf("%d-%d", rapid.IntRange(1, 3).Draw(t, "floor"), i))
		tags = append(tags, tag)
		row := lamp(tag, events.RoomID(rapid.SampledFrom([]string{"", "101", "102"}).Draw(t, "room")), int64(i)*900, 0, "")
		row.Floor = events.FloorID(rapid.SampledFrom([]string{"", "1", "roof"}).Draw(t, "on"))
		row.Place.Known = rapid.Bool().Draw(t, "placed")
		switch rapid.IntRange(0, 5).Draw(t, "lot") {
		case 0:
			s.Lead.Say("08:02", events.DeviceSkipped{Device: tag, Why: events.NoAccess}) // on no schedule
		case 1:
			s.Lead.Say("08:02", row)
			s.Lead.Say("08:03", events.DeviceStruck{Device: tag, Why: "not wanted"})
		case 2:
			s.Lead.Say("08:02", row)
			s.Lead.Say("08:03", events.DevicePaired{Device: tag, Hub: "H1"})
		case 3:
			s.Lead.Say("08:02", row)
			s.Lead.Say("08:03", events.DeviceRenamed{From: tag, To: "new-" + tag})
			tags[len(tags)-1] = "new-" + tag
		default:
			s.Lead.Say("08:02", row)
		}
	}
	return tags
}

func TestEveryDeviceIsInTheTable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := tale.New()
		s.Lead.Say("08:01", events.HubListed{Hub: "H1"})
		tags := lot(t, s)
		d := handover.Compose(handover.NewSource(s.History(), projection.Moment{}, nil))
		how := table(t, d, "devices", "How devices came into service")
		var all, idle []events.Tag // the idle ones are named below the table
		for _, x := range s.Now().Devices {
			all = append(all, x.Device)
			if !slices.ContainsFunc(how.Rows, func(r []string) bool { return r[0] == string(x.Device) }) {
				idle = append(idle, x.Device)
			}
		}
		if len(idle) > 0 {
			require.Contains(t, part(t, d, "devices"), " nothing of the sort is entered: "+events.RangesOf(all).Of(idle)+".")
		}
		what := table(t, d, "devices", "All devices: what they are and where they sit")
		require.Len(t, how.Rows, len(tags)-len(idle))
		require.Len(t, what.Rows, len(tags))
		var floors strings.Builder
		for _, p := range d.Parts {
			if p.ID == "floors" {
				floors.WriteString(blocks(p.Blocks))
			}
		}
		for _, tag := range tags {
			require.Contains(t, floors.String(), "| "+string(tag)+" |")
		}
		for _, p := range d.Parts {
			for _, b := range p.Blocks {
				if x, ok := b.(handover.Table); ok {
					for _, r := range x.Rows {
						require.Len(t, r, len(x.Columns), x.Caption)
					}
				}
			}
		}
	})
}

// Whoever follows the words of the inspector's part draws the same sample.
func TestTheSampleIsDrawnAgainByTheWordsOfThePack(t *testing.T) {
	j := works(t)
	src := j.source()
	drawn := 0
	for _, g := range src.Book.Groups {
		lot := func(tag events.Tag) []byte {
			d, ok := src.Site.Device(tag)
			require.True(t, ok)
			sum := sha256.Sum256([]byte(strings.Join([]string{string(src.Site.ID), string(g.Test), d.Maker, d.Model, d.Type, g.Geometry, string(tag)}, "\x00")))
			return sum[:]
		}
		byLot := slices.Clone(g.Devices)
		slices.SortFunc(byLot, func(a, b events.Tag) int { return bytes.Compare(lot(a), lot(b)) })
		n := (len(byLot)*int(src.Book.Rule.Share) + 99) / 100
		want := slices.Sorted(slices.Values(byLot[:n]))
		require.ElementsMatch(t, want, g.Drawn)
		drawn += n
	}
	require.Positive(t, drawn)
	require.Contains(t, part(t, handover.Compose(src), "inspector"), string(src.Site.ID))
}

func TestPracticeIsSaidAndARealJobIsNot(t *testing.T) {
	d := small(t).document()
	require.True(t, d.Practice)
	require.Contains(t, page(t, d), "Practice: this site is made up")
	d.Practice = false
	require.NotContains(t, page(t, d), "Practice: this site")
}

func TestThePictureThatIsNotHeldOrIsAnother(t *testing.T) {
	j := small(t)
	shown := func(photo func(string) ([]byte, bool)) (held, gone int) {
		for _, p := range handover.Compose(handover.NewSource(j.History(), projection.Moment{}, photo)).Parts {
			for _, b := range p.Blocks {
				if x, ok := b.(handover.Photo); ok && x.Content != nil {
					held++
				} else if ok {
					gone++
				}
			}
		}
		return held, gone
	}
	held, gone := shown(album(picture()))
	require.Equal(t, [2]int{1, 1}, [2]int{held, gone})
	held, gone = shown(nil)
	require.Equal(t, [2]int{0, 2}, [2]int{held, gone})
	held, _ = shown(func(string) ([]byte, bool) { return []byte("another"), true })
	require.Zero(t, held, "what is not what its checksum says is not shown")
}

func TestAnEmptyLogMakesAPack(t *testing.T) {
	d := handover.Compose(handover.NewSource(new(projection.History), projection.Moment{}, nil))
	require.Len(t, d.Parts, 14)
	require.Contains(t, part(t, d, "floors"), "neither floors nor devices")
	require.NotEmpty(t, page(t, d))
}
