package web

import (
	"archive/zip"
	"bytes"
	"cmp"
	"net/http"
	"path"
	"slices"
	"strconv"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/checks"
	"pairwalk/projection/handover"
)

// checks is what is owed in functional checks, of all rooms or of one.
func (p *Page) checks(r *http.Request, moment projection.Moment) (any, error) {
	v := r.URL.Query()
	room := events.RoomID(v.Get("room"))
	return p.m.Checks(moment, func(x checks.Room) bool { return !v.Has("room") || x.Room == room }), nil
}

// faults is every fault, also those that are cleared, each with its history; with
// most, the first of them and those that are meant.
func (p *Page) faults(r *http.Request, moment projection.Moment) (any, error) {
	q := r.URL.Query()
	if !q.Has("most") {
		return p.m.Faults(moment, nil), nil
	}
	most, err := strconv.Atoi(q.Get("most"))
	if err != nil {
		return nil, wrongf("most is a whole number, not %q", q.Get("most"))
	}
	meant := func(f *projection.Fault) bool {
		return f.Found.Ref().String() == q.Get("fault") || f.Of.String() == q.Get("subject")
	}
	return p.m.FirstFaults(moment, most, meant), nil
}

// packFolder is the folder that a downloaded pack unfolds into.
const packFolder = "handover"

// handover answers with the owner's pack as one ZIP, or, asked dry, with what it
// would lack. Nothing is recorded. One pack is made at a time: it takes the memory
// of all its photos.
func (p *Page) handover(w http.ResponseWriter, r *http.Request) {
	moment, err := p.moment(r)
	if err != nil {
		p.fail(w, err)
		return
	}
	p.packing.Lock()
	defer p.packing.Unlock()
	pack, doc, err := p.o.Pack(r.Context(), p.m, moment)
	if err != nil || r.URL.Query().Get("dry") != "" {
		p.tell(w, doc, err)
		return
	}
	b, err := zipped(pack.Files)
	if err != nil {
		p.fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="`+packFolder+`.zip"`)
	_, _ = w.Write(b)
}

// zipped puts a pack's files into one, in the order of their names and all of one
// time, so that the same pack is the same file. Photos don't get smaller.
func zipped(files []handover.File) ([]byte, error) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	sorted := slices.SortedFunc(slices.Values(files), func(a, b handover.File) int { return cmp.Compare(a.Name, b.Name) })
	for _, f := range sorted {
		h := &zip.FileHeader{Name: path.Join(packFolder, f.Name), Method: zip.Deflate, Modified: time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)}
		if isPicture(http.DetectContentType(f.Content)) {
			h.Method = zip.Store
		}
		to, err := z.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := to.Write(f.Content); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}
