package asbuilt_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/handover/asbuilt"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
	"pairwalk/testdata/invent"
)

// The files of a pack, in their order.
func TestFiles(t *testing.T) {
	list, err := asbuilt.Files(handover.NewSource(works(), projection.Moment{}, nil))
	require.NoError(t, err)
	var names []string
	for _, f := range list {
		names = append(names, f.Name)
	}
	require.Equal(t, []string{
		"csv/devices.csv", "csv/floors.csv", "csv/links.csv", "csv/serials.csv", "csv/hubs.csv", "csv/circuits.csv",
		"csv/tests.csv", "csv/faults.csv", "csv/entries.csv",
	}, names)
}

// Every file is CSV as RFC 4180 has it: lines end in CRLF, and every row has a cell
// for each heading. None begins as a formula.
func TestForm(t *testing.T) {
	runs := regexp.MustCompile(`^[=+@\t\r]|^-[^0-9]|^-[0-9.]*[^0-9.]`)
	for _, h := range []*projection.History{works(), handed.Bare(), {}} {
		for name, file := range files(t, h) {
			require.True(t, bytes.HasSuffix(file, []byte("\r\n")), name)
			require.Equal(t, bytes.Count(file, []byte("\n")), bytes.Count(file, []byte("\r\n")), name)
			read := csv.NewReader(bytes.NewReader(file))
			all, err := read.ReadAll()
			require.NoError(t, err, name)
			for _, row := range all {
				for i, cell := range row {
					require.False(t, runs.MatchString(cell), "%s: %q", name, cell)
					require.NotEmpty(t, all[0][i], name)
				}
			}
		}
	}
}

// The record says of each position what the site says of it.
func TestSerials(t *testing.T) {
	h := works()
	site := h.At(projection.Moment{})
	record := rows(t, files(t, h)["csv/serials.csv"])
	require.Len(t, record, len(site.Devices))
	for i, d := range site.Devices {
		r := record[i]
		require.Equal(t, string(d.Device), r["tag"])
		require.Equal(t, string(d.Serial), r["serial"])
		require.Equal(t, string(d.State), r["state"])
		require.Equal(t, d.Paired != nil, r["paired_at"] != "")
		require.Equal(t, d.Pushed != nil, r["pushed_at"] != "")
		if d.Paired != nil {
			require.Equal(t, string(d.Paired.Hub), r["paired_to"])
			require.Equal(t, site.DoneBy(d.Paired.Event), r["paired_by"])
			require.Equal(t, d.Paired.At.Time().Format("2006-01-02T15:04:05Z07:00"), r["paired_at"])
		}
		if d.Fitted != nil {
			require.Equal(t, d.Fitted.Ref().String(), r["serial_ref"])
		}
	}
	require.Equal(t, "SN-99001", record[1]["serial"])
	require.NotEmpty(t, record[1]["replaced_at"])
	require.Contains(t, record[4]["label"]+record[5]["label"], "(01)05412345000013(21)SN-")
}

// Hubs, circuits, tests and faults of the works.
func TestWhatElseWasBuilt(t *testing.T) {
	h := works()
	site := h.At(projection.Moment{})
	f := files(t, h)

	hubs := rows(t, f["csv/hubs.csv"])
	require.Len(t, hubs, 4)
	require.Equal(t, "11", hubs[0]["mesh_channel"])
	require.Equal(t, "r1", hubs[0]["pushed_program"])
	listed := 0
	for _, r := range hubs {
		var n int
		_, err := fmt.Sscan(r["listed"], &n)
		require.NoError(t, err)
		listed += n
	}
	require.Equal(t, 480, listed)

	dark := site.Devices[200].Device
	how := map[string]string{}
	for _, r := range rows(t, f["csv/circuits.csv"]) {
		how[r["circuit"]+" "+r["tag"]] = r["known_by"]
	}
	require.Equal(t, "went dark", how[string(site.Devices[4].Circuit)+" "+string(dark)])
	for _, d := range site.Devices[:8] {
		want := map[bool]string{true: "schedule", false: ""}[d.Power == events.Mains]
		require.Equal(t, want, how[string(d.Circuit)+" "+string(d.Device)], "%s, which runs on %s", d.Device, d.Power)
	}

	faults := rows(t, f["csv/faults.csv"])
	require.Len(t, faults, 3)
	require.Equal(t, "'=1+1 is on the door\nand the light stays on", faults[1]["symptom"], "text behind an apostrophe; encoding/csv reads CRLF as LF")
	require.Equal(t, []string{"open", "open", "cleared"}, []string{faults[0]["state"], faults[1]["state"], faults[2]["state"]})
	require.NotEmpty(t, faults[2]["cleared_at"])
}

