package web_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/syncd/member"
)

// fuzzActs are the acts and questions of the page, with something that each takes.
var fuzzActs = []struct{ path, query, body string }{
	{"log", "", `{"once":"00000000000000000001","by":"","entries":[{"kind":"note.added","body":{"of":"site:site","text":"x"},"when":"14:05"}]}`},
	{"log", "", `{"once":"00000000000000000001","by":"Bo","entries":[{"kind":"device.paired","body":{"device":"2-118","hub":"H2","serial":"SN1"},"when":"-2h..now"}]}`},
	{"void", "", `{"ref":"ABC123","why":"slip","note":""}`},
	{"correct", "", `{"ref":"ABC123","tag":"2-114","serial":"S","hub":"H2","note":""}`},
	{"exchange", "", `{"a":"2-114","b":"2-115","note":""}`},
	{"resolve", "", `{"key":"0000","stands":"","why":"x"}`},
	{"asked", "", `{"member":"ada","hub":"H1","last":"09:00"}`},
	{"set", "", `{"key":"settle_minutes","value":"15"}`},
	{"assign", "", `{"hub":"H2","member":"ada","ended":false}`},
	{"admit", "", `{"member":"ada"}`},
	{"revoke", "", `{"member":"ada","why":"x","last":"","sheet":""}`},
	{"invite", "", `{"role":"tech","hours":24,"sheet":""}`},
	{"invite", "", `{"role":"tech","hours":1e300,"sheet":""}`},
	{"import", "day=2026-03-02&table=&partial=1", "tag,kind,hub\n9-1,dimmer,H1\n"},
	{"fieldsheet", "", `{"day":"2026-03-02","rows":[{"tag":"2-114","what":"paired","when":"07:05","serial":"S1","by":"Bo","note":""}]}`},
	{"bundle", "", "\x1f\x8b\x08"},
	{"merged", "", `{"export":"X1","hub":""}`},
	{"picture", "subject=device:2-114&caption=x", "GIF89a..."},
	{"drawing", "floor=2&corner_x=0&corner_y=0&pixel_um=1&turn_mdeg=0", "\x89PNG\r\n\x1a\n"},
	{"call", "", `{"addr":"192.0.2.17:24517"}`},
	{"hangup", "", `{"addr":"192.0.2.17:24517"}`},
	{"label", "", `{"text":"]d2010950600013435221SN-A"}`},
	{"homecoming", "", "tag,serial\n2-114,S1\n"},
	{"records", "as=csv", ""},
}

var fuzzQuestions = []string{
	"now?at=14:05", "status?known_by=ada&at=-2h", "story?last=5&limit=3&before=x", "show?subject=2-114", "show?subject=hub:H1", "reach?at=now", "layout",
	"course?from=09:00", "team", "settings", "pictures", "channels?hub=H1", "walk?for=ada", "leave?floor=2", "explain?subject=2-114&symptom=no-answer&from=-2h",
	"differs?from=09:00&to=now", "checks?room=2.14", "faults?subject=2-114", "picture/00ff?x=1",
}

// FuzzPage asks the page anything: it never fails as such, and what it refuses
// leaves no entry behind. What it records is there, and reads the same when the
// site is opened again.
func FuzzPage(f *testing.F) {
	d := small(f)
	said := d.log(
		events.DevicePaired{Device: "2-115", Hub: "H2", Serial: "SN-A"}, events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "SN-B"},
		events.FaultFound{Of: events.Device("2-115"), Symptom: "hums", Severity: events.Minor},
	)
	require.NoError(f, d.Close())
	disk := d.fs.(*journal.MemFS)
	for i, a := range fuzzActs {
		f.Add(byte(i), a.query, []byte(strings.ReplaceAll(a.body, "ABC123", said[0].Ref().String())))
	}
	for i, q := range fuzzQuestions {
		f.Add(byte(len(fuzzActs)+i), q, []byte(nil))
	}
	f.Fuzz(func(t *testing.T, which byte, query string, body []byte) {
		d := newDevice(t, disk.Clone(), 11)
		m, err := d.home().Open("")
		require.NoError(t, err)
		d.Member = m
		p, err := web.New(web.Options{Member: m, Now: d.stamp, Token: token, Hosts: []string{"page.example"}, Meeting: &meeting{}, Sheet: readSheet, Pack: packed})
		require.NoError(t, err)
		r := fuzzed(which, query, body)
		if r == nil {
			return
		}
		before := len(d.entries())
		w := httptest.NewRecorder()
		p.ServeHTTP(w, r)
		require.Less(t, w.Code, 500, "%s", w.Body)
		after := d.entries()
		if w.Code >= 400 {
			require.Len(t, after, before, "%s", w.Body)
			require.True(t, json.Valid(w.Body.Bytes()), "%s", w.Body)
		}
		words, err := json.Marshal(d.Status(momentNow))
		require.NoError(t, err)
		d.again()
		again, err := json.Marshal(d.Status(momentNow))
		require.NoError(t, err)
		require.Equal(t, string(words), string(again))
		require.Len(t, d.entries(), len(after))
	})
}

