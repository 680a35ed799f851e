package web

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strconv"
	"strings"

	"pairwalk/events"
)

func (p *Page) picture(w http.ResponseWriter, r *http.Request) {
	b, err := p.m.Picture(r.PathValue("sha256"))
	if err != nil {
		p.fail(w, err)
		return
	}
	kind := http.DetectContentType(b)
	if !isPicture(kind) {
		p.fail(w, wrongf("that is no picture"))
		return
	}
	w.Header().Set("Content-Type", kind)
	_, _ = w.Write(b)
}

// isPicture says whether a media type is a picture that shows and does not act.
func isPicture(kind string) bool {
	return strings.HasPrefix(kind, "image/") && !strings.HasPrefix(kind, "image/svg")
}

// keep puts a posted picture beside the log.
func (p *Page) keep(w http.ResponseWriter, r *http.Request) (events.Picture, error) {
	b, err := bytesOf(w, r, mostPicture)
	if err != nil {
		return events.Picture{}, err
	}
	kind := http.DetectContentType(b)
	if !isPicture(kind) {
		return events.Picture{}, wrongf("that is no picture that is known here (%s)", kind)
	}
	sum := sha256.Sum256(b)
	x := events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(b)), Type: kind}
	return x, p.m.KeepPicture(x, b)
}

func (p *Page) photo(w http.ResponseWriter, r *http.Request) (any, error) {
	q := r.URL.Query()
	of, err := p.m.Subject(q.Get("subject"))
	if err != nil {
		return nil, err
	}
	if err := p.m.Known(events.PhotoAdded{Of: of}); err != nil {
		return nil, err
	}
	x, err := p.keep(w, r)
	if err != nil {
		return nil, err
	}
	return p.one(r.Context(), events.PhotoAdded{Of: of, Picture: x, Caption: q.Get("caption")})
}

// drawing lays a photographed plan under a floor.
func (p *Page) drawing(w http.ResponseWriter, r *http.Request) (any, error) {
	q := r.URL.Query()
	d := events.DrawingPlaced{Floor: events.FloorID(q.Get("floor"))}
	for _, x := range []struct {
		name string
		into *int64
	}{{"corner_x", &d.Corner.X}, {"corner_y", &d.Corner.Y}, {"pixel_um", &d.Pixel}, {"turn_mdeg", &d.Turn}} {
		n, err := strconv.ParseInt(q.Get(x.name), 10, 64)
		if err != nil {
			return nil, wrongf("%s is a whole number, not %q", x.name, q.Get(x.name))
		}
		*x.into = n
	}
	var err error
	if d.Picture, err = p.keep(w, r); err != nil {
		return nil, err
	}
	return p.one(r.Context(), d)
}
