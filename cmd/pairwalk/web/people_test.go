package web_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/projection"
)

func TestFromAnotherMachineEveryEntrySaysWhoSpeaks(t *testing.T) {
	d := small(t)
	x := d.serve()
	before := len(d.entries())
	for name, header := range map[string]string{"nothing": "", "blanks": "%20%20", "bad escapes": "%zz", "half an escape": "Ilse%2"} {
		t.Run(name, func(t *testing.T) {
			for _, act := range acts {
				if act == "label" || act == "homecoming" {
					continue // they record nothing
				}
				r := x.request(http.MethodPost, "/api/"+act, []byte(`{}`), x.fromAfar)
				if header != "" {
					spokenBy(header)(r)
				}
				require.Contains(t, refused(t, http.StatusBadRequest, x.ask(r)), "who is speaking", act)
			}
		})
	}
	require.Len(t, d.entries(), before)
	require.Empty(t, x.met.told)
	for _, q := range questions {
		if q == "changes" {
			continue
		}
		require.NotContains(t, string(x.get("/api/"+q, x.fromAfar).body), "who is speaking", q)
	}
	require.True(t, told[struct{ Beyond bool }](t, x.get("/api/hello", x.fromAfar)).Beyond)
	require.False(t, told[struct{ Beyond bool }](t, x.get("/api/hello")).Beyond)
}

func TestWhoSpeaksIsWrittenDown(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	d.takes(ben.bundle())
	x := d.serve()
	pairing := d.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S9"})[0].Ref().String()
	const who = "Zoë Müller-佐藤 + 1"
	speak := spokenBy(url.PathEscape(who))
	for i, c := range []struct{ path, body string }{
		{"log", post(once(1), "note.added", `{"of":"site:site","text":"x"}`)},
		{"log", post(once(2), "device.paired", `{"device":"2-114","hub":"H2","serial":"S1"}`)},
		{"correct", `{"ref":"` + pairing + `","tag":"1-002","note":""}`},
		{"set", `{"key":"settle_minutes","value":"15"}`},
		{"assign", `{"hub":"H2","member":"ben"}`},
		{"asked", `{"member":"ben","hub":"H2","last":"none"}`},
		{"import", "tag,kind,hub,radio\n5-001,dimmer,H1,mesh\n"},
		{"records", ""},
		{"merged", `{"export":"","hub":""}`},
		{"picture?subject=2-114", string(pictures(t)["image/png"])},
		{"drawing?floor=2&corner_x=0&corner_y=0&pixel_um=1&turn_mdeg=0", string(pictures(t)["image/png"])},
		{"exchange", `{"a":"2-114","b":"2-115","note":""}`},
		{"revoke", `{"member":"ben","why":"left"}`},
	} {
		before := map[events.Ref]bool{}
		for _, e := range d.entries() {
			before[e.Event.Ref()] = true
		}
		a := x.post("/api/"+c.path, c.body, x.fromAfar, speak)
		require.Equal(t, http.StatusOK, a.code, "%d %s: %s", i, c.path, a.body)
		fresh := 0
		for _, e := range d.entries() {
			if !before[e.Event.Ref()] {
				fresh++
				require.Equal(t, who, e.Event.By(), c.path)
			}
		}
		require.Positive(t, fresh, c.path)
	}
	told[logged](t, x.post("/api/log", `{"once":"`+once(3)+`","by":"Ilse","entries":[{"kind":"note.added","body":{"of":"site:site","text":"x"}}]}`, x.fromAfar, speak))
	told[logged](t, x.post("/api/log", post(once(4), "note.added", `{"of":"site:site","text":"near"}`), speak))
	by := map[string]string{}
	for _, e := range d.entries() {
		if e.Event.ID.Entropy() != nil {
			by[fmt.Sprintf("%x", e.Event.ID.Entropy())] = e.Event.By()
		}
	}
	require.Equal(t, "Ilse", by[once(3)], "whoever speaks may tell of another's work")
	require.Empty(t, by[once(4)], "on this machine it is the member who speaks")
	before := len(d.entries())
	for _, bad := range []string{strings.Repeat("x", 500), url.PathEscape("two\nlines"), "%00", "%ff"} {
		a := x.post("/api/log", post(once(5), "note.added", `{"of":"site:site","text":"x"}`), x.fromAfar, spokenBy(bad))
		require.Contains(t, []int{http.StatusBadRequest, http.StatusUnprocessableEntity}, a.code, bad)
	}
	require.Len(t, d.entries(), before)
}

