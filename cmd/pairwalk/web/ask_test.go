package web_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// lived is the works after some days of work, in which nearly everything happened
// that a page draws.
func lived(t *testing.T, steps int) (*device, *device) {
	d := works(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	d.takes(ben.bundle())
	r := rand.New(rand.NewPCG(1, 2))
	var tags []events.Tag
	hubOf := map[events.Tag]events.HubID{}
	for _, x := range d.Now().Devices {
		tags = append(tags, x.Device)
		hubOf[x.Device] = x.Hub
	}
	tags = tags[:60]
	var last events.Ref
	for _, h := range d.Now().Hubs {
		d.log(events.HubLoaded{Hub: h.Hub, Program: "r1", All: true}, events.HubReady{Hub: h.Hub})
	}
	for range steps {
		d.pass(time.Duration(r.IntN(300)) * time.Second)
		ben.time.Store(d.time.Load() + int64(r.IntN(2000)))
		tag := tags[r.IntN(len(tags))]
		who := []*device{d, d, ben}[r.IntN(3)]
		x := member.Entry{Payload: happening(r, tag, hubOf[tag], last)}
		if x.Payload == nil {
			continue
		}
		if r.IntN(6) == 0 {
			at := d.stamp().Wall.At.Add(-time.Duration(r.IntN(7200)) * time.Second)
			x.When = events.Some(events.Interval{From: at, To: at.Add(time.Minute)})
		}
		evs, err := who.Record(t.Context(), x)
		require.NoError(t, err)
		if who == d {
			last = evs[0].Ref()
		}
		if r.IntN(25) == 0 {
			d.takes(ben.bundle())
			ben.takes(d.bundle())
		}
	}
	d.takes(ben.bundle())
	return d, ben
}

// happening is something that may happen to a device.
func happening(r *rand.Rand, tag events.Tag, hub events.HubID, last events.Ref) events.Payload {
	circuit := events.Circuit(events.CircuitID(fmt.Sprint("C1-", 1+r.IntN(6))))
	switch r.IntN(19) {
	case 0, 1, 2, 3, 4:
		return events.DevicePaired{Device: tag, Hub: hub, Serial: events.Serial("S" + string(tag))}
	case 5:
		return events.DeviceFitted{Device: tag, Serial: events.Serial("S" + string(tag))}
	case 6:
		return events.DeviceRefused{Device: tag, Why: events.RefusedWhys[r.IntN(len(events.RefusedWhys))]}
	case 7:
		return events.DeviceSkipped{Device: tag, Why: events.SkippedWhys[r.IntN(len(events.SkippedWhys))]}
	case 8:
		return events.DeviceUnpaired{Device: tag, Why: "reset"}
	case 9:
		return events.PowerOff{Of: circuit}
	case 10:
		return events.PowerOn{Of: circuit}
	case 11:
		return events.HoldPlaced{Of: events.Device(tag), Why: "ceiling open"}
	case 12:
		return events.HoldLifted{Of: events.Device(tag)}
	case 13:
		return events.FaultFound{Of: events.Device(tag), Symptom: "hums", Severity: events.Minor}
	case 14:
		return events.PushDone{Hub: hub, Program: "r1", Missed: []events.Tag{tag}}
	case 15:
		return events.HubLost{Hub: hub, Why: "no answer"}
	case 16:
		return events.HubReady{Hub: hub}
	case 17:
		return events.DeviceStruck{Device: tag, Why: "drawn twice"}
	}
	if last.IsZero() {
		return nil
	}
	return events.EventVoided{Event: last, Why: events.DidNotHappen}
}

func TestDocumentsAreWhatThePageBelieves(t *testing.T) {
	d, _ := lived(t, 400)
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
		{"hello", "Hello", true}, {"now", "Now", true}, {"layout", "Layout", true}, {"course", "Course", true},
		{"story?limit=500", "Story", true}, {"team", "Team", true}, {"trouble", "Trouble", true}, {"settings", "Settings", true},
		{"status", "Status", false}, {"reach", "Reach", false}, {"channels", "Channels", false}, {"walk", "Walk", false},
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
		"hello": "Hello", "now": "Now", "layout": "Layout", "course": "Course", "story": "Story", "team": "Team", "trouble": "Trouble",
		"settings": "Settings", "status": "Status", "reach": "Reach", "channels": "Channels", "walk": "Walk",
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
		Hubs, Floors, Rooms      []string
		Kinds, Tests, Severities []string
		Cautions                 map[string]string
	}](t, x.get("/api/hello"))
	require.Equal(t, "2026-03-02T09:01:00+01:00", got.Now, "in the site's zone")
	require.Equal(t, "Europe/Vienna", got.Site.Zone)
	require.Equal(t, string(d.Key()), got.Me.Key)
	require.Equal(t, []string{"ada", "lead"}, []string{got.Me.Name, got.Me.Role})
	require.Equal(t, []string{"H1", "H2", "H3", "H4"}, got.Hubs)
	require.Equal(t, []string{"B1", "0", "1", "2", "3", "4"}, got.Floors)
	require.Len(t, got.Rooms, 60)
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
		"":                               {"2-101", "2-102"},
		"at=":                            {"2-101", "2-102"},
		"at=10:30":                       {"2-101", "2-102"},
		"at=09:30":                       {"2-101"},
		"at=08:30":                       {},
		"at=-90m":                        {"2-101"},
		"at=yesterday+17:00":             {},
		"at=2026-03-02T10:30:00%2B01:00": {"2-101"},
		"at=2026-03-02+09:30":            {"2-101"},
		"known_by=ben":                   {"2-102"},
		"known_by=ada":                   {"2-101"}, // by what she has said since; of ben she has not spoken
		"known_by=ben&known_at=09:30":    {},
		"known_by=ada&known_at=09:30":    {"2-101"},
		"known_by=" + string(ben.Key()):  {"2-102"},
	} {
		require.Equal(t, want, paired(query), query)
	}
	for query, code := range map[string]int{
		"at=soon": 400, "at=25:00": 400, "at=2026-02-30+10:00": 400, "known_at=tomorrow": 400, "known_by=nobody": 404, "at=%00": 400, "at=" + strings.Repeat("9", 1000): 400,
	} {
		for _, path := range []string{"status", "trouble", "story", "reach", "channels", "walk", "show"} {
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

type story struct {
	Entries []struct{ Ref, ID, Kind, Member, By, Words, At string }
	More    bool
	Total   int
}

func (s story) refs() []string {
	out := []string{}
	for _, e := range s.Entries {
		out = append(out, e.Ref)
	}
	return out
}

func TestTheStoryIsChosenFrom(t *testing.T) {
	d, _ := lived(t, 300)
	x := d.serve()
	all := d.entries()
	slices.Reverse(all)
	s := d.Now()
	ask := func(query string) story { return told[story](t, x.get("/api/story?limit=500&"+query)) }
	check := func(query string, is func(member.Said) bool) {
		t.Helper()
		want := []string{}
		for _, e := range all {
			if is(e) {
				want = append(want, e.Event.Ref().String())
			}
		}
		got := ask(query)
		require.Equal(t, len(want), got.Total, query)
		require.NotEmpty(t, want, query)
		require.Less(t, len(want), len(all), query)
		require.Equal(t, want[:min(len(want), 500)], got.refs(), query)
		require.Equal(t, len(want) > 500, got.More)
	}
	kind := func(k ...string) func(member.Said) bool {
		return func(e member.Said) bool { return slices.Contains(k, string(e.Event.Kind())) }
	}
	check("kind=device.paired", kind("device.paired"))
	check("kind=device.paired,push.done", kind("device.paired", "push.done"))
	check("kind=device.paired+push.done", kind("device.paired", "push.done"))
	check("kind=power", kind("power.off", "power.on"))
	check("kind=hold,hub.lost", kind("hold.placed", "hold.lifted", "hub.lost"))
	check("member=ben", func(e member.Said) bool { return s.MemberName(e.Event.Member()) == "ben" })
	check("subject=B1-101", func(e member.Said) bool { return slices.Contains(e.Event.Payload.Subjects(), events.Device("B1-101")) })
	check("subject=hub:H1&kind=push", func(e member.Said) bool {
		return strings.HasPrefix(string(e.Event.Kind()), "push.") && slices.Contains(e.Event.Payload.Subjects(), events.Hub("H1"))
	})
	check("text=CEILING+open", func(e member.Said) bool {
		p, ok := e.Event.Payload.(events.HoldPlaced)
		return ok && p.Why == "ceiling open"
	})
	check("member=ben&kind=device&text=refused", func(e member.Said) bool {
		return e.Event.Kind() == "device.refused" && s.MemberName(e.Event.Member()) == "ben"
	})
	some := []string{all[3].Event.Ref().String(), all[40].Event.ID.String(), all[41].Event.Ref().String()}
	check("refs="+url.QueryEscape(strings.Join(some, ",")), func(e member.Said) bool {
		return slices.Contains(some, e.Event.Ref().String()) || slices.Contains(some, e.Event.ID.String())
	})
	check("text="+strings.ToLower(all[7].Event.ID.String()), func(e member.Said) bool { return e.Event.ID == all[7].Event.ID })
	for _, none := range []string{"kind=devic", "kind=device.pair", "member=be", "member=nobody", "refs=nothing", "text=" + url.QueryEscape("no such words at all")} {
		got := ask(none)
		require.Empty(t, got.Entries, none)
		require.Equal(t, []any{0, false}, []any{got.Total, got.More}, none)
	}
	require.Equal(t, len(all), ask("").Total)
	for query, want := range map[string]int{"": 60, "limit=1": 1, "limit=0": 60, "limit=-3": 60, "limit=x": 60, "limit=500": 500, "limit=9999": 500} {
		require.Len(t, told[story](t, x.get("/api/story?"+query)).Entries, min(want, len(all)), query)
	}
}

// TestPagingThroughALogThatGrows: what was there at first is shown once, whatever
// comes meanwhile, also of times long past.
func TestPagingThroughALogThatGrows(t *testing.T) {
	d, _ := lived(t, 200)
	x := d.serve()
	d.pass(time.Hour)
	for _, filter := range []string{"", "&kind=device", "&kind=device.paired,note&text=a"} {
		want := told[story](t, x.get("/api/story?limit=500"+filter))
		there := want.refs()
		for want.More {
			want = told[story](t, x.get("/api/story?limit=500"+filter+"&before="+url.QueryEscape(there[len(there)-1])))
			there = append(there, want.refs()...)
		}
		seen, before := []string{}, ""
		for {
			got := told[story](t, x.get("/api/story?limit=37"+filter+"&before="+url.QueryEscape(before)))
			seen = append(seen, got.refs()...)
			if !got.More {
				break
			}
			before = seen[len(seen)-1]
			at := d.stamp().Wall.At.Add(-time.Duration(len(seen)) * time.Minute)
			_, err := d.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "a late note"}, When: events.Some(events.At(at))},
				member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "a new note"}})
			require.NoError(t, err)
		}
		once := map[string]bool{}
		for _, r := range seen {
			require.False(t, once[r], "%s is shown twice", r)
			once[r] = true
		}
		for _, r := range there {
			require.True(t, once[r], "%s was there and is not shown", r)
		}
	}
}

