package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"
	"sync"
	"time"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/syncd/member"
	"pairwalk/syncd/member/checkup"
)

//go:embed page
var bundled embed.FS

// Options say whose page it is, and how it may be called.
type Options struct {
	Member  *member.Member
	Now     func() events.Stamp // this device's clocks
	Token   string
	Hosts   []string // HOST:PORT by which the page may be called
	Meeting Meeting  // nil where the member meets nobody
	// Sheet reads a file, or a table of a workbook, and compares it with the site.
	Sheet func(m *member.Member, file []byte, table string, day time.Time) (member.Plan, error)
	// Pack makes the owner's pack of a moment, and says what it lacks.
	Pack func(ctx context.Context, m *member.Member, at projection.Moment) (handover.Pack, member.PackAnswer, error)
	// Doctor says whether the installation is well.
	Doctor func() (checkup.Answer, error)
}

// Meeting is how the page sees and directs the meeting of other members.
type Meeting interface {
	Addrs() []string // where others can call
	Within() []Within
	Calls() []Call
	Call(addr string)
	HangUp(addr string)
	Points() ([]invite.Meeting, error)      // for an invite
	News() (c <-chan struct{}, stop func()) // signals when any of it changes
}

// Within is a member within reach now.
type Within struct {
	Member string `json:"member"`
	Addr   string `json:"addr"`
}

// Call is how it goes with an address that this device calls at.
type Call struct {
	Addr   string `json:"addr"`
	Up     bool   `json:"up"`
	Member string `json:"member"`
	Why    string `json:"why"`
}

// Page is the handler of one member's page.
type Page struct {
	o      Options
	m      *member.Member
	digest string // of the bundle
	files  map[string][]byte
	mux    *http.ServeMux
	cross  http.CrossOriginProtection

	packing sync.Mutex
	looking sync.Mutex
	marks   marks

	mu     sync.Mutex
	broken string // why nothing can be recorded, "" if it can
}

// New makes the page of a member. It fails only where the bundle is not whole.
func New(o Options) (*Page, error) {
	p := &Page{o: o, m: o.Member, mux: http.NewServeMux()}
	if err := p.load(); err != nil {
		return nil, err
	}
	p.route()
	return p, nil
}

// load reads the bundle and puts its digest into the page that names it.
func (p *Page) load() error {
	sum := sha256.New()
	p.files = map[string][]byte{}
	err := fs.WalkDir(bundled, "page", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := bundled.ReadFile(name)
		if err != nil {
			return err
		}
		p.files["/"+path.Base(name)] = b
		sum.Write(b)
		return nil
	})
	if err != nil {
		return err
	}
	p.digest = hex.EncodeToString(sum.Sum(nil)[:8])
	p.files["/"] = bytes.ReplaceAll(p.files["/index.html"], []byte("{{page}}"), []byte(p.digest))
	delete(p.files, "/index.html")
	return nil
}

// ServeHTTP answers one request, if it may be asked.
func (p *Page) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	secure(w.Header())
	if !p.called(r) {
		refuse(w, http.StatusMisdirectedRequest, "this page is not called "+r.Host+"; open the address that pairwalk serve printed")
		return
	}
	if err := p.cross.Check(r); err != nil {
		refuse(w, http.StatusForbidden, "asked from another site's page; open the address that pairwalk serve printed")
		return
	}
	p.mux.ServeHTTP(w, r)
}

func (p *Page) route() {
	p.mux.HandleFunc("GET /", p.file)
	for path, q := range p.questions() {
		p.mux.HandleFunc("GET /api/"+path, p.known(p.ask(q)))
	}
	for path, a := range p.acts() {
		p.mux.HandleFunc("POST /api/"+path, p.known(p.spoken(p.act(a))))
	}
	p.mux.HandleFunc("POST /api/label", p.known(p.act(telling(p.label)))) // these two record nothing
	p.mux.HandleFunc("POST /api/homecoming", p.known(p.act(p.homecoming)))
	p.mux.HandleFunc("GET /api/changes", p.known(p.changes))
	p.mux.HandleFunc("GET /api/picture/{sha256}", p.known(p.picture))
	p.mux.HandleFunc("GET /api/bundle", p.known(p.bundleOut))
	p.mux.HandleFunc("GET /api/handover", p.known(p.handover))
	p.mux.HandleFunc("POST /api/records", p.known(p.spoken(p.recordsOut)))
}

// kinds are the media types of the bundle's files. The machine's own table may have
// others, and a script of another type does not run.
var kinds = map[string]string{
	"": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8", ".wasm": "application/wasm",
}

// file serves a file of the bundle.
func (p *Page) file(w http.ResponseWriter, r *http.Request) {
	b, ok := p.files[r.URL.Path]
	if !ok {
		refuse(w, http.StatusNotFound, "no such page")
		return
	}
	w.Header().Set("Content-Type", kinds[path.Ext(r.URL.Path)])
	w.Header().Set("ETag", `"`+p.digest+`"`)
	w.Header().Set("Cache-Control", "no-cache")
	if r.URL.RawQuery == p.digest { // another bundle has another address
		w.Header().Set("Cache-Control", "max-age=31536000, immutable")
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(b))
}
