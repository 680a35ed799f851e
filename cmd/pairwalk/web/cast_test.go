package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member"
	"pairwalk/syncd/member/checkup"
	"pairwalk/testdata"
)

// token is what a test's page asks for.
const token = "a-made-up-token-of-32-characters"

// device is a member's installation in memory, with a clock that is made up.
type device struct {
	*member.Member
	t    testing.TB
	fs   journal.FS
	time atomic.Int64
	rand io.Reader
	root invite.Root
}

// locked is randomness that a test can repeat, for many goroutines; it is fit for
// no secret.
type locked struct {
	mu   sync.Mutex
	rand *rand.ChaCha8
}

func (l *locked) Read(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.rand.Read(b)
}

func newDevice(t testing.TB, fs journal.FS, seed byte) *device {
	d := &device{t: t, fs: fs, rand: &locked{rand: rand.NewChaCha8([32]byte{seed})}}
	d.time.Store(time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC).UnixMilli())
	t.Cleanup(func() {
		if d.Member != nil {
			_ = d.Close()
		}
	})
	return d
}

func (d *device) stamp() events.Stamp {
	at := events.Instant(d.time.Load())
	return events.Stamp{Wall: events.Wall{At: at}, Mono: events.Mono{Boot: "boot 1", Ms: int64(at) - 1_700_000_000_000}}
}

func (d *device) pass(by time.Duration) { d.time.Add(by.Milliseconds()) }

func (d *device) home() *member.Home {
	return member.NewHome(d.fs, member.World{Now: d.stamp, Rand: d.rand, MadeUp: true, Together: func(work ...func()) {
		var all sync.WaitGroup
		for _, do := range work {
			all.Go(do)
		}
		all.Wait()
	}})
}

// open opens a site with ada as its lead.
func open(t testing.TB, fs journal.FS, zone string) *device {
	d := newDevice(t, fs, 7)
	m, root, err := d.home().Init(t.Context(), member.Opening{Name: "Kiln Lane Works", Person: "ada", Zone: zone, Practice: true})
	require.NoError(t, err)
	d.Member, d.root = m, root
	return d
}

// again closes the site and opens it anew from what is on disk.
func (d *device) again() {
	require.NoError(d.t, d.Close())
	m, err := d.home().Open("")
	require.NoError(d.t, err)
	d.Member = m
}

// joins is another member, who came by ada's invite and has heard of nothing else.
func (d *device) joins(name string, role events.Role, seed byte) *device {
	token, err := d.Invite(role, 48*time.Hour, "")
	require.NoError(d.t, err)
	x := newDevice(d.t, journal.Memory(), seed)
	x.time.Store(d.time.Load())
	x.Member, err = x.home().Join(d.t.Context(), token, name, "")
	require.NoError(d.t, err)
	return x
}

func (d *device) bundle() []byte {
	var b bytes.Buffer
	_, err := d.BundleOut(d.t.Context(), &b)
	require.NoError(d.t, err)
	return b.Bytes()
}

func (d *device) takes(bundle []byte) {
	_, err := d.BundleIn(d.t.Context(), bytes.NewReader(bundle))
	require.NoError(d.t, err)
}

func (d *device) log(payloads ...events.Payload) []events.Event {
	entries := make([]member.Entry, len(payloads))
	for i, p := range payloads {
		entries[i] = member.Entry{Payload: p}
	}
	evs, err := d.Record(d.t.Context(), entries...)
	require.NoError(d.t, err)
	return evs
}

// imports takes in files, all their rows.
func (d *device) imports(files ...[]byte) {
	for _, f := range files {
		plan, err := d.Sheet(bytes.NewReader(f), time.Time{})
		require.NoError(d.t, err)
		require.Empty(d.t, plan.Problems())
		_, err = d.Import(d.t.Context(), plan, intake.Accept{}, false)
		require.NoError(d.t, err)
	}
}

// entries is the whole log, in the order of its ids' making.
func (d *device) entries() []member.Said {
	return d.History(projection.Moment{}, events.Subject{})
}

