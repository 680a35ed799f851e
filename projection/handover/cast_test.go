package handover_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/png"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/tale"
	"pairwalk/testdata"
)

// job is a story told second by second.
type job struct {
	*tale.Story
	t   *testing.T
	now events.Instant
}

func newJob(t *testing.T) *job {
	j := &job{Story: tale.NewAt("2026-03-03T08:00:00Z"), t: t}
	j.now = tale.T("2026-03-03T08:10:00Z")
	return j
}

func (j *job) say(ps ...events.Payload) (last *events.Event) {
	for _, p := range ps {
		j.now = j.now.Add(time.Second)
		last = j.Lead.SayAt(j.now, p)
	}
	return last
}

// takes takes in files as a user would, in the order in which one needs the other.
func (j *job) takes(files ...[]byte) {
	site := intake.Listing{}
	for _, file := range files {
		sheet, err := intake.Read(bytes.NewReader(file), intake.Options{Site: site, Region: "EU", Now: j.now.Time(), Tolerance: 5 * time.Minute})
		require.NoError(j.t, err)
		require.Empty(j.t, sheet.Problems)
		d := sheet.Diff(site)
		require.Empty(j.t, d.Problems)
		said := d.Payloads(intake.Accept{})
		j.say(said...)
		site = listed(site, said)
		for _, r := range d.Entries {
			j.Lead.SayAt(j.now, r.Payload, func(e *events.Event) { e.Told = events.NewTold(r.When, "") })
		}
	}
}

func listed(site intake.Listing, said []events.Payload) intake.Listing {
	if site.Hubs == nil {
		site = intake.Listing{
			Hubs: map[events.HubID]events.HubListed{}, Devices: map[events.Tag]events.DeviceListed{},
			Floors: map[events.FloorID]events.FloorListed{}, Rooms: map[events.RoomID]events.RoomListed{}, Walls: map[string]events.WallListed{},
		}
	}
	for _, p := range said {
		switch p := p.(type) {
		case events.HubListed:
			site.Hubs[p.Hub] = p
		case events.DeviceListed:
			site.Devices[p.Device] = p
		case events.FloorListed:
			site.Floors[p.Floor] = p
		case events.RoomListed:
			site.Rooms[p.Room] = p
		case events.WallListed:
			site.Walls[p.Wall] = p
		}
	}
	return site
}

func (j *job) source(photos ...[]byte) handover.Source {
	return handover.NewSource(j.History(), projection.Moment{}, album(photos...))
}

func (j *job) document(photos ...[]byte) handover.Document {
	return handover.Compose(j.source(photos...))
}

// album holds pictures by their checksums.
func album(photos ...[]byte) func(string) ([]byte, bool) {
	held := map[string][]byte{}
	for _, p := range photos {
		held[sumOf(p)] = p
	}
	return func(sum string) ([]byte, bool) {
		content, ok := held[sum]
		return content, ok
	}
}

func sumOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// picture is a small png.
func picture() []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 6))); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// works is the site of 480 devices under way: the cellar and floor 3 are paired and
// pushed, with what goes wrong on a job.
func works(t *testing.T) *job {
	j := newJob(t)
	j.takes(testdata.WorksFloors, testdata.WorksSchedule, testdata.WorksWalls, testdata.WorksLinks, testdata.WorksSurvey)
	site := j.Now()
	for _, h := range []events.HubID{"H1", "H4"} {
		j.say(events.HubChannel{Hub: h, Radio: events.Mesh, Channel: 25}, events.HubLoaded{Hub: h, Program: "r1", All: true}, events.HubReady{Hub: h})
	}
	for i := range site.Devices {
		d := &site.Devices[i]
		if d.Floor == "B1" && d.Hub == "H1" && i%9 != 0 || d.Floor == "3" && d.Hub == "H4" {
			j.say(events.DevicePaired{Device: d.Device, Hub: d.Hub, Serial: events.Serial("SN-" + string(d.Device)), How: events.ByButton})
		}
	}
	j.now = j.now.Add(20 * time.Minute)
	heads := map[events.FeedID]events.Head{j.Lead.Feed: j.Lead.Head()}
	j.say(events.RecordsExported{Export: "E1", Heads: heads}, events.RecordsMerged{Export: "E1"})
	j.say(events.PushDone{Hub: "H1", Program: "r1", Missed: []events.Tag{"B1-103", "B1-104"}}, events.PushDone{Hub: "H4", Program: "r1"})
	j.say(events.PowerOff{Of: events.Circuit("C1-2"), Dark: []events.Tag{"B1-105", "B1-130"}}, events.PowerOn{Of: events.Circuit("C1-2")})
	found := j.say(events.FaultFound{Of: events.Device("B1-110"), Symptom: "flickers when dimmed", Severity: events.Major, Trade: "electrical", Owner: "site electrician", Action: "look at the driver"})
	j.say(events.PhotoAdded{Of: events.Device("B1-110"), Caption: "the driver's label", Picture: events.Picture{SHA256: sumOf(picture()), Bytes: int64(len(picture())), Type: "image/png"}})
	j.say(events.FaultAssigned{Fault: found.Ref(), Trade: "electrical", Owner: "site electrician", Action: "look at the driver"})
	j.say(events.DeviceSkipped{Device: "2-301", Why: events.NoAccess, Note: "locked, key with the caretaker"})
	j.say(events.HoldPlaced{Of: events.Circuit("C4-7"), Why: "panel is open", Who: "electrician in C4-7"})
	return j
}

// bare is the list of which only tag, kind and hub are known.
func bare(t *testing.T) *job {
	j := newJob(t)
	j.takes(testdata.Bare)
	return j
}

// text renders a document's blocks as plain text.
func text(d handover.Document) string {
	var b strings.Builder
	line := func(words ...string) { b.WriteString(strings.Join(words, "") + "\n") }
	line("# ", d.Title, ": ", d.Under)
	if d.Practice {
		line("(practice)")
	}
	for _, f := range d.Facts {
		line(f[0], ": ", f[1])
	}
	line("foot: ", d.Foot)
	for _, p := range d.Parts {
		line("\n## ", p.Title, " {", p.ID, "}")
		line(p.Lead)
		b.WriteString(blocks(p.Blocks))
	}
	return b.String()
}

func blocks(bs []handover.Block) string {
	var b strings.Builder
	line := func(words ...string) { b.WriteString(strings.Join(words, "") + "\n") }
	for _, x := range bs {
		switch x := x.(type) {
		case handover.Heading:
			line("\n### ", x.Text)
		case handover.Text:
			line(x.Text)
		case handover.Caution:
			line("! ", x.Text)
		case handover.Facts:
			for _, f := range x.Rows {
				line(f[0], ": ", f[1])
			}
		case handover.Table:
			line("[", x.Caption, "]")
			heads := make([]string, len(x.Columns))
			for i, c := range x.Columns {
				heads[i] = c.Head
			}
			line("| ", strings.Join(heads, " | "), " |")
			for _, r := range x.Rows {
				line("| ", strings.Join(r, " | "), " |")
			}
			if len(x.Rows) == 0 {
				line("(", x.None, ")")
			}
		case handover.Drawing:
			line("[drawing: ", x.Caption, "]")
			for _, m := range x.Marks {
				line("  ", string(m.Shape), " ", string(m.Fill), " ", m.Label)
			}
		case handover.Photo:
			held := "held"
			if x.Content == nil {
				held = "not held"
			}
			line("[photo: ", x.Caption, ", ", held, "]")
		}
	}
	return b.String()
}

// part is the text of one part.
func part(t require.TestingT, d handover.Document, id string) string {
	for _, p := range d.Parts {
		if p.ID == id {
			return p.Lead + "\n" + blocks(p.Blocks)
		}
	}
	require.Fail(t, "no such part", id)
	return ""
}
