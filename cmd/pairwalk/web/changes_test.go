package web_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
	"pairwalk/syncd/member"
)

// strip is how things stand, as the page reads it.
type strip struct {
	Page    string `json:"page"`
	Now     string `json:"now"`
	Unsent  int    `json:"unsent"`
	Entries int    `json:"entries"`
	Last    *struct {
		Member string `json:"member"`
		At     string `json:"at"`
	} `json:"last"`
	Within    []string `json:"within"`
	Addrs     []string `json:"addrs"`
	Conflicts int      `json:"conflicts"`
	Faults    int      `json:"faults"`
	Clocks    []string `json:"clocks"`
	Broken    string   `json:"broken"`
	Away      int      `json:"pictures_away"`
	Layout    int      `json:"layout"`
	Team      int      `json:"team"`
}

// stream is one open stream of changes.
type stream struct {
	t      *testing.T
	lines  *bufio.Scanner
	answer *http.Response
	stop   context.CancelFunc
}

func (x *page) follow(t *testing.T) *stream {
	ctx, stop := context.WithCancel(t.Context())
	got, err := x.client.Do(x.request(http.MethodGet, "/api/changes", nil).WithContext(ctx))
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, got.StatusCode)
	s := &stream{t, bufio.NewScanner(got.Body), got, stop}
	t.Cleanup(func() { stop(); got.Body.Close() })
	return s
}

// next waits for the next message.
func (s *stream) next() strip {
	for s.lines.Scan() {
		line := s.lines.Bytes()
		if len(line) == 0 {
			continue
		}
		data, ok := bytes.CutPrefix(line, []byte("data: "))
		require.True(s.t, ok, "%s", line)
		dec := json.NewDecoder(bytes.NewReader(data))
		dec.DisallowUnknownFields()
		var doc strip
		require.NoError(s.t, dec.Decode(&doc), "%s", line)
		return doc
	}
	require.NoError(s.t, s.lines.Err())
	require.Fail(s.t, "the stream ended")
	return strip{}
}

// until waits for a message that is so.
func (s *stream) until(so func(strip) bool) strip {
	for {
		if x := s.next(); so(x) {
			return x
		}
	}
}

// first is how things stand now.
func first(t *testing.T, x *page) strip {
	s := x.follow(t)
	defer s.stop()
	return s.next()
}

func TestChangesSayHowThingsStand(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	x := d.serve()
	s := x.follow(t)
	require.Equal(t, "text/event-stream", s.answer.Header.Get("Content-Type"))
	require.Equal(t, "no-store", s.answer.Header.Get("Cache-Control"))
	require.Contains(t, s.answer.Header.Get("Content-Security-Policy"), "default-src 'none'")
	at := s.next()
	entries := len(d.entries())
	require.Equal(t, entries, at.Entries)
	require.Equal(t, entries, at.Unsent, "nobody is known to hold them")
	require.Nil(t, at.Last)
	require.Equal(t, "2026-03-02T08:00:00.000Z", at.Now)
	require.Equal(t, []string{"192.0.2.1:24517"}, at.Addrs)
	require.Equal(t, [][]string{{}, {}}, [][]string{at.Within, at.Clocks})
	require.Equal(t, told[struct{ Page string }](t, x.get("/api/hello")).Page, at.Page)

	told[logged](t, x.post("/api/log", post(once(1), "fault.found", `{"of":"device:2-114","symptom":"hums","severity":"minor"}`)))
	at = s.until(func(x strip) bool { return x.Faults == 1 })
	require.Equal(t, entries+1, at.Entries)
	fault := d.Now().Faults[0].Found.Ref().String()
	told[logged](t, x.post("/api/log", post(once(2), "fault.cleared", `{"fault":"`+fault+`"}`)))
	s.until(func(x strip) bool { return x.Faults == 0 })

	d.log(events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "S1"})
	ben.log(events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "S2"})
	paired := len(d.entries())
	require.Equal(t, conflicts(d), s.until(func(x strip) bool { return x.Entries == paired }).Conflicts)
	d.takes(ben.bundle())
	all := len(d.entries())
	at = s.until(func(x strip) bool { return x.Entries == all }) // first what ben said, then that he was admitted
	require.Equal(t, conflicts(d), at.Conflicts)
	require.Greater(t, at.Conflicts, 0)
	require.Equal(t, "ben", at.Last.Member)

	ben.takes(d.bundle())
	ben.log(events.NoteAdded{Of: events.Site(), Text: "heard"})
	d.takes(ben.bundle())
	require.Zero(t, s.until(func(x strip) bool { return x.Unsent == 0 }).Unsent, "ben holds it all")

	x.met.mu.Lock()
	x.met.within = []web.Within{{Member: "zoe"}, {Member: "ben"}}
	x.met.mu.Unlock()
	x.met.news <- struct{}{}
	require.Equal(t, []string{"ben", "zoe"}, s.until(func(x strip) bool { return len(x.Within) > 0 }).Within)
}

