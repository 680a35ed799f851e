package web_test

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/handover/press"
	"pairwalk/syncd/member"
)

// packed makes a pack as the command does; it says how many files that is.
func packed(ctx context.Context, m *member.Member, at projection.Moment) (handover.Pack, member.PackAnswer, error) {
	x := m.Excerpt(at.Known)
	when := x.Last
	if at.When.Known {
		when = at.When.Value
	}
	photo := func(sha256 string) ([]byte, bool) {
		b, err := m.Picture(sha256)
		return b, err == nil
	}
	src := handover.NewSource(x.History, projection.At(when), photo)
	pages, _, err := press.Pages(src, func(press.Step) error { return ctx.Err() })
	if err != nil {
		return handover.Pack{}, member.PackAnswer{}, err
	}
	p, err := handover.Bind(src, pages, press.Tools(), func(pages string) ([]byte, error) { return m.Seal(x, pages) })
	doc := member.PackAnswer{V: member.AnswerVersion, Entries: len(p.Files), Files: []member.PackFile{}, Missing: member.PackMissing{Asks: []member.PackAsk{}, Photos: p.Absent}}
	return p, doc, err
}

// handedOver is a small site whose breaker C3-7 goes off two hours after it was
// signed for.
func handedOver(t *testing.T) *device {
	d := small(t)
	d.pass(time.Hour) // 09:00
	d.log(events.HubLoaded{Hub: "H2", Program: "r1", All: true}, events.HubReady{Hub: "H2"}, events.DevicePaired{Device: "2-101", Hub: "H2", Serial: "S1"})
	d.pass(time.Hour) // 10:00
	d.log(events.PushDone{Hub: "H2", Program: "r1"}, events.WorkSigned{Of: events.Site(), Scope: "handed over", Signer: "ada", As: "lead"})
	d.pass(2 * time.Hour) // 12:00
	d.log(events.PowerOff{Of: events.Circuit("C3-7")})
	d.pass(time.Hour) // 13:00
	return d
}

type cause struct{ Kind, Subject string }

type explained struct {
	Subject, Symptom, From, To, Words string
	Devices                           []string
	Silence                           *struct{ Entries, Days int }
	Causes                            []struct {
		Kind, Subject string
		Events        []string
		For           []struct{ Event, Words string }
	}
	Nothing bool
}

func TestWhatHappenedNamesTheBreaker(t *testing.T) {
	d := handedOver(t)
	x := d.serve()
	off := d.entries()[len(d.entries())-1].Event.Ref().String()
	for _, query := range []string{"subject=2-101&symptom=no-answer", "subject=device:2-101&from=11:00", "subject=2-101&from=11:00&to=12:30", "subject=2-101&from=11:00&at=12:30"} {
		got := told[explained](t, x.get("/api/explain?"+query))
		require.Equal(t, cause{"power", "circuit:C3-7"}, cause{got.Causes[0].Kind, got.Causes[0].Subject}, query)
		require.Equal(t, off, got.Causes[0].For[0].Event, query)
		require.Equal(t, 1, got.Silence.Entries, query)
		require.Equal(t, []string{"2-101"}, got.Devices)
	}
	before := told[explained](t, x.get("/api/explain?subject=2-101&symptom=no-answer&to=11:00"))
	require.NotContains(t, kinds(before), "power", "nobody had switched it off by then")
	got := told[explained](t, x.get("/api/explain?subject=2-101&from=11:00&to=12:30"))
	require.Equal(t, []string{"2026-03-02T11:00:00.000Z", "2026-03-02T12:30:00.000Z"}, []string{got.From, got.To})
	require.Equal(t, "room:2.14", told[explained](t, x.get("/api/explain?subject=room:2.14")).Subject)
	require.NotContains(t, kinds(told[explained](t, x.get("/api/explain?subject=2-101&symptom=no-answer&known_by=ada&known_at=11:30"))), "power", "nobody knew of it then")
}

func kinds(x explained) []string {
	out := []string{}
	for _, c := range x.Causes {
		out = append(out, c.Kind)
	}
	return out
}

