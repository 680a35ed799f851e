package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd/member"
)

const wireDir = "../../../testdata/wire"

// frozen are the bodies of a kind's frozen wire file, without the sealed line.
func frozen(t testing.TB, kind events.Kind) []string {
	b, err := os.ReadFile(filepath.Join(wireDir, string(kind)+".json"))
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	return lines[:len(lines)-1]
}

// A page's JSON.stringify writes bodies as they are frozen: the same bytes come
// back from the log.
func TestEveryFieldKindIsRecordedAsItWasWritten(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	d.takes(ben.bundle())
	d.imports([]byte("tag,kind,hub,radio\nH,hub,,\nH9,hub,,\n2-120,dimmer,H9,mesh\n"))
	fault := d.log(events.FaultFound{Of: events.Device("2-115"), Symptom: "hums", Severity: events.Minor})[0].Ref().String()
	x := d.serve()
	n := 0
	for _, kind := range events.Kinds() {
		if kind.IsRecord() {
			continue
		}
		t.Run(string(kind), func(t *testing.T) {
			for _, body := range frozen(t, kind) {
				body = strings.ReplaceAll(body, "5vesrrri2hbmn2xjam4jawmvmeuvsjz2lrr7snrwyfdbjlehg7iq", string(ben.Key()))
				if strings.HasPrefix(string(kind), "fault.") {
					body = strings.ReplaceAll(body, "qe4xodvipulv6vvdkrtmgtd6ztfy3curwtxdpis56yhvxd6jwoka.vwqaaaaaaaaaa/9/2b4c342f5433ebe5", fault)
				}
				if kind == "device.renamed" && strings.Contains(body, `"from":"a"`) {
					body = `{"from":"a","to":"2-14"}` // to what there is, since Known asks for it
				}
				n++
				got := told[logged](t, x.post("/api/log", post(once(n), string(kind), body)))
				require.Len(t, got.Entries, 1)
				require.Equal(t, string(kind), got.Entries[0].Kind)
				require.Equal(t, body, string(got.Entries[0].Body))
				require.Equal(t, "ada", got.Entries[0].By)
				require.False(t, got.Again)
				require.Equal(t, body, x.latest(t))
			}
		})
	}
}

// latest is the body of the log's last entry, as the story tells it.
func (x *page) latest(t *testing.T) string {
	t.Helper()
	evs := x.member.entries()
	ref := evs[len(evs)-1].Event.Ref()
	for _, e := range evs {
		if e.Event.Seq > ref.Seq {
			ref = e.Event.Ref()
		}
	}
	story := told[struct {
		Entries []struct{ Body json.RawMessage }
	}](t, x.get("/api/story?refs="+ref.String()))
	require.Len(t, story.Entries, 1)
	return string(story.Entries[0].Body)
}

func TestRecordsOfTheLogItselfAreNotToldLikeThis(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	for _, kind := range events.Kinds() {
		if !kind.IsRecord() {
			continue
		}
		for _, body := range frozen(t, kind) {
			words := refused(t, http.StatusBadRequest, x.post("/api/log", post(once(1), string(kind), body)))
			require.Contains(t, words, string(kind))
			refused(t, http.StatusBadRequest, x.post("/api/log", post(once(1), "note.added", `{"of":"site:site","text":"x"}`, string(kind), body)))
		}
	}
	require.Len(t, x.member.entries(), before)
}

func TestTextIsKeptByteForByte(t *testing.T) {
	x := small(t).serve()
	for i, text := range []string{
		"plain", "<script>alert(1)</script>", `"><img src=x onerror=alert(1)>`, "&lt;&amp;", "</script><!--", "{{page}} ${x} %s %00",
		"a\u2028b\u2029c", "💡👷🏽‍♀️", "\u202eexe.gpj\u202c", "\u200b\u200f\u2066\ufeff", "e\u0301 é", "über der Tür", "漢字 \U0010ffff", "\ufffd", "\ufffe\uffff",
		"two\nlines\tand a tab", `back\slash`, `a "quote"`, "'; DROP TABLE devices; --", "\u00a0", "=1+2", "../../etc/passwd", "null", strings.Repeat("ü", 4000),
	} {
		// Written as RFC 8785 has it, which is what JSON.stringify writes.
		quoted, err := events.EncodeBody(events.NoteAdded{Of: events.Site(), Text: text})
		require.NoError(t, err, "%q", text)
		got := told[logged](t, x.post("/api/log", post(once(i), "note.added", string(quoted))))
		var body struct{ Text string }
		require.NoError(t, json.Unmarshal(got.Entries[0].Body, &body))
		require.Equal(t, text, body.Text)
		require.Equal(t, string(quoted), x.latest(t))
		evs := x.member.entries()
		require.Contains(t, texts(evs), text)
	}
}