// small is a site of two hubs and the devices that the frozen wire bodies name.
func small(t testing.TB) *device {
	d := open(t, journal.Memory(), "UTC")
	sheet := "tag,kind,hub,radio,floor,room,circuit,emergency\n"
	for _, row := range []string{"H1,hub,,,1,1.01,C1-1,", "H2,hub,,,2,riser,C3-1,"} {
		sheet += row + "\n"
	}
	for _, row := range []string{
		"1-001,dimmer,H1,mesh,1,1.01,C1-7,", "1-002,dimmer,H1,mesh,1,1.01,C1-7,", "1-003,dimmer,H1,star,1,1.02,C1-7,",
		"2-101,dimmer,H2,mesh,2,2.14,C3-7,", "2-102,dimmer,H2,mesh,2,2.14,C3-7,", "2-114,sensor,H2,mesh,2,2.14,C3-7,",
		"2-115,sensor,H2,mesh,2,2.14,C3-7,", "2-118,dimmer,H2,mesh,2,2.15,C3-7,yes", "2-199,dimmer,H2,mesh,2,2.15,C3-7,",
		"2-14,dimmer,H2,mesh,2,2.15,C3-7,", "a,dimmer,H2,mesh,2,2.15,C3-7,",
	} {
		sheet += row + "\n"
	}
	d.imports([]byte(sheet))
	return d
}

// works is the site of testdata/works: 480 devices on 4 hubs and 6 floors.
func works(t *testing.T) *device {
	worksOnce.Do(func() {
		fs := journal.Memory()
		d := open(t, fs, "Europe/Vienna")
		d.imports(testdata.WorksSchedule, testdata.WorksFloors, testdata.WorksWalls)
		require.NoError(t, d.Close())
		worksDisk = fs.Clone()
	})
	require.NotNil(t, worksDisk)
	d := newDevice(t, worksDisk.Clone(), 9)
	m, err := d.home().Open("")
	require.NoError(t, err)
	d.Member = m
	d.pass(time.Minute)
	return d
}

var (
	worksOnce sync.Once
	worksDisk *journal.MemFS
)

// page is a member's page, served: to this machine and, at the other address, to
// one that is not it.
type page struct {
	*web.Page
	t      testing.TB
	member *device
	near   *httptest.Server
	far    *httptest.Server
	client *http.Client
	met    *meeting
}

// serve serves a member's page on a real socket.
func (d *device) serve(change ...func(*web.Options)) *page {
	x := &page{t: d.t, member: d, met: &meeting{news: make(chan struct{})}}
	handler := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { x.ServeHTTP(w, r) })
	x.near = httptest.NewUnstartedServer(handler)
	x.far = httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.RemoteAddr = "192.0.2.7:4711" // an address of documentation, RFC 5737
		handler(w, r)
	}))
	o := web.Options{
		Member: d.Member, Now: d.stamp, Token: token, Meeting: x.met, Sheet: readSheet, Pack: packed, Doctor: lookedAt,
		Hosts: []string{x.near.Listener.Addr().String(), x.far.Listener.Addr().String(), net.JoinHostPort("localhost", portOf(x.near))},
	}
	for _, f := range change {
		f(&o)
	}
	var err error
	x.Page, err = web.New(o)
	require.NoError(d.t, err)
	x.near.Start()
	x.far.Start()
	x.client = &http.Client{
		Transport:     &http.Transport{},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	d.t.Cleanup(func() {
		x.client.CloseIdleConnections()
		for _, s := range []*httptest.Server{x.near, x.far} {
			s.CloseClientConnections()
			s.Close()
		}
	})
	return x
}

func portOf(s *httptest.Server) string {
	_, port, _ := net.SplitHostPort(s.Listener.Addr().String())
	return port
}

// readSheet reads what the command reads: text, or a workbook.
func readSheet(m *member.Member, file []byte, table string, day time.Time) (member.Plan, error) {
	if !workbook.Is(file) && table == "" {
		return m.Sheet(bytes.NewReader(file), day)
	}
	tables, err := workbook.Read(file)
	if err != nil {
		return member.Plan{}, err
	}
	if table != "" {
		t, err := workbook.Named(tables, table)
		if err != nil {
			return member.Plan{}, err
		}
		tables = []intake.Table{t}
	}
	return m.Tables(tables, day)
}

// meeting is a meeting of nobody that notes what it is told.
type meeting struct {
	mu     sync.Mutex
	told   []string
	within []web.Within
	news   chan struct{}
}

func (m *meeting) note(words string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.told = append(m.told, words)
}