// TestTheCourseIsTheFactsOfEveryMoment: a page that scrubs draws what the process
// would say of that moment.
func TestTheCourseIsTheFactsOfEveryMoment(t *testing.T) {
	d, ben := lived(t, 500)
	x := d.serve()
	for query, known := range map[string]projection.Known{"": {}, "?known_by=ben": {Member: ben.Key()}} {
		a := x.get("/api/course" + query)
		got := told[struct {
			Known    string
			From, To events.Instant
			Devices  []string
			Turns    [][5]any
			Marks    []struct {
				At       events.Instant
				Kind     string
				Subjects []string
			}
		}](t, a)
		require.Greater(t, len(got.Turns), 400)
		require.NotEmpty(t, got.Marks)
		r := rand.New(rand.NewPCG(3, 4))
		for range 50 {
			at := got.From - 5 + events.Instant(r.Int64N(int64(got.To-got.From)+10))
			if r.IntN(2) == 0 {
				at = events.Instant(got.Turns[r.IntN(len(got.Turns))][0].(float64)) + events.Instant(r.IntN(3)-1)
			}
			drawn := map[string]string{}
			for _, turn := range got.Turns {
				if when := events.Instant(turn[0].(float64)); when <= at {
					state, settles := int(turn[2].(float64)), events.Instant(turn[3].(float64))
					if state == 2 && settles != 0 && at >= settles {
						state = 3
					}
					drawn[got.Devices[int(turn[1].(float64))]] = fmt.Sprint(states[state], " ", turn[4])
				}
			}
			s := d.At(projection.Moment{When: events.Some(at), Known: known})
			want := map[string]string{}
			for i := range s.Devices {
				want[string(s.Devices[i].Device)] = lookOf(&s.Devices[i])
			}
			require.Equal(t, want, drawn, "at %s", at)
		}
		for _, m := range got.Marks {
			require.True(t, m.At >= got.From && m.At <= got.To)
			require.NotEmpty(t, m.Subjects)
			require.NotContains(t, []string{"device.paired", "note.added", "hold.lifted"}, m.Kind)
		}
	}
}