// The tests are those of the book, with every result there is.
func TestTests(t *testing.T) {
	src := handover.NewSource(works(), projection.Moment{}, nil)
	tests := rows(t, files(t, works())["csv/tests.csv"])
	states, results := map[string]int{}, map[string]map[string]string{}
	for _, r := range tests {
		if r["ref"] != "" {
			require.Nil(t, results[r["ref"]], "a result stands once")
			results[r["ref"]] = r
		}
		states[r["state"]]++
	}
	require.Len(t, results, len(src.Site.Checks))
	require.Len(t, results, 2)
	owed := 0
	for _, room := range src.Book.Rooms {
		owed += room.Owed()
	}
	require.Equal(t, owed, states["owed"]+states["failed"]+states["stale"])
	for _, c := range src.Site.Checks {
		r := results[c.Done.Ref().String()]
		require.NotNil(t, r)
		require.Equal(t, []string{c.Of.String(), string(c.Test), c.Reading, c.Instrument, c.Limit, c.Note},
			[]string{r["of"], r["test"], r["reading"], r["instrument"], r["held_against"], r["note"]})
		require.Equal(t, c.Pass, r["result"] == "pass")
	}
	planned := 0
	for _, r := range tests {
		if r["asked_by"] == "plan" {
			planned++
			require.Contains(t, r["limits"], "off_within_s=1200")
		}
	}
	require.Equal(t, 1, planned)
}

// The log in words has every entry, also those that were withdrawn, that don't count
// or that nobody understands.
func TestEntries(t *testing.T) {
	s := tale.New()
	bo := s.Join("bo", events.Tech)
	viewer := s.Join("vi", events.Viewer)
	bo.Compare("08:30", s.Lead, time.Second)
	wrong := bo.Say("09:00", events.DevicePaired{Device: "1-1", Hub: "H1", How: events.ByButton})
	bo.Say("09:10", events.EventVoided{Event: wrong.Ref(), Why: events.WrongDetail, Note: "it was 1-2"})
	viewer.Hear(bo)
	viewer.Say("09:20", events.NoteAdded{Of: events.Room("hall 2"), Text: "=nice"})
	bo.Say("09:30", events.NoteAdded{Of: events.Site(), Text: "done"}, tale.By("Cy"), tale.When("09:25", "09:27"))
	bo.Mumble("09:40")
	h := s.History()
	entries := rows(t, files(t, h)["csv/entries.csv"])
	require.Len(t, entries, h.Len())
	by := map[string]map[string]string{}
	for _, r := range entries {
		by[r["ref"]] = r
	}
	for _, e := range h.Ordered() {
		r := by[e.Ref().String()]
		require.NotNil(t, r)
		require.Equal(t, string(e.Kind()), r["kind"])
		require.Equal(t, e.Payload.String(), strings.TrimPrefix(r["words"], "'"))
	}
	require.Equal(t, "wrong-detail: it was 1-2", by[wrong.Ref().String()]["withdrawn"])
	n := len(entries)
	require.Equal(t, "note.sung", entries[n-1]["kind"])
	require.Equal(t, []string{"Cy", "bo", "typed", "2026-03-02T09:26:00.000Z"}, []string{entries[n-2]["by"], entries[n-2]["recorded_by"], entries[n-2]["clock"], entries[n-2]["at"]})
	require.Equal(t, "site", by[wrong.Ref().String()]["clock"])
	require.Equal(t, "not compared", entries[n-3]["clock"])
	require.NotEmpty(t, entries[n-3]["quarantined"], "a viewer's word is kept and does not count")
	require.Equal(t, "room:hall 2", entries[n-3]["about"])
}

