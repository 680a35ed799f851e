package web_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

func TestDocumentsAreWhatThePageBelieves(t *testing.T) {
	d, _ := lived(t)
	types := apiTypes(t)
	change := types["Strip"]
	for _, more := range []string{"page", "now"} { // as ui/src/changes.ts has it
		change.fields[more] = &field{shape: &shape{name: "string"}}
	}
	x := d.serve()
	for _, c := range []struct {
		path, name string
		strict     bool
	}{
		{"hello", "Hello", true}, {"now", "Now", true}, {"hubs", "Hubs", true}, {"layout", "Layout", true}, {"course", "Course", true},
		{"story?limit=500", "Story", true}, {"team", "Team", true}, {"trouble", "Trouble", true}, {"settings", "Settings", true},
		{"explain?subject=room:B1-R01&symptom=no-answer", "Explain", true}, {"differs?from=2026-03-01+00:00", "Differs", true}, {"checks", "Checks", true}, {"faults", "Faults", true},
		{"doctor", "Doctor", false}, {"status", "Status", false}, {"reach", "Reach", false}, {"channels", "Channels", false}, {"walk", "Walk", false},
		{"show?subject=B1-101", "Subject", false}, {"show?subject=H1", "Subject", false}, {"show?subject=circuit:C1-1", "Subject", false}, {"show?subject=room:B1-R01", "Subject", false},
	} {
		a := x.get("/api/" + c.path)
		require.Equal(t, http.StatusOK, a.code, "%s %s", c.path, a.body)
		holds(t, types, c.name, c.strict, a.body)
	}
	s := x.follow(t)
	require.True(t, s.lines.Scan())
	var v any
	require.NoError(t, json.Unmarshal([]byte(strings.TrimPrefix(s.lines.Text(), "data: ")), &v))
	require.Empty(t, fitting{types, true}.fits("", v, change))

	for _, c := range []struct{ path, name, body string }{
		{"log", "Logged", post(once(1), "note.added", `{"of":"site:site","text":"x"}`)},
		{"invite", "Invite", `{"role":"tech","hours":24,"sheet":""}`},
		{"import?dry=1", "Import", "tag,kind,hub,radio\n5-001,dimmer,H1,mesh\n5-002,chandelier,H1,mesh\n"},
		{"label", "Label", `{"text":"00-11-22-FF-FE-33-44-55"}`},
		{"bundle", "Received", string(x.get("/api/bundle").body)},
	} {
		a := x.post("/api/"+c.path, c.body)
		require.Equal(t, http.StatusOK, a.code, "%s %s", c.path, a.body)
		holds(t, types, c.name, false, a.body)
	}
}

// Lists that hold nothing are [] on an empty site too.
func TestDocumentsOfAnEmptySite(t *testing.T) {
	d := open(t, memory(), "UTC")
	types := apiTypes(t)
	x := d.serve()
	for path, name := range map[string]string{
		"hello": "Hello", "now": "Now", "hubs": "Hubs", "layout": "Layout", "course": "Course", "story": "Story", "team": "Team", "trouble": "Trouble",
		"settings": "Settings", "checks": "Checks", "faults": "Faults", "differs?from=-1h": "Differs", "status": "Status", "reach": "Reach", "channels": "Channels", "walk": "Walk",
	} {
		a := x.get("/api/" + path)
		if a.code != http.StatusOK {
			refused(t, http.StatusUnprocessableEntity, a)
			continue
		}
		holds(t, types, name, false, a.body)
	}
	refused(t, http.StatusUnprocessableEntity, x.get("/api/leave?floor=1"))
}

func TestWhatHelloSays(t *testing.T) {
	d := works(t)
	x := d.serve()
	got := told[struct {
		Page, Now string
		Site      struct {
			ID, Name, Zone string
			Practice       bool
		}
		Me                       struct{ Name, Key, Role string }
		Kinds, Tests, Severities []string
		Cautions                 map[string]string
	}](t, x.get("/api/hello"))
	require.Equal(t, "2026-03-02T09:01:00.000+01:00", got.Now, "in the site's zone")
	require.Equal(t, "Europe/Vienna", got.Site.Zone)
	require.Equal(t, string(d.Key()), got.Me.Key)
	require.Equal(t, []string{"ada", "lead"}, []string{got.Me.Name, got.Me.Role})
	lies := told[struct{ Hubs, Floors []struct{ ID string } }](t, x.get("/api/layout"))
	require.Len(t, lies.Hubs, 4)
	require.Equal(t, []struct{ ID string }{{"B1"}, {"0"}, {"1"}, {"2"}, {"3"}, {"4"}}, lies.Floors, "from the lowest up")
	require.Len(t, got.Cautions, 5)
	for _, words := range got.Cautions {
		require.NotEmpty(t, words)
	}
	require.Len(t, got.Kinds, len(events.DeviceKinds))
}