var states = []projection.State{projection.Listed, projection.Fitted, projection.Paired, projection.Settled, projection.Pushed}

func lookOf(d *projection.Device) string {
	signs := ""
	for _, x := range []struct {
		on     bool
		letter string
	}{
		{d.Struck != nil, "s"}, {d.Has(projection.FlagDark), "d"}, {d.Has(projection.FlagHold), "h"}, {d.Has(projection.FlagSkipped), "k"},
		{d.Has(projection.FlagRefused), "r"}, {d.Has(projection.FlagMissed), "m"}, {d.Has(projection.FlagFault), "f"},
	} {
		if x.on {
			signs += x.letter
		}
	}
	return fmt.Sprint(d.State, " ", signs)
}

func TestSettingsSayWhatIsSet(t *testing.T) {
	d := small(t)
	x := d.serve()
	told[logged](t, x.post("/api/set", `{"key":"settle_minutes","value":"15"}`))
	got := told[struct {
		Settings []struct {
			Key, Value, Unit, Doc string
			Set                   bool
		}
	}](t, x.get("/api/settings")).Settings
	require.Len(t, got, len(events.Settings))
	for _, s := range got {
		require.Equal(t, s.Key == "settle_minutes", s.Set, s.Key)
		require.Equal(t, d.Now().Settings.Value(events.SettingKey(s.Key)), s.Value)
		require.NotEmpty(t, s.Doc)
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