// The same log gives the same bytes: again, and in another process.
func TestSameBytes(t *testing.T) {
	sum := func() string {
		list, err := asbuilt.Files(handover.NewSource(works(), projection.Moment{}, nil))
		require.NoError(t, err)
		return fmt.Sprintf("%x", sha256.Sum256(fmt.Append(nil, list)))
	}
	if os.Getenv("PAIRWALK_TEST_SUM") != "" {
		fmt.Println("sum", sum())
		return
	}
	one := sum()
	require.Equal(t, one, sum())
	other := exec.Command(os.Args[0], "-test.run=^TestSameBytes$")
	other.Env = append(os.Environ(), "PAIRWALK_TEST_SUM=1", "TZ=Asia/Tokyo", "LANG=de_AT.UTF-8")
	out, err := other.Output()
	require.NoError(t, err)
	require.Contains(t, string(out), "sum "+one)
}

// The order in which a log arrived changes nothing.
func TestWhateverOrderTheLogCameIn(t *testing.T) {
	back := &projection.History{Site: works().Site}
	for _, e := range slices.Backward(works().Ordered()) {
		back.Add(*e)
	}
	require.Equal(t, files(t, works()), files(t, back))
}

// An earlier moment has what had happened by then.
func TestAnEarlierMoment(t *testing.T) {
	h := works()
	list, err := asbuilt.Files(handover.NewSource(h, projection.At(tale.T("09:00")), nil))
	require.NoError(t, err)
	for _, f := range list {
		if f.Name == "csv/entries.csv" {
			require.Less(t, len(rows(t, f.Content)), h.Len())
			require.NotContains(t, string(f.Content), "work.signed")
		}
	}
}

// BenchmarkFiles is the tables of a site of 2,000 devices.
func BenchmarkFiles(b *testing.B) {
	s := tale.New()
	at := tale.T("08:30")
	for _, p := range invent.Site(invent.Size{Devices: 2000}) {
		s.Lead.SayAt(at, p)
	}
	src := handover.NewSource(s.History(), projection.Moment{}, nil)
	for b.Loop() {
		_, err := asbuilt.Files(src)
		require.NoError(b, err)
	}
}

// What an empty cell is taken for when the schedule is read is left empty: nobody need
// have said it. What is otherwise was said.
func TestNoDefaultIsWrittenAsAFact(t *testing.T) {
	for _, r := range rows(t, files(t, handed.Bare())["csv/devices.csv"]) {
		for _, column := range []string{"radio", "power", "emergency"} {
			require.Empty(t, r[column], "%s of %s", column, r["tag"])
		}
	}
	s := tale.New()
	s.Lead.Say("09:00", events.HubListed{Hub: "H1", Radio: events.Star})
	s.Lead.Say("09:00", events.DeviceListed{Device: "1-1", Is: events.WallControl, Hub: "H1", Radio: events.Star, Power: events.Battery, Emergency: true})
	s.Lead.Say("09:00", events.DeviceListed{Device: "1-2", Is: events.Sensor, Hub: "H1", Radio: events.Mesh, Power: events.Mains})
	f := rows(t, files(t, handed.History(s))["csv/devices.csv"])
	require.Equal(t, "star", f[0]["radio"])
	require.Equal(t, []string{"star", "battery", "yes"}, []string{f[1]["radio"], f[1]["power"], f[1]["emergency"]})
	require.Equal(t, []string{"", "mains", ""}, []string{f[2]["radio"], f[2]["power"], f[2]["emergency"]})
}

// The log's table says by which checksum a photo is called.
func TestAnEntryNamesItsPicture(t *testing.T) {
	s := tale.New()
	sum := strings.Repeat("ab", 32)
	s.Lead.Say("09:00", events.PhotoAdded{Of: events.Site(), Caption: "door", Picture: events.Picture{SHA256: sum, Bytes: 9, Type: "image/png"}})
	for _, r := range rows(t, files(t, s.History())["csv/entries.csv"]) {
		want := ""
		if r["kind"] == "photo.added" {
			want = sum
		}
		require.Equal(t, want, r["picture_sha256"], r["kind"])
	}
	require.Contains(t, string(files(t, s.History())["csv/entries.csv"]), sum)
}