func texts(said []member.Said) []string {
	var out []string
	for _, x := range said {
		if p, ok := x.Event.Payload.(events.NoteAdded); ok {
			out = append(out, p.Text)
		}
	}
	return out
}

func TestWhatIsNotUnderstoodIsRefusedWhole(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	good := `{"kind":"note.added","body":{"of":"site:site","text":"x"},"when":""}`
	for name, c := range map[string]string{
		"nothing":                   ``,
		"no JSON":                   `{`,
		"not an object":             `[]`,
		"a string":                  `"once"`,
		"more after the end":        post(once(0), "note.added", `{"of":"site:site","text":"x"}`) + `{}`,
		"garbage after the end":     post(once(0), "note.added", `{"of":"site:site","text":"x"}`) + `]`,
		"no entries":                `{"once":"` + once(0) + `","entries":[]}`,
		"null":                      `null`,
		"null for entries":          `{"once":"` + once(0) + `","entries":null}`,
		"an unknown field":          `{"once":"` + once(0) + `","later":1,"entries":[` + good + `]}`,
		"an unknown field of one":   `{"once":"` + once(0) + `","entries":[{"kind":"note.added","body":{"of":"site:site","text":"x"},"who":"me"}]}`,
		"no body":                   `{"once":"` + once(0) + `","entries":[{"kind":"note.added"}]}`,
		"an unknown kind":           post(once(0), "note.burnt", `{"of":"site:site","text":"x"}`),
		"no kind":                   post(once(0), "", `{"of":"site:site","text":"x"}`),
		"null for a body":           post(once(0), "note.added", `null`),
		"a list for a body":         post(once(0), "note.added", `[]`),
		"an unknown key":            post(once(0), "note.added", `{"of":"site:site","text":"x","more":1}`),
		"the same key twice":        post(once(0), "note.added", `{"of":"site:site","text":"x","text":"y"}`),
		"keys in another order":     post(once(0), "note.added", `{"text":"x","of":"site:site"}`),
		"a missing key":             post(once(0), "note.added", `{"of":"site:site"}`),
		"null for absent":           post(once(0), "device.paired", `{"device":"2-114","hub":"H2","serial":null}`),
		"empty for absent":          post(once(0), "device.paired", `{"device":"2-114","hub":"H2","serial":""}`),
		"a space":                   post(once(0), "note.added", `{"of": "site:site","text":"x"}`),
		"a float":                   post(once(0), "hub.channel", `{"hub":"H2","radio":"mesh","channel":25.0}`),
		"an exponent":               post(once(0), "hub.channel", `{"hub":"H2","radio":"mesh","channel":25e0}`),
		"a number too large":        post(once(0), "push.done", `{"hub":"H2","program":"r7","began":9007199254740993}`),
		"a lone surrogate":          post(once(0), "note.added", `{"of":"site:site","text":"\ud800"}`),
		"a surrogate pair, escaped": post(once(0), "note.added", `{"of":"site:site","text":"\ud83d\ude00"}`),
		"U+2028, escaped":           post(once(0), "note.added", `{"of":"site:site","text":"\u2028"}`),
		"HTML, escaped":             post(once(0), "note.added", `{"of":"site:site","text":"\u003cb\u003e"}`),
		"a NUL":                     post(once(0), "note.added", `{"of":"site:site","text":"\u0000"}`),
		"a NUL as it is":            post(once(0), "note.added", "{\"of\":\"site:site\",\"text\":\"\x00\"}"),
		"a control character":       post(once(0), "note.added", `{"of":"site:site","text":"\u001b"}`),
		"DEL":                       post(once(0), "note.added", "{\"of\":\"site:site\",\"text\":\"\x7f\"}"),
		"no UTF-8":                  post(once(0), "note.added", "{\"of\":\"site:site\",\"text\":\"\xff\"}"),
		"a surrogate in UTF-8":      post(once(0), "note.added", "{\"of\":\"site:site\",\"text\":\"\xed\xa0\x80\"}"),
		"an empty text":             post(once(0), "note.added", `{"of":"site:site","text":""}`),
		"a text too long":           post(once(0), "note.added", `{"of":"site:site","text":"`+strings.Repeat("x", 4001)+`"}`),
		"a name too long":           post(once(0), "device.paired", `{"device":"`+strings.Repeat("x", 65)+`","hub":"H2"}`),
		"no subject":                post(once(0), "note.added", `{"of":"2-114","text":"x"}`),
		"no time":                   `{"once":"` + once(0) + `","entries":[{"kind":"note.added","body":{"of":"site:site","text":"x"},"when":"soon"}]}`,
		"a time that ends early":    `{"once":"` + once(0) + `","entries":[{"kind":"note.added","body":{"of":"site:site","text":"x"},"when":"10:00..09:00"}]}`,
		"the second is bad":         `{"once":"` + once(0) + `","entries":[` + good + `,{"kind":"note.added","body":{"of":"site:site"}}]}`,
		"the first is bad":          `{"once":"` + once(0) + `","entries":[{"kind":"note.added","body":{"of":"site:site"}},` + good + `]}`,
	} {
		t.Run(name, func(t *testing.T) {
			refused(t, http.StatusBadRequest, x.post("/api/log", c))
			require.Len(t, x.member.entries(), before)
		})
	}
	told[logged](t, x.post("/api/log", post(once(0), "note.added", `{"of":"site:site","text":"x"}`)))
	require.Len(t, x.member.entries(), before+1, "and what is right goes")
}