func TestMoments(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	d.takes(ben.bundle())
	x := d.serve()
	d.pass(time.Hour) // 09:00
	ben.time.Store(d.time.Load())
	d.log(events.HubReady{Hub: "H2"}, events.DevicePaired{Device: "2-101", Hub: "H2", Serial: "S1"})
	d.pass(time.Hour) // 10:00
	ben.time.Store(d.time.Load())
	ben.log(events.DevicePaired{Device: "2-102", Hub: "H2", Serial: "S2"})
	_, err := d.Record(t.Context(), member.Entry{Payload: events.DevicePaired{Device: "2-115", Hub: "H2", Serial: "S5"}, When: events.Some(events.At(d.stamp().Wall.At.Add(-50 * time.Minute)))})
	require.NoError(t, err)
	d.takes(ben.bundle())
	d.pass(time.Hour) // 11:00
	paired := func(query string) []string {
		got := told[struct {
			Devices []struct{ Tag, Serial string }
		}](t, x.get("/api/status?"+query))
		out := []string{}
		for _, v := range got.Devices {
			if v.Serial != "" {
				out = append(out, v.Tag)
			}
		}
		return out
	}
	for query, want := range map[string][]string{
		"":                               {"2-101", "2-102", "2-115"},
		"at=":                            {"2-101", "2-102", "2-115"},
		"at=10:30":                       {"2-101", "2-102", "2-115"},
		"at=09:30":                       {"2-101", "2-115"},
		"at=09:05":                       {"2-101"},
		"at=08:30":                       {},
		"at=-90m":                        {"2-101", "2-115"},
		"at=yesterday+17:00":             {},
		"at=2026-03-02T10:30:00%2B01:00": {"2-101", "2-115"},
		"at=2026-03-02+09:30":            {"2-101", "2-115"},
		"known_by=ben":                   {"2-102"},
		"known_by=ada":                   {"2-101", "2-115"}, // by what she has said since; of ben she has not spoken
		"known_by=ben&known_at=09:30":    {},
		"known_by=ada&known_at=09:30":    {"2-101"},
		"known_by=ada&at=09:30":          {"2-101", "2-115"},
		"known_by=" + string(ben.Key()):  {"2-102"},
	} {
		require.Equal(t, want, paired(query), query)
	}
	for query, code := range map[string]int{
		"at=soon": 400, "at=25:00": 400, "at=2026-02-30+10:00": 400, "known_at=tomorrow": 400, "known_by=nobody": 404, "at=%00": 400, "at=" + strings.Repeat("9", 1000): 400,
	} {
		for _, path := range []string{"status", "trouble", "story", "reach", "channels", "walk", "show", "checks", "faults", "explain", "differs", "handover"} {
			refused(t, code, x.get("/api/"+path+"?"+query))
		}
	}
	require.Len(t, told[story](t, x.get("/api/story?subject=2-102&at=09:30")).Entries, 1, "listed, and not paired yet")
}

func TestQuestionsThatHaveNoAnswer(t *testing.T) {
	x := small(t).serve()
	for path, code := range map[string]int{
		"show":                  404,
		"show?subject=nothing":  404,
		"show?subject=member:x": 404,
		"story?subject=nothing": 404,
		"leave?floor=9":         404,
		"reach?without=nothing": 404,
		"walk?people=nobody":    404,
		"walk?people=ada,ada":   422,
		"walk?people=9":         422,
		"walk?from=soon":        400,
	} {
		refused(t, code, x.get("/api/"+path))
	}
	for _, path := range []string{"leave?floor=2", "reach?without=2-101,H1&planned=1&advise=1", "walk?people=2&from=09:00", "channels?move=1&apart=1", "show?subject=site"} {
		require.Equal(t, http.StatusOK, x.get("/api/"+path).code, path)
	}
}