// fuzzed is a request with the token, or nil where it can't be one.
func fuzzed(which byte, query string, body []byte) *http.Request {
	n := int(which) % (len(fuzzActs) + len(fuzzQuestions))
	method, path := http.MethodPost, ""
	if n < len(fuzzActs) {
		path = fuzzActs[n].path
	} else {
		method = http.MethodGet
		path, _, _ = strings.Cut(fuzzQuestions[n-len(fuzzActs)], "?")
		_, query, _ = strings.Cut(query, "?")
	}
	u, err := url.Parse("http://page.example/api/" + path)
	if err != nil {
		return nil
	}
	u.RawQuery = query
	r := httptest.NewRequest(method, "http://page.example/", bytes.NewReader(body))
	r.URL, r.RemoteAddr = u, "127.0.0.1:4711"
	r.Header.Set("Authorization", "Bearer "+token)
	return r
}

// everything is asked of a site whose log holds whatever a member wrote.
var everything = []string{
	"now", "hubs", "status", "trouble", "story?limit=50", "show?subject=device:2-114", "show?subject=hub:H2", "reach", "reach?planned=1&without=device:2-101&advise=1",
	"layout", "course", "course?after=3.4.0.0123456789abcdef", "team", "settings", "pictures", "channels", "channels?move=1&apart=1", "walk", "walk?from=10:00&people=ada,bo", "leave?floor=2",
	"explain?subject=device:2-114&from=-2h", "explain?subject=hub:H2", "differs?from=07:00&to=23:00", "checks", "faults",
}

// FuzzEntries has a member say anything that entries may say, twice: whatever it
// is, every question has an answer, and the same one to whoever reads the log anew.
func FuzzEntries(f *testing.F) {
	d := small(f)
	require.NoError(f, d.Close())
	disk := d.fs.(*journal.MemFS)
	var waits []string // its kind and body
	for _, kind := range events.Kinds() {
		for _, body := range frozen(f, kind) {
			if waits = append(waits, string(kind), body); len(waits) == 4 {
				f.Add(waits[0], waits[1], waits[2], waits[3], int64(0))
				waits = nil
			}
		}
	}
	f.Fuzz(func(t *testing.T, kind1, body1, kind2, body2 string, at int64) {
		var entries []member.Entry
		for _, x := range [][2]string{{kind1, body1}, {kind2, body2}} {
			p, err := events.DecodeBody(events.Kind(x[0]), []byte(x[1]))
			if err != nil {
				return
			}
			e := member.Entry{Payload: p}
			if at != 0 && !events.Kind(x[0]).IsRecord() {
				e.When = events.Some(events.At(events.Instant(at)))
			}
			entries = append(entries, e)
		}
		d := newDevice(t, disk.Clone(), 11)
		m, err := d.home().Open("")
		require.NoError(t, err)
		d.Member = m
		if _, err := d.Record(t.Context(), entries...); err != nil {
			return
		}
		p, err := web.New(web.Options{Member: m, Now: d.stamp, Token: token, Hosts: []string{"page.example"}, Meeting: &meeting{}, Sheet: readSheet, Pack: packed})
		require.NoError(t, err)
		for _, q := range everything {
			path, query, _ := strings.Cut(q, "?")
			r := httptest.NewRequest(http.MethodGet, "http://page.example/api/"+path+"?"+query, nil)
			r.RemoteAddr = "127.0.0.1:4711"
			r.Header.Set("Authorization", "Bearer "+token)
			w := httptest.NewRecorder()
			p.ServeHTTP(w, r)
			require.Less(t, w.Code, 500, "%s: %s", q, w.Body)
			require.True(t, json.Valid(w.Body.Bytes()), "%s: %s", q, w.Body)
		}
		said, err := json.Marshal(d.Status(momentNow))
		require.NoError(t, err)
		read, err := member.Reading(t.Context(), bytes.NewReader(d.bundle()), member.World{Now: d.stamp, Rand: d.rand, MadeUp: true})
		require.NoError(t, err)
		defer read.Close()
		again, err := json.Marshal(read.Status(momentNow))
		require.NoError(t, err)
		require.Equal(t, string(said), string(again))
	})
}