func TestADeviceIsFoundByTheTagItHad(t *testing.T) {
	d := handedOver(t)
	d.log(events.DeviceRenamed{From: "2-101", To: "2-901"})
	require.Equal(t, "device:2-901", told[explained](t, d.serve().get("/api/explain?subject=2-101")).Subject)
}

func TestWhatDiffersAndWhoKnew(t *testing.T) {
	d := handedOver(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	d.takes(ben.bundle())
	x := d.serve()
	type differs struct {
		From, To struct{ When, Known string }
		Subject  string
		Changes  []struct {
			Subject, What, Before, After, Event string
			Knew                                []struct{ Member string }
			NotKnown                            []string `json:"not_known"`
		}
	}
	d.log(events.PowerOn{Of: events.Circuit("C3-7")})
	got := told[differs](t, x.get("/api/differs?from=12:30&subject=circuit:C3-7"))
	require.Equal(t, "ada", got.Changes[0].Knew[0].Member)
	require.Equal(t, []string{"ben"}, got.Changes[0].NotKnown, "ben was gone by then")
	got = told[differs](t, x.get("/api/differs?from=11:00&to=12:30&subject=2-101"))
	require.Equal(t, "device:2-101", got.Subject)
	powers := 0
	for _, c := range got.Changes {
		if c.What == "power" && c.Subject == "circuit:C3-7" {
			powers++
			require.Equal(t, []string{"on", "off"}, []string{c.Before, c.After})
		}
	}
	require.Equal(t, 1, powers)
	back := told[differs](t, x.get("/api/differs?from=12:30&to=11:00&subject=circuit:C3-7"))
	require.Equal(t, []string{"off", "on"}, []string{back.Changes[0].Before, back.Changes[0].After}, "it reads backwards too")
	require.Empty(t, told[differs](t, x.get("/api/differs?from=10:30&to=11:00")).Changes)
	unknown := told[differs](t, x.get("/api/differs?from=12:30&to=12:30&known_by=ada&known_at=11:30&subject=circuit:C3-7"))
	require.Equal(t, []string{"on", "off"}, []string{unknown.Changes[0].Before, unknown.Changes[0].After}, "what she did not know yet")
	require.Equal(t, "2026-03-02T12:30:00.000Z", told[differs](t, x.get("/api/differs?from=10:30&at=12:30")).To.When)
}

func TestCallbackQuestionsThatHaveNoAnswer(t *testing.T) {
	x := handedOver(t).serve()
	for path, code := range map[string]int{
		"explain":                                   404,
		"explain?subject=nothing":                   404,
		"explain?subject=site":                      400,
		"explain?subject=2-101&symptom=gloom":       400,
		"explain?subject=2-101&from=soon":           400,
		"explain?subject=2-101&to=25:00":            400,
		"explain?subject=2-101&to=11:00&at=11:00":   400,
		"explain?subject=2-101&from=12:00&to=11:00": 400,
		"differs":                               400,
		"differs?to=11:00":                      400,
		"differs?from=soon":                     400,
		"differs?from=11:00&subject=nothing":    404,
		"differs?from=11:00&subject=circuit:C9": 404,
	} {
		refused(t, code, x.get("/api/"+path))
	}
}

func TestChecksAreOfAllRoomsOrOfOne(t *testing.T) {
	d := handedOver(t)
	x := d.serve()
	type doc struct {
		Owed  int
		Rooms []struct {
			Room  string
			Tests []struct{ Test, Of, State string }
		}
	}
	all := told[doc](t, x.get("/api/checks"))
	require.Greater(t, len(all.Rooms), 1)
	one := told[doc](t, x.get("/api/checks?room=2.14"))
	require.Len(t, one.Rooms, 1)
	require.Equal(t, "2.14", one.Rooms[0].Room)
	require.Empty(t, told[doc](t, x.get("/api/checks?room=none")).Rooms)
	require.Greater(t, all.Owed, one.Owed)
	d.log(events.CheckDone{Of: events.Device("2-101"), Test: events.TestAnswer, Pass: true})
	require.Equal(t, one.Owed-1, told[doc](t, x.get("/api/checks?room=2.14")).Owed)
}

func TestFaultsTellTheirWholeStory(t *testing.T) {
	d := small(t)
	found := d.log(events.FaultFound{Of: events.Device("2-114"), Symptom: "dark", Severity: events.Major})[0].Ref()
	x := d.serve()
	picture := pictures(t)["image/png"]
	told[logged](t, x.post("/api/picture?subject=2-114&caption=the+label", string(picture)))
	d.log(events.FaultAssigned{Fault: found, Trade: "electrical", Owner: "ben"})
	d.pass(49 * time.Hour)
	d.log(events.FaultCleared{Fault: found, Action: "a new driver"})
	d.log(events.FaultReopened{Fault: found, Why: "dark again"})
	type doc struct {
		Faults []struct {
			State, Owner, Trade string
			Age                 int `json:"age_days"`
			History             []struct{ What string }
			Photos              []struct{ SHA256, Caption string }
		}
	}
	got := told[doc](t, x.get("/api/faults")).Faults
	require.Len(t, got, 1)
	require.Equal(t, "reopened", got[0].State)
	require.Equal(t, 2, got[0].Age)
	require.Len(t, got[0].History, 4)
	require.Len(t, got[0].Photos, 1)
	require.Equal(t, picture, x.get("/api/picture/"+got[0].Photos[0].SHA256).body)
	then := told[doc](t, x.get("/api/faults?at=2026-03-02+12:00")).Faults
	require.Equal(t, "assigned", then[0].State)
}

// The ZIP unfolds into the pack as the command writes it, and asking records
// nothing.
func TestThePackIsDownloadedAsOneFile(t *testing.T) {
	d := handedOver(t)
	x := d.serve()
	told[logged](t, x.post("/api/picture?subject=2-114", string(pictures(t)["image/png"])))
	before := len(d.entries())
	a := x.get("/api/handover")
	require.Equal(t, http.StatusOK, a.code)
	require.Equal(t, "application/zip", a.header.Get("Content-Type"))
	require.Contains(t, a.header.Get("Content-Disposition"), "attachment")
	require.Equal(t, a.body, x.get("/api/handover").body, "the same pack is the same file")
	require.Len(t, d.entries(), before)

	folder := t.TempDir()
	z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
	require.NoError(t, err)
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		require.Equal(t, 1980, f.Modified.UTC().Year(), "all of one time, whenever it was asked for")
		in, err := f.Open()
		require.NoError(t, err)
		b, err := io.ReadAll(in)
		require.NoError(t, err)
		to := filepath.Join(folder, filepath.FromSlash(f.Name))
		require.NoError(t, os.MkdirAll(filepath.Dir(to), 0o700))
		require.NoError(t, os.WriteFile(to, b, 0o600))
	}
	require.True(t, slices.IsSorted(names))
	found, flaws, err := handover.Check(os.DirFS(filepath.Join(folder, "handover")))
	require.NoError(t, err)
	require.Empty(t, flaws)
	require.True(t, slices.ContainsFunc(names, func(n string) bool { return strings.HasSuffix(n, ".png") }), "the photo is in it")

	dry := told[struct{ Entries int }](t, x.get("/api/handover?dry=1"))
	require.Equal(t, len(names), dry.Entries, "what it would have is asked of the same pack")
	require.NotEqual(t, a.body, x.get("/api/handover?at=10:30").body, "a pack of another moment is another")
	require.NotEmpty(t, found.Manifest.Files)
}

func TestAPackThatFailsIsSaid(t *testing.T) {
	x := small(t).serve(func(o *web.Options) {
		o.Pack = func(context.Context, *member.Member, projection.Moment) (handover.Pack, member.PackAnswer, error) {
			return handover.Pack{}, member.PackAnswer{}, io.ErrUnexpectedEOF
		}
	})
	refused(t, http.StatusUnprocessableEntity, x.get("/api/handover"))
	refused(t, http.StatusUnprocessableEntity, x.get("/api/handover?dry=1"))
}