func TestSettingsSayWhatIsSet(t *testing.T) {
	d := small(t)
	x := d.serve()
	told[logged](t, x.post("/api/set", `{"key":"settle_minutes","value":"15"}`))
	got := told[struct {
		Settings []struct {
			Key, Value, Default, Unit, Doc string
			Set                            bool
		}
	}](t, x.get("/api/settings")).Settings
	require.Len(t, got, len(events.Settings))
	for _, s := range got {
		require.Equal(t, s.Key == "settle_minutes", s.Set, s.Key)
		require.Equal(t, d.Now().Settings.Value(events.SettingKey(s.Key)), s.Value)
		require.NotEmpty(t, s.Doc)
		require.Equal(t, s.Set, s.Value != s.Default, s.Key)
	}
}

// What is quarantined is told apart from what is not understood, and both from the
// rest.
func TestTroubleTellsWhatIsNotCounted(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	d.takes(ben.bundle())
	told[logged](t, d.serve().post("/api/revoke", `{"member":"ben","why":"phone lost"}`))
	ben.log(events.NoteAdded{Of: events.Site(), Text: "afterwards"})
	d.takes(ben.bundle())
	got := told[struct {
		Quarantined []struct{ Kind, Member, Quarantined string }
		Not         []any `json:"not_understood"`
	}](t, d.serve().get("/api/trouble"))
	require.Len(t, got.Quarantined, 1)
	require.Equal(t, "note.added", got.Quarantined[0].Kind)
	require.NotEmpty(t, got.Quarantined[0].Quarantined)
	require.Empty(t, got.Not)
}

// A test that waits for a pairing or a push is no need yet.
func TestNowSaysWhichTestsCanBeDone(t *testing.T) {
	d := small(t)
	x := d.serve()
	needs := func() []string {
		out := []string{}
		for _, n := range told[struct {
			Needs []struct{ Words, Screen string }
		}](t, x.get("/api/now")).Needs {
			if strings.HasPrefix(n.Screen, "site") {
				require.Equal(t, "site?part=checks", n.Screen)
				out = append(out, n.Words)
			}
		}
		return out
	}
	require.Empty(t, needs(), "nothing is paired")
	d.log(events.HubLoaded{Hub: "H1", Program: "r1", All: true}, events.HubReady{Hub: "H1"}, events.TestPlanned{Room: "1.01", Test: events.TestManual})
	d.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"}, events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"})
	d.pass(time.Hour)
	export := x.post("/api/records", "").header.Get("X-Pairwalk-Export")
	told[logged](t, x.post("/api/merged", `{"export":"`+export+`","hub":""}`))
	d.log(events.PushDone{Hub: "H1", Program: "r1"})
	require.Equal(t, []string{"1 functional test of a room is owed, and waits for nothing"}, needs())
	d.log(events.CheckDone{Of: events.Room("1.01"), Test: events.TestManual, Pass: true})
	require.Empty(t, needs())
}

func TestNowIsShortAndSaysWhatWaits(t *testing.T) {
	d := works(t)
	x := d.serve()
	type now struct {
		Steps   []struct{ Act, Subject, Hub string }
		More    int
		Mine    []string
		Devices map[string]struct{ Tag string }
		Needs   []struct{ Words, Screen, Subject string }
		Hubs    []struct{ ID string }
	}
	got := told[now](t, x.get("/api/now"))
	require.Len(t, got.Steps, 40)
	require.Equal(t, len(d.Next())-40, got.More)
	require.Empty(t, got.Mine)
	require.Len(t, got.Hubs, 4)
	named := map[string]bool{}
	for _, s := range got.Steps {
		if tag, ok := strings.CutPrefix(s.Subject, "device:"); ok {
			named[tag] = true
			require.Contains(t, got.Devices, tag)
		}
	}
	require.Len(t, got.Devices, len(named), "no more than the steps name")
	told[logged](t, x.post("/api/assign", `{"hub":"H2","member":"ada"}`))
	d.log(events.HubReady{Hub: "H3"})
	require.Equal(t, []string{"H2", "H3"}, told[now](t, x.get("/api/now")).Mine)
}