func conflicts(d *device) int { return len(d.Status(momentNow).Conflicts) }

func TestManyStreamsAtOnce(t *testing.T) {
	x := small(t).serve()
	var streams []*stream
	for range 50 {
		s := x.follow(t)
		s.next()
		streams = append(streams, s)
	}
	want := len(x.member.entries()) + 3
	for n := range 3 {
		told[logged](t, x.post("/api/log", post(once(n), "note.added", `{"of":"site:site","text":"x"}`)))
	}
	for _, s := range streams {
		s.until(func(x strip) bool { return x.Entries == want })
	}
}

// TestAStreamEndsWithItsPage: when the page leaves, nothing is left of it. The
// handler's own end is what a test can wait for.
func TestAStreamEndsWithItsPage(t *testing.T) {
	x := small(t).serve()
	ended := make(chan struct{})
	inner := x.Page
	over := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		inner.ServeHTTP(w, r)
		close(ended)
	})
	y := *x
	srv := serveOn(t, x, over)
	y.near = srv
	s := y.follow(t)
	s.next()
	s.stop()
	<-ended
}

// stuck is a connection that takes nothing until it is let go.
type stuck struct {
	header  http.Header
	reached chan struct{}
	let     chan struct{}
	once    sync.Once
}

func (w *stuck) Header() http.Header { return w.header }
func (w *stuck) WriteHeader(int)     {}
func (w *stuck) Flush()              {}
func (w *stuck) Write(b []byte) (int, error) {
	w.once.Do(func() { close(w.reached) })
	<-w.let
	return len(b), nil
}

// TestAReaderThatDoesNotReadHoldsUpNobody: its stream stands still, and the log
// goes on.
func TestAReaderThatDoesNotReadHoldsUpNobody(t *testing.T) {
	x := small(t).serve()
	ctx, stop := context.WithCancel(t.Context())
	w := &stuck{header: http.Header{}, reached: make(chan struct{}), let: make(chan struct{})}
	r := x.request(http.MethodGet, "/api/changes", nil).WithContext(ctx)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		x.ServeHTTP(w, r)
	}()
	<-w.reached
	reader := x.follow(t)
	before := reader.next().Entries
	for n := range 5 {
		told[logged](t, x.post("/api/log", post(once(n), "note.added", `{"of":"site:site","text":"x"}`)))
	}
	require.Equal(t, before+5, reader.until(func(s strip) bool { return s.Entries == before+5 }).Entries)
	stop()
	close(w.let)
	<-ended
}

func TestAPageThatMeetsNobody(t *testing.T) {
	x := small(t).serve(func(o *web.Options) { o.Meeting = nil })
	at := first(t, x)
	require.Equal(t, []string{}, at.Addrs)
	require.Equal(t, []string{}, at.Within)
	refused(t, http.StatusBadRequest, x.post("/api/call", `{"addr":"192.0.2.17:24517"}`))
	team := told[map[string]json.RawMessage](t, x.get("/api/team"))
	for _, list := range []string{"within", "addrs", "calls", "refusals", "meetings"} {
		require.JSONEq(t, "[]", string(team[list]), list)
	}
	invited := told[struct{ Meets []string }](t, x.post("/api/invite", `{"role":"tech","hours":24,"sheet":""}`))
	require.Equal(t, []string{}, invited.Meets)
}

// A picture that is not here is said so, and the stream says when it has come.
func TestAPictureThatIsNotHereYet(t *testing.T) {
	d := small(t)
	x := d.serve()
	b := pictures(t)["image/png"]
	sum := sha256.Sum256(b)
	p := events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(b)), Type: "image/png"}
	_, err := d.Record(t.Context(), member.Entry{Payload: events.PhotoAdded{Of: events.Device("2-114"), Picture: p}})
	require.NoError(t, err)
	s := x.follow(t)
	s.until(func(x strip) bool { return x.Away == 1 })
	refused(t, http.StatusNotFound, x.get("/api/picture/"+p.SHA256))
	doc := told[member.PicturesAnswer](t, x.get("/api/pictures"))
	require.Equal(t, member.PictureMissing, doc.Pictures[0].State)
	require.NoError(t, d.KeepPicture(p, b))
	s.until(func(x strip) bool { return x.Away == 0 })
	require.Equal(t, b, x.get("/api/picture/"+p.SHA256).body)
	doc = told[member.PicturesAnswer](t, x.get("/api/pictures"))
	require.Equal(t, member.PictureHeld, doc.Pictures[0].State)
}