func (m *meeting) Addrs() []string { return []string{"192.0.2.1:24517"} }
func (m *meeting) Within() []web.Within {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.within)
}
func (m *meeting) Calls() []web.Call {
	return []web.Call{{Addr: "192.0.2.9:24517", Why: "nobody answers"}}
}
func (m *meeting) Call(addr string)                  { m.note("call " + addr) }
func (m *meeting) HangUp(addr string)                { m.note("hang up " + addr) }
func (m *meeting) Points() ([]invite.Meeting, error) { return nil, nil }
func (m *meeting) News() (<-chan struct{}, func())   { return m.news, func() {} }

// answer is what came back.
type answer struct {
	code   int
	header http.Header
	body   []byte
}

// request is a request to the page, with its token.
func (x *page) request(method, path string, body []byte, change ...func(*http.Request)) *http.Request {
	r, err := http.NewRequestWithContext(x.t.Context(), method, x.near.URL+path, bytes.NewReader(body))
	require.NoError(x.t, err)
	r.Header.Set("Authorization", "Bearer "+token)
	for _, f := range change {
		f(r)
	}
	return r
}

func (x *page) ask(r *http.Request) answer {
	got, err := x.client.Do(r)
	require.NoError(x.t, err)
	defer got.Body.Close()
	b, err := io.ReadAll(got.Body)
	require.NoError(x.t, err)
	return answer{got.StatusCode, got.Header, b}
}

func (x *page) get(path string, change ...func(*http.Request)) answer {
	return x.ask(x.request(http.MethodGet, path, nil, change...))
}

func (x *page) post(path, body string, change ...func(*http.Request)) answer {
	return x.ask(x.request(http.MethodPost, path, []byte(body), change...))
}

// fromAfar asks from another machine.
func (x *page) fromAfar(r *http.Request) {
	r.URL.Host = x.far.Listener.Addr().String()
	r.Host = r.URL.Host
}

func spokenBy(name string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Set("X-Pairwalk-Doer", name) }
}

// told answers a document, or fails.
func told[T any](t *testing.T, a answer) T {
	t.Helper()
	var doc T
	require.Equal(t, http.StatusOK, a.code, "%s", a.body)
	require.NoError(t, json.Unmarshal(a.body, &doc), "%s", a.body)
	return doc
}

// refused checks that an answer is a refusal, and returns its words.
func refused(t *testing.T, code int, a answer) string {
	t.Helper()
	require.Equal(t, code, a.code, "%s", a.body)
	var doc map[string]string
	require.NoError(t, json.Unmarshal(a.body, &doc), "%s", a.body)
	require.Len(t, doc, 1)
	require.NotEmpty(t, doc["error"])
	require.Equal(t, "application/json", a.header.Get("Content-Type"))
	return doc["error"]
}

// logged is what came of recording, as the page reads it.
type logged struct {
	V       int
	Entries []struct {
		Ref, ID, At, Kind, Member, By, Words string
		Body                                 json.RawMessage
		When                                 []string
	}
	Flagged    []string
	NotCounted []string `json:"not_counted"`
	Cautions   []string
	Again      bool
}

// one is what a page posts to record entries of bodies as they are.
func post(once string, kindsAndBodies ...string) string {
	var parts []string
	for i := 0; i < len(kindsAndBodies); i += 2 {
		parts = append(parts, fmt.Sprintf(`{"kind":%q,"body":%s,"when":""}`, kindsAndBodies[i], kindsAndBodies[i+1]))
	}
	return fmt.Sprintf(`{"once":%q,"by":"","entries":[%s]}`, once, strings.Join(parts, ","))
}

// once is a number as a page draws it.
func once(n int) string { return fmt.Sprintf("%020x", n+1) }

var momentNow projection.Moment

func memory() journal.FS { return journal.Memory() }

// serveOn serves another handler under the page's own name.
func serveOn(t *testing.T, x *page, h http.Handler) *httptest.Server {
	addr := x.near.Listener.Addr().String()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Host = addr
		h.ServeHTTP(w, r)
	}))
	t.Cleanup(func() { s.CloseClientConnections(); s.Close() })
	return s
}

func opening(name string) member.Opening {
	return member.Opening{Name: name, Person: "eve", Zone: "UTC", Practice: true}
}

// lookedAt is a look at a device that has something of each sort to tell.
func lookedAt() (checkup.Answer, error) {
	r := checkup.Readings{Folder: checkup.Folder{There: true, Write: "no space left"}, Sites: []checkup.Site{{}}}
	return checkup.Of(r), nil
}
