package member

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd"
)

// pictures is what a member keeps of the pictures that entries speak of, and its
// exchange of them.
type pictures struct {
	mu      sync.Mutex // taken before no other
	gallery *syncd.Gallery
	of      *projection.Site // the facts whose pictures the gallery knows
	why     string           // why the last one could not be kept, "" since one could
}

// KeepPicture puts a picture beside the log, under its content's name. It is
// durable before the entry that speaks of it is made.
func (m *Member) KeepPicture(p events.Picture, content []byte) error {
	if err := m.album.Put(p.SHA256, content); err != nil {
		return fmt.Errorf("keep picture: %w", err)
	}
	m.pictureCame()
	return nil
}

// Picture reads a picture that is kept beside the log. The error is fs.ErrNotExist
// where this device does not hold it, or no longer as it was.
func (m *Member) Picture(sha256 string) ([]byte, error) { return m.album.Read(sha256) }

// pictureCame tells those who watch.
func (m *Member) pictureCame() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.grown()
}

// PictureState says where a picture is.
type PictureState string

// The states of a picture.
const (
	PictureHeld     PictureState = "held"      // here
	PictureComing   PictureState = "coming"    // a part of it is here
	PictureMissing  PictureState = "missing"   // nothing of it is here
	PictureTooLarge PictureState = "too-large" // its entry says that it is past what is sent
	PictureDamaged  PictureState = "damaged"   // it was here and is spoilt
)

// Words says a state to people.
func (s PictureState) Words() string {
	switch s {
	case PictureHeld:
		return "here"
	case PictureComing:
		return "on its way"
	case PictureTooLarge:
		return "too large to be sent: look at it on the device that took it"
	case PictureDamaged:
		return "damaged on this device: it comes again from whoever holds it"
	}
	return "not here yet"
}

// PicturesAnswer is where the pictures are that entries speak of.
type PicturesAnswer struct {
	V        int               `json:"v"`
	Pictures []PictureDocument `json:"pictures"`
	Held     int               `json:"held"`
	Away     int               `json:"away"` // all others
	Trouble  string            `json:"trouble,omitempty"`
}

// PictureDocument is one entry's picture. What is said of its state is of this
// device alone.
type PictureDocument struct {
	SHA256  string       `json:"sha256"`
	Bytes   int64        `json:"bytes"`
	Type    string       `json:"type"`
	Subject string       `json:"subject"`
	Caption string       `json:"caption"`
	At      string       `json:"at"`
	By      string       `json:"by"`
	Event   string       `json:"event"`
	State   PictureState `json:"state"`
	Got     int64        `json:"got"`     // bytes here
	HeldBy  []string     `json:"held_by"` // of those within reach
}

// Pictures says where the pictures are that entries speak of at a moment.
func (m *Member) Pictures(moment projection.Moment) PicturesAnswer {
	a := PicturesAnswer{V: AnswerVersion, Pictures: []PictureDocument{}}
	if m.speaksOfPictures() {
		a.Pictures = m.pictureDocuments(m.At(moment), nil)
	}
	for i := range a.Pictures {
		if a.Pictures[i].State == PictureHeld {
			a.Held++
		} else {
			a.Away++
		}
	}
	m.pictures.mu.Lock()
	defer m.pictures.mu.Unlock()
	a.Trouble = m.pictures.why
	return a
}

// speaksOfPictures says whether any entry does, at any moment.
func (m *Member) speaksOfPictures() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.pictured
}

// pictured is one entry's picture.
type pictured struct {
	events.Picture
	of      events.Subject
	caption string
	cause   *projection.Cause
}

// picturesOf lists the pictures that entries speak of: drawings first, since a plan
// is worked on, then photos, each the newest first.
func picturesOf(s *projection.Site) []pictured {
	var out []pictured
	for i := range s.Drawings {
		d := &s.Drawings[i]
		out = append(out, pictured{d.Picture, events.Floor(d.Floor), "", &d.Placed})
	}
	newest := func(a, b pictured) int { return cmp.Compare(b.cause.At, a.cause.At) }
	slices.SortStableFunc(out, newest)
	n := len(out)
	for i := range s.Photos {
		p := &s.Photos[i]
		out = append(out, pictured{p.Picture, p.Of, p.Caption, &p.Added})
	}
	slices.SortStableFunc(out[n:], newest)
	return out
}

// pictureDocuments writes the pictures of a site's entries, or of one subject's.
func (m *Member) pictureDocuments(s *projection.Site, about *events.Subject) []PictureDocument {
	w := writer{s, s.Location()}
	out := []PictureDocument{}
	for _, p := range picturesOf(s) {
		if about != nil && p.of != *about {
			continue
		}
		state, got := m.pictureState(p.Picture)
		out = append(out, PictureDocument{
			SHA256: p.SHA256, Bytes: p.Bytes, Type: p.Type, Subject: p.of.String(), Caption: p.caption,
			At: w.timeOf(p.cause), By: w.by(p.cause), Event: refOf(p.cause), State: state, Got: got, HeldBy: m.heldBy(p.SHA256),
		})
	}
	return out
}

// pictureState is where a picture is, and how many bytes of it are here.
func (m *Member) pictureState(p events.Picture) (PictureState, int64) {
	switch got := m.album.Got(p.SHA256); {
	case m.album.Holds(p.SHA256):
		return PictureHeld, p.Bytes
	case p.Bytes > events.MaxPicture:
		return PictureTooLarge, 0
	case got > 0:
		return PictureComing, got
	case m.album.Damaged(p.SHA256):
		return PictureDamaged, 0
	}
	return PictureMissing, 0
}

func (m *Member) heldBy(sha256 string) []string {
	m.pictures.mu.Lock()
	keys := m.pictures.gallery.HeldBy(sha256)
	m.pictures.mu.Unlock()
	out := []string{}
	for _, k := range keys {
		out = append(out, m.NameOf(k))
	}
	return out
}

// CheckPictures reads every picture that is here, and lists those that are not as
// they were. They are fetched again when somebody is met who holds them.
func (m *Member) CheckPictures() ([]string, error) {
	lost, err := m.album.Check()
	if len(lost) > 0 {
		m.pictureCame()
	}
	if err != nil {
		return lost, fmt.Errorf("check pictures: %w", err)
	}
	return lost, nil
}

// PicturesAway is how many pictures entries speak of that are not here.
func (m *Member) PicturesAway() int {
	n := 0
	for _, p := range picturesOf(m.Now()) {
		if !m.album.Holds(p.SHA256) {
			n++
		}
	}
	return n
}
