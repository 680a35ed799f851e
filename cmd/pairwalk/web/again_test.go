package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
)

// Whoever asks again is not sent what they have.
func TestAnAnswerThatIsTheSameIsNotSentAgain(t *testing.T) {
	x := small(t).serve()
	for _, path := range []string{"/api/layout", "/api/story", "/api/hubs"} {
		first := x.get(path)
		require.Equal(t, http.StatusOK, first.code)
		tag := first.header.Get("ETag")
		require.Regexp(t, `^"[0-9a-f]{32}"$`, tag)
		has := func(r *http.Request) { r.Header.Set("If-None-Match", tag) }
		again := x.get(path, has)
		require.Equal(t, http.StatusNotModified, again.code, path)
		require.Empty(t, again.body)
		require.Equal(t, tag, again.header.Get("ETag"))
		require.Equal(t, "no-store", again.header.Get("Cache-Control"), "it is kept by nobody but the page")
	}
	had := x.get("/api/story").header.Get("ETag")
	x.member.log(events.NoteAdded{Of: events.Hub("H1"), Text: "new"})
	next := x.get("/api/story", func(r *http.Request) { r.Header.Set("If-None-Match", had) })
	require.Equal(t, http.StatusOK, next.code)
	require.Contains(t, string(next.body), `"new"`)
	require.NotEqual(t, had, next.header.Get("ETag"))
}

// A course comes whole first, and then what is new in it.
func TestACourseIsAskedForAfterAMark(t *testing.T) {
	type course struct {
		Mark, After string
		Turns       [][]any
	}
	x := small(t).serve()
	had := told[course](t, x.get("/api/course"))
	require.Empty(t, had.After)
	x.member.pass(time.Minute)
	x.member.log(events.DeviceSkipped{Device: "2-114", Why: events.NoAccess})
	more := told[course](t, x.get("/api/course?after="+had.Mark))
	require.Equal(t, had.Mark, more.After)
	require.Len(t, more.Turns, 1)
	require.Len(t, told[course](t, x.get("/api/course")).Turns, len(had.Turns)+1)
}

// heard takes down when a stream said how many entries there are.
type heard struct {
	header http.Header
	began  time.Time
	said   []word
}

type word struct {
	after   time.Duration
	entries int
}

func (h *heard) Header() http.Header { return h.header }
func (h *heard) WriteHeader(int)     {}
func (h *heard) Flush()              {}
func (h *heard) Write(b []byte) (int, error) {
	var doc struct{ Entries int }
	if err := json.Unmarshal(bytes.TrimPrefix(b, []byte("data: ")), &doc); err != nil {
		return 0, err
	}
	h.said = append(h.said, word{time.Since(h.began), doc.Entries})
	return len(b), nil
}

// That the log has grown is said at once, whatever else was just told, and again after
// 5 ms; only the words of a flood are ever further apart, up to 50 ms, and the last of
// them tells of all of it.
func TestAnEntryIsToldOfAtOnce(t *testing.T) {
	const soon, gap = 5 * time.Millisecond, 50 * time.Millisecond
	d := small(t)
	synctest.Test(t, func(t *testing.T) {
		met := &meeting{news: make(chan struct{})}
		p, err := web.New(web.Options{Member: d.Member, Now: d.stamp, Token: token, Meeting: met, Hosts: []string{"page.example"}})
		require.NoError(t, err)
		ctx, stop := context.WithCancel(t.Context())
		r, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://page.example/api/changes", nil)
		require.NoError(t, err)
		r.Header.Set("Authorization", "Bearer "+token)
		h := &heard{header: http.Header{}, began: time.Now()}
		ended := make(chan struct{})
		go func() {
			defer close(ended)
			p.ServeHTTP(h, r)
		}()
		says := func(after time.Duration, told ...func()) {
			time.Sleep(time.Until(h.began.Add(after))) // of the bubble's own clock
			for _, f := range told {
				f()
				synctest.Wait()
			}
		}
		n := len(d.entries())
		grows := func() { d.log(events.NoteAdded{Of: events.Hub("H1"), Text: "x"}) }
		news := func() { met.news <- struct{}{} }
		says(0)
		says(time.Second, news, grows)                 // one after the other, at once
		says(2*time.Second, grows, grows, news, grows) // the first at once, the others together
		says(3*time.Second, news, news)                // what is no entry can wait
		says(4*time.Second, grows)
		for i := range 199 { // a flood: one each ms, between any two words
			says(4*time.Second+time.Duration(2*i+3)*time.Millisecond/2, grows)
		}
		says(5*time.Second, grows, grows) // it has been still since
		says(6 * time.Second)
		stop()
		<-ended
		require.Equal(t, []word{
			{0, n},
			{time.Second, n}, {time.Second, n + 1},
			{2 * time.Second, n + 2}, {2*time.Second + soon, n + 4},
			{3 * time.Second, n + 4}, {3*time.Second + gap, n + 4},
			{4 * time.Second, n + 5}, {4*time.Second + soon, n + 9}, {4*time.Second + 3*soon, n + 19}, {4*time.Second + 7*soon, n + 39},
			{4*time.Second + 15*soon, n + 79}, {4*time.Second + 15*soon + gap, n + 129}, {4*time.Second + 15*soon + 2*gap, n + 179}, {4*time.Second + 15*soon + 3*gap, n + 204},
			{5 * time.Second, n + 205}, {5*time.Second + soon, n + 206},
		}, h.said)
	})
}