// Beside the bodies, too: package json would write U+FFFD instead and say nothing.
func TestTextThatIsNoUnicodeIsNotMended(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	by := func(text string) string {
		return `{"once":"` + once(0) + `","by":"` + text + `","entries":[{"kind":"note.added","body":{"of":"site:site","text":"x"}}]}`
	}
	for _, text := range []string{`\ud800`, `\udc00`, `a\uD83D`, `\ud83d\ud83d`, `\ud83dx\ude00`, `\\\ud800`, `\ude00\ud83d`, `\ud83d\n`, "\xff", "\xed\xa0\x80", "\xc0\xaf"} {
		refused(t, http.StatusBadRequest, x.post("/api/log", by(text)))
		refused(t, http.StatusBadRequest, x.post("/api/void", `{"ref":"x","why":"did-not-happen","note":"`+text+`"}`))
	}
	require.Len(t, x.member.entries(), before)
	for i, c := range [][2]string{{`\ud83d\ude00`, "😀"}, {`\\ud800`, `\ud800`}, {`\\\\ud800`, `\\ud800`}, {"\ufffd", "\ufffd"}, {`\ufffd`, "\ufffd"}, {`\u00e9`, "é"}, {"😀", "😀"}} {
		got := told[logged](t, x.post("/api/log", strings.Replace(by(c[0]), once(0), once(i+1), 1)))
		require.Equal(t, c[1], got.Entries[0].By, c[0])
	}
}

func TestMoreThanAMegabyteIsNotTaken(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	note := `{"kind":"note.added","body":{"of":"site:site","text":"` + strings.Repeat("x", 4000) + `"},"when":""},`
	many := `{"once":"` + once(0) + `","entries":[` + strings.TrimSuffix(strings.Repeat(note, 1+(1<<20)/len(note)), ",") + `]}`
	require.Contains(t, refused(t, http.StatusRequestEntityTooLarge, x.post("/api/log", many)), "1 MB")
	padded := post(once(0), "note.added", `{"of":"site:site","text":"x"}`) + strings.Repeat(" ", 1<<20)
	refused(t, http.StatusRequestEntityTooLarge, x.post("/api/log", padded))
	require.Len(t, x.member.entries(), before)
	fits := `{"once":"` + once(0) + `","entries":[` + strings.TrimSuffix(strings.Repeat(note, 200), ",") + `]}`
	require.Len(t, told[logged](t, x.post("/api/log", fits)).Entries, 200)
	require.Len(t, x.member.entries(), before+200)
}