func TestWithdrawing(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	x := d.serve()
	note := d.log(events.NoteAdded{Of: events.Site(), Text: "x"})[0]
	theirs := ben.log(events.NoteAdded{Of: events.Site(), Text: "ben's"})[0]
	d.takes(ben.bundle())
	ben.takes(d.bundle())
	before := len(d.entries())
	refused(t, http.StatusNotFound, x.post("/api/void", `{"ref":"","why":"did-not-happen","note":""}`))
	refused(t, http.StatusNotFound, x.post("/api/void", `{"ref":"ZZZZZZ","why":"did-not-happen","note":""}`))
	refused(t, http.StatusNotFound, x.post("/api/void", `{"ref":"`+strings.Replace(note.Ref().String(), "/", "/9", 1)+`","why":"did-not-happen","note":""}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/void", `{"ref":"`+note.Ref().String()+`","why":"because","note":""}`))
	refused(t, http.StatusForbidden, ben.serve().post("/api/void", `{"ref":"`+note.Ref().String()+`","why":"did-not-happen","note":""}`))
	require.Len(t, d.entries(), before)
	got := told[logged](t, x.post("/api/void", `{"ref":"`+note.Ref().String()+`","why":"did-not-happen","note":"slip"}`))
	require.Equal(t, "event.voided", got.Entries[0].Kind)
	told[logged](t, x.post("/api/void", `{"ref":"`+theirs.ID.String()+`","why":"did-not-happen","note":""}`)) // a lead may
	require.Len(t, texts(d.entries()), 2, "nothing is erased")
	for _, e := range d.entries() {
		if e.Event.Kind() == "note.added" {
			require.NotEmpty(t, e.Withdrawn)
		}
	}
	refused(t, http.StatusUnprocessableEntity, x.post("/api/void", `{"ref":"`+got.Entries[0].Ref+`","why":"did-not-happen","note":""}`))
}

func TestCorrecting(t *testing.T) {
	d := small(t)
	x := d.serve()
	paired := d.log(events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "S1"})[0].Ref().String()
	before := len(d.entries())
	refused(t, http.StatusNotFound, x.post("/api/correct", `{"ref":"`+paired+`","tag":"9-999"}`))
	refused(t, http.StatusNotFound, x.post("/api/correct", `{"ref":"`+paired+`","hub":"H77"}`))
	refused(t, http.StatusNotFound, x.post("/api/correct", `{"ref":"nothing","tag":"2-115"}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/correct", `{"ref":"`+paired+`"}`))
	require.Len(t, d.entries(), before)
	got := told[logged](t, x.post("/api/correct", `{"ref":"`+paired+`","tag":"2-115","serial":"S2","hub":"H1","note":"read again"}`))
	require.Len(t, got.Entries, 2)
	require.Equal(t, []string{"event.voided", "device.paired"}, []string{got.Entries[0].Kind, got.Entries[1].Kind})
	require.JSONEq(t, `{"device":"2-115","hub":"H1","serial":"S2"}`, string(got.Entries[1].Body))

	d.log(events.DevicePaired{Device: "2-101", Hub: "H2", Serial: "A"}, events.DevicePaired{Device: "2-102", Hub: "H2", Serial: "B"})
	told[logged](t, x.post("/api/exchange", `{"a":"2-101","b":"2-102","note":"labels"}`))
	a, _ := d.Now().Device("2-101")
	b, _ := d.Now().Device("2-102")
	require.Equal(t, []events.Serial{"B", "A"}, []events.Serial{a.Serial, b.Serial})
	before = len(d.entries())
	refused(t, http.StatusNotFound, x.post("/api/exchange", `{"a":"2-101","b":"9-999"}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/exchange", `{"a":"1-001","b":"1-002"}`))
	require.Len(t, d.entries(), before)
}

func TestResolving(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	d.log(events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "S1"})
	ben.log(events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "S2"})
	d.takes(ben.bundle())
	x := d.serve()
	c := told[struct {
		Conflicts []struct {
			Key    string
			Offers []struct{ Stands, Words string }
		}
	}](t, x.get("/api/trouble")).Conflicts
	found := 0
	for i := range c {
		if len(c[i].Offers) > 1 {
			found = i
		}
	}
	key, offers := c[found].Key, c[found].Offers
	require.NotEmpty(t, offers)
	before := len(d.entries())
	refused(t, http.StatusUnprocessableEntity, x.post("/api/resolve", `{"key":"nothing","stands":"","why":"x"}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/resolve", `{"key":"`+key+`","stands":"neither","why":"x"}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/resolve", `{"key":"`+key+`","stands":"`+offers[0].Stands+`","why":""}`))
	require.Len(t, d.entries(), before)
	told[logged](t, x.post("/api/resolve", `{"key":"`+key+`","stands":"`+offers[0].Stands+`","why":"read the label again"}`))
	for _, left := range d.Status(momentNow).Conflicts {
		require.NotEqual(t, key, left.Key)
	}
}

func TestAskingAColleagueByVoice(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	d.takes(ben.bundle())
	x := d.serve()
	d.pass(4 * time.Hour)
	before := len(d.entries())
	refused(t, http.StatusBadRequest, x.post("/api/asked", `{"member":"ben","hub":"H2","last":""}`))
	refused(t, http.StatusBadRequest, x.post("/api/asked", `{"member":"ben","hub":"H2","last":"soon"}`))
	refused(t, http.StatusNotFound, x.post("/api/asked", `{"member":"nobody","hub":"H2","last":"none"}`))
	refused(t, http.StatusNotFound, x.post("/api/asked", `{"member":"ben","hub":"H77","last":"none"}`))
	refused(t, http.StatusNotFound, x.post("/api/assign", `{"hub":"H77","member":"ben"}`))
	refused(t, http.StatusNotFound, x.post("/api/assign", `{"hub":"H2","member":"nobody"}`))
	require.Len(t, d.entries(), before)
	got := told[logged](t, x.post("/api/asked", `{"member":"ben","hub":"H2","last":"11:30"}`))
	at := d.time.Load()
	require.JSONEq(t, fmt.Sprintf(`{"member":%q,"hub":"H2","last":[%d,%d],"through":%d}`, ben.Key(), at-35*60_000, at-25*60_000, at), string(got.Entries[0].Body))
	got = told[logged](t, x.post("/api/asked", `{"member":"ben","hub":"H2","last":"none"}`))
	require.JSONEq(t, fmt.Sprintf(`{"member":%q,"hub":"H2","through":%d}`, ben.Key(), at), string(got.Entries[0].Body))

	told[logged](t, x.post("/api/assign", `{"hub":"H2","member":"ben"}`))
	h, _ := d.Now().Hub("H2")
	require.Contains(t, h.Assigned, ben.Key())
	told[logged](t, x.post("/api/assign", `{"hub":"H2","member":"`+string(ben.Key())+`","ended":true}`))
	h, _ = d.Now().Hub("H2")
	require.NotContains(t, h.Assigned, ben.Key())
}

func TestInviting(t *testing.T) {
	d := small(t)
	x := d.serve()
	type invited struct {
		V                    int
		Token, Role, Expires string
		Meets, Modules       []string
	}
	before := len(d.entries())
	got := told[invited](t, x.post("/api/invite", `{"role":"tech","hours":24,"sheet":""}`))
	require.Equal(t, "tech", got.Role)
	require.Equal(t, "2026-03-03T08:00:00Z", got.Expires)
	require.NotEmpty(t, got.Modules)
	for _, row := range got.Modules {
		require.Len(t, row, len(got.Modules), "a QR code is square")
		require.Empty(t, strings.Trim(row, "01"))
	}
	token, err := invite.Parse(got.Token)
	require.NoError(t, err)
	ben := newDevice(t, journal.Memory(), 21)
	ben.time.Store(d.time.Load())
	ben.Member, err = ben.home().Join(t.Context(), token, "ben", "")
	require.NoError(t, err)
	for _, hours := range []string{"0", "-1", "2161", "1e300", "0.5", "1e-9"} {
		refused(t, http.StatusBadRequest, x.post("/api/invite", `{"role":"tech","hours":`+hours+`,"sheet":""}`))
	}
	refused(t, http.StatusUnprocessableEntity, x.post("/api/invite", `{"role":"king","hours":24,"sheet":""}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/invite", `{"role":"lead","hours":24,"sheet":""}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/invite", `{"role":"lead","hours":24,"sheet":"one two three"}`))
	require.Equal(t, "lead", told[invited](t, x.post("/api/invite", `{"role":"lead","hours":24,"sheet":"`+strings.Join(d.root.Words(), " ")+`"}`)).Role)
	require.Len(t, d.entries(), before, "inviting says nothing in the log")
	require.Contains(t, []int{http.StatusForbidden, http.StatusUnprocessableEntity}, ben.serve().post("/api/invite", `{"role":"tech","hours":24,"sheet":""}`).code)

}

func TestAdmittingAndRevoking(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 21)
	x := d.serve()
	d.pass(49 * time.Hour) // the invite has expired when its bundle comes
	in := told[struct {
		Words        string
		Fresh, Known int
		Admitted     []string
		Waiting      []string
		Conflicts    []string
		TheyLack     int `json:"they_lack"`
	}](t, x.post("/api/bundle", string(ben.bundle())))
	require.Positive(t, in.Fresh)
	require.Equal(t, []string{}, in.Admitted)
	require.Len(t, in.Waiting, 1)
	require.Positive(t, in.TheyLack)
	needs := told[struct {
		Needs []struct{ Words, Screen, Subject string }
	}](t, x.get("/api/now")).Needs
	require.Len(t, needs, 1)
	require.Equal(t, "team", needs[0].Screen)

	refused(t, http.StatusNotFound, x.post("/api/admit", `{"member":"nobody"}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/admit", `{"member":"ada"}`))
	told[logged](t, x.post("/api/admit", `{"member":"ben"}`))
	standing := func() projection.Standing { m, _ := d.Now().Member(ben.Key()); return m.Standing }
	require.Equal(t, projection.Admitted, standing())
	ben.takes(d.bundle())
	y := ben.serve()
	refused(t, http.StatusForbidden, y.post("/api/revoke", `{"member":"ada","why":"x"}`))
	refused(t, http.StatusForbidden, y.post("/api/admit", `{"member":"ben"}`))
	refused(t, http.StatusNotFound, x.post("/api/revoke", `{"member":"nobody","why":"x"}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/revoke", `{"member":"ada","why":"x","sheet":""}`))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/revoke", `{"member":"ben","why":""}`))
	refused(t, http.StatusNotFound, x.post("/api/revoke", `{"member":"ben","why":"x","last":"NOSUCH"}`))
	told[logged](t, x.post("/api/revoke", `{"member":"ben","why":"phone lost"}`))
	require.Equal(t, projection.Revoked, standing())
}

// Where somebody else has had their device since, the lead names the last entry that
// is theirs: what came after it does not count.
func TestRevokingUpToAnEntry(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	d.takes(ben.bundle())
	his := ben.log(events.DevicePaired{Device: "1-001", Hub: "H1", Serial: "S1"})[0]
	ben.log(events.DevicePaired{Device: "1-002", Hub: "H1", Serial: "S2"})
	d.takes(ben.bundle())
	told[logged](t, d.serve().post("/api/revoke", `{"member":"ben","why":"phone stolen","last":"`+his.Ref().String()+`"}`))
	first, _ := d.Now().Device("1-001")
	second, _ := d.Now().Device("1-002")
	require.NotNil(t, first.Paired)
	require.Nil(t, second.Paired)
}

func TestABundleGoesOverAndBack(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	x, y := d.serve(), ben.serve()
	out := x.get("/api/bundle")
	require.Equal(t, http.StatusOK, out.code)
	require.Equal(t, "application/octet-stream", out.header.Get("Content-Type"))
	type received struct {
		V                            int
		Words, From                  string
		Fresh, Known, Healed         int
		Admitted, Waiting, Conflicts []string
	}
	got := told[received](t, y.post("/api/bundle", string(out.body)))
	require.Equal(t, "ada", got.From)
	require.Equal(t, len(d.entries()), got.Fresh)
	require.Equal(t, []string{}, got.Conflicts)
	again := told[received](t, y.post("/api/bundle", string(out.body)))
	require.Equal(t, []int{0, got.Fresh}, []int{again.Fresh, again.Known})
	back := told[received](t, x.post("/api/bundle", string(y.get("/api/bundle").body)))
	require.Equal(t, []string{"ben"}, back.Admitted)
	require.Equal(t, projection.Admitted, func() projection.Standing { m, _ := d.Now().Member(ben.Key()); return m.Standing }())

	before := len(d.entries())
	damaged := bytes.Clone(out.body)
	damaged[len(damaged)/2] ^= 1
	for name, file := range map[string]string{
		"nothing": "", "half": string(out.body[:len(out.body)/2]), "garbage": "garbage", "damaged": string(damaged),
	} {
		a := x.post("/api/bundle", file)
		refused(t, http.StatusUnprocessableEntity, a)
		require.Len(t, d.entries(), before, name)
	}
	stranger := newDevice(t, journal.Memory(), 99)
	m, _, err := stranger.home().Init(t.Context(), opening("Other Works"))
	require.NoError(t, err)
	stranger.Member = m
	refused(t, http.StatusUnprocessableEntity, x.post("/api/bundle", string(stranger.bundle())))
	require.Len(t, d.entries(), before)
}

func TestCallingAtAnAddress(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	require.Equal(t, "{}\n", string(x.post("/api/call", `{"addr":"192.0.2.17:24517"}`).body))
	require.Equal(t, http.StatusOK, x.post("/api/hangup", `{"addr":"[2001:db8::1]:24517"}`).code)
	require.Equal(t, []string{"call 192.0.2.17:24517", "hang up [2001:db8::1]:24517"}, x.met.told)
	for _, addr := range []string{"", "192.0.2.17", ":24517", "192.0.2.17:", "http://192.0.2.17:24517/", "2001:db8::1:24517"} {
		refused(t, http.StatusBadRequest, x.post("/api/call", fmt.Sprintf(`{"addr":%q}`, addr)))
		refused(t, http.StatusBadRequest, x.post("/api/hangup", fmt.Sprintf(`{"addr":%q}`, addr)))
	}
	require.Len(t, x.met.told, 2)
	require.Len(t, x.member.entries(), before)
}