func TestWhatIsNotOnTheScheduleIsNotFound(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	for name, c := range map[string]struct{ words, body string }{
		"a device":        {"9-999", post(once(0), "device.paired", `{"device":"9-999","hub":"H2"}`)},
		"a hub":           {"H77", post(once(0), "device.paired", `{"device":"2-114","hub":"H77"}`)},
		"a member":        {"member", post(once(0), "hub.assigned", `{"hub":"H2","member":"5vesrrri2hbmn2xjam4jawmvmeuvsjz2lrr7snrwyfdbjlehg7iq"}`)},
		"the second":      {"9-999", post(once(0), "note.added", `{"of":"site:site","text":"x"}`, "device.paired", `{"device":"9-999","hub":"H2"}`)},
		"listed too late": {"9-998", post(once(0), "device.paired", `{"device":"9-998","hub":"H2"}`, "device.listed", `{"device":"9-998","is":"dimmer","hub":"H2","radio":"mesh","power":"mains"}`)},
		"missed":          {"9-997", post(once(0), "push.done", `{"hub":"H2","program":"r7","missed":["9-997"]}`)},
	} {
		t.Run(name, func(t *testing.T) {
			words := refused(t, http.StatusNotFound, x.post("/api/log", c.body))
			require.Contains(t, words, c.words)
			require.Contains(t, words, "not on the schedule")
			require.Len(t, x.member.entries(), before)
		})
	}
	listed := told[logged](t, x.post("/api/log", post(once(0),
		"device.listed", `{"device":"9-998","is":"dimmer","hub":"H2","radio":"mesh","power":"mains"}`,
		"device.paired", `{"device":"9-998","hub":"H2","serial":"S1"}`)))
	require.Len(t, listed.Entries, 2)
	d, ok := x.member.Now().Device("9-998")
	require.True(t, ok)
	require.Equal(t, events.Serial("S1"), d.Serial)
}

func TestRecordedOnce(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	one := post(once(5), "device.paired", `{"device":"2-114","hub":"H2","serial":"S1"}`)
	first := told[logged](t, x.post("/api/log", one))
	require.False(t, first.Again)
	x.member.pass(time.Hour)
	second := told[logged](t, x.post("/api/log", one))
	require.True(t, second.Again)
	require.Equal(t, first.Entries, second.Entries)
	require.Len(t, x.member.entries(), before+1)
	require.True(t, strings.HasSuffix(strings.ToLower(fmt.Sprintf("%x", ulidBytes(x, first.Entries[0].Ref))), once(5)), "it is the random half of the id")

	three := post(once(6), "note.added", `{"of":"site:site","text":"a"}`, "note.added", `{"of":"site:site","text":"b"}`, "note.added", `{"of":"site:site","text":"c"}`)
	first = told[logged](t, x.post("/api/log", three))
	require.Len(t, first.Entries, 3)
	second = told[logged](t, x.post("/api/log", three))
	require.True(t, second.Again)
	require.Equal(t, first.Entries, second.Entries)
	require.Len(t, x.member.entries(), before+4)

	x.member.again() // a process that was started anew
	y := x.member.serve()
	for _, body := range []string{one, three} {
		require.True(t, told[logged](t, y.post("/api/log", body)).Again)
	}
	require.Len(t, x.member.entries(), before+4)
	require.False(t, told[logged](t, y.post("/api/log", strings.Replace(one, once(5), once(7), 1))).Again, "another number is another entry")
	require.Len(t, x.member.entries(), before+5)
}

func ulidBytes(x *page, ref string) []byte {
	e, err := x.member.Entry(ref)
	if err != nil {
		panic(err)
	}
	return e.ID[:]
}

// What was recorded stays recorded, whatever has become of its subject since: the
// page whose answer was lost must not be told that there is no such device.
func TestRecordedOnceThoughTheSiteHasMovedOn(t *testing.T) {
	x := small(t).serve()
	paired := post(once(1), "device.paired", `{"device":"2-14","hub":"H2"}`)
	first := told[logged](t, x.post("/api/log", paired))
	x.member.log(events.DeviceRenamed{From: "2-14", To: "2-140"})
	again := told[logged](t, x.post("/api/log", paired))
	require.True(t, again.Again)
	require.Equal(t, first.Entries[0].Ref, again.Entries[0].Ref)
}

func TestRecordedOnceByManyAtOnce(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	body := post(once(9), "note.added", `{"of":"site:site","text":"a"}`, "note.added", `{"of":"site:site","text":"b"}`)
	answers := make([]answer, 20)
	var all sync.WaitGroup
	for i := range answers {
		all.Go(func() { answers[i] = x.post("/api/log", body) })
	}
	all.Wait()
	want := told[logged](t, answers[0]).Entries
	for _, a := range answers {
		require.Equal(t, want, told[logged](t, a).Entries)
	}
	require.Len(t, x.member.entries(), before+2)
}

func TestTheNumberOfAnotherIsNoMatter(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	body := post(once(3), "note.added", `{"of":"site:site","text":"x"}`)
	require.False(t, told[logged](t, ben.serve().post("/api/log", body)).Again)
	d.takes(ben.bundle())
	got := told[logged](t, d.serve().post("/api/log", body))
	require.False(t, got.Again)
	require.Equal(t, "ada", got.Entries[0].Member)
	require.Len(t, texts(d.entries()), 2)
}

func TestNumbersThatNobodyDrew(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	for _, n := range []string{"", "1", "abc", strings.Repeat("0", 19), strings.Repeat("0", 21), strings.Repeat("0", 22), strings.Repeat("0", 18), strings.Repeat("g", 20), strings.Repeat("0", 20), " " + once(1)[1:], "0x" + once(1)[2:]} {
		refused(t, http.StatusBadRequest, x.post("/api/log", post(n, "note.added", `{"of":"site:site","text":"x"}`)))
	}
	refused(t, http.StatusBadRequest, x.post("/api/log", `{"entries":[{"kind":"note.added","body":{"of":"site:site","text":"x"}}]}`))
	require.Len(t, x.member.entries(), before)
	require.False(t, told[logged](t, x.post("/api/log", post(strings.ToUpper("00000000000000abcdef"), "note.added", `{"of":"site:site","text":"x"}`))).Again)
	require.True(t, told[logged](t, x.post("/api/log", post("00000000000000abcdef", "note.added", `{"of":"site:site","text":"x"}`))).Again, "hex has no case")
}

func TestWhenAndWhatToMind(t *testing.T) {
	x := small(t).serve()
	x.member.pass(4 * time.Hour) // 12:00
	got := told[logged](t, x.post("/api/log", `{"once":"`+once(1)+`","by":"Ilse","entries":[{"kind":"device.paired","body":{"device":"2-118","hub":"H2"},"when":"09:40..10:10"}]}`))
	require.Equal(t, []string{"2026-03-02T09:40:00.000Z", "2026-03-02T10:10:00.000Z"}, got.Entries[0].When)
	require.Equal(t, "Ilse", got.Entries[0].By)
	require.Equal(t, "ada", got.Entries[0].Member)
	require.Len(t, got.Cautions, 1, "2-118 is an emergency fitting")
	require.NotEmpty(t, got.Flagged, "H2 was not ready")
	got = told[logged](t, x.post("/api/log", `{"once":"`+once(2)+`","entries":[{"kind":"device.paired","body":{"device":"2-114","hub":"H2"},"when":"10:00"}]}`))
	require.Equal(t, []string{"2026-03-02T09:55:00.000Z", "2026-03-02T10:05:00.000Z"}, got.Entries[0].When, "by when_tolerance_minutes")
	require.NotNil(t, got.NotCounted)
}
