package simtest

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"maps"
	"path"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd"
	"pairwalk/syncd/member"
)

// This file is the photos that people take in half of the worlds, and how they
// travel. What concerns taking them is drawn from a lens of its own, so that the
// other worlds are what they would be without.

// largest is a picture of some pieces.
const largest = 5 * syncd.MaxPiece / 2

// photographs keeps a photo and tells of it.
func (h *host) photographs() {
	b := make([]byte, 8+h.w.lens.IntN(largest))
	for i := 0; i+8 <= len(b); i += 8 {
		binary.LittleEndian.PutUint64(b[i:], h.w.lens.Uint64())
	}
	p := events.Picture{SHA256: hashOf(b), Bytes: int64(len(b)), Type: "image/jpeg"}
	err := h.m.KeepPicture(p, b)
	h.w.tell("%s keeps a photo of %d bytes", h.name, len(b))
	if !h.wrote("keep a photo", err) {
		return
	}
	h.shots[p.SHA256] = true
	h.w.report.Photos++
	h.say(events.PhotoAdded{Of: h.circuit(), Picture: p})
}

func hashOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// views sends what there is to ask about pictures. No entry may be on its way then,
// but from a peer that left its last pull unanswered.
func (h *host) views() {
	for _, a := range h.m.PictureAsks() {
		for _, p := range h.w.others(h) {
			if t := h.talks[p]; t != nil && t.pulls > 0 && !t.late {
				h.w.breaks(EntriesFirst, "%s asks for pictures while %s is to answer a pull", h.name, p.name)
				return
			}
		}
		p := h.onBus(a.Peer)
		if p == nil || h.talks[p] == nil {
			h.w.breaks(Quiet, "%s asks a peer that it has not met", h.name)
			return
		}
		h.fetches(p, h.talks[p], a)
	}
}

func (h *host) fetches(p *host, t *talk, a syncd.PictureAsk) {
	question, from := a.Encode(), h.bus
	serve := func(p *host) []byte {
		if a.OfPiece() {
			return p.m.ShowPiece(from, question)
		}
		return p.m.ShowHeld(question)
	}
	h.request(p, serve, func(reply []byte, ok bool) {
		if h.talks[p] != t { // it left, and its asks with it
			return
		}
		if !ok {
			h.m.PictureUnanswered(a)
			h.pump()
			return
		}
		h.keeps(p, a, reply)
		if h.m != nil {
			h.pump()
		}
	})
}

// keeps hands a reply to the member. Whoever was garbled is met anew: over a real
// link the connection would have broken.
func (h *host) keeps(p *host, a syncd.PictureAsk, reply []byte) {
	n, err := h.m.PictureAnswered(h.w.ctx, a, reply)
	var blame *syncd.Complaint
	if errors.As(err, &blame) {
		h.w.tell("%s complains of %s: %s", h.name, p.name, blame.Why)
		if !p.doubt {
			h.w.breaks(Blameless, "%s complains of %s, who did no wrong: %s", h.name, p.name, blame.Why)
		}
		h.loses(p)
		return
	}
	if !h.wrote("take in a picture", err) || n == 0 {
		return
	}
	h.w.tell("%s takes a picture from %s", h.name, p.name)
	h.w.report.Fetched++
	for _, file := range h.mem.Files() {
		if name, ok := ofPicture(file); ok && name == a.Piece.SHA256 {
			h.truly(file, name)
			return
		}
	}
	h.w.breaks(Pictured, "%s says it took in a picture that is not on its disk", h.name)
}

// pictured says whether everybody holds every picture that somebody holds.
func (w *world) pictured() bool {
	held := map[string]bool{}
	lack := map[string]bool{}
	for _, h := range w.hosts {
		for _, p := range h.m.Pictures(projection.Moment{}).Pictures {
			held[p.SHA256] = held[p.SHA256] || p.State == member.PictureHeld
			lack[p.SHA256] = lack[p.SHA256] || p.State != member.PictureHeld
		}
	}
	for sha256 := range lack {
		if lack[sha256] && held[sha256] {
			return false
		}
	}
	return true
}

// onDisk lists the pictures in a device's files, and sees that each is what its name
// says.
func (h *host) onDisk() map[string]bool {
	on := map[string]bool{}
	for _, file := range h.mem.Files() {
		if name, ok := ofPicture(file); ok {
			h.truly(file, name)
			on[name] = true
		}
	}
	return on
}

// ofPicture is the name of the picture that a file is, if it is one.
func ofPicture(file string) (string, bool) {
	dir, name := path.Split(file)
	return name, strings.HasSuffix(dir, "/pictures/") && !strings.Contains(name, ".")
}

// truly sees that what stands under a picture's name is that picture.
func (h *host) truly(file, name string) {
	if b, err := h.mem.Look(file); err != nil || hashOf(b) != name {
		h.w.breaks(Pictured, "%s holds something else under the name of picture %s", h.name, name)
	}
}

// trulyPictured sees that what stands under a picture's name is that picture, and
// that nobody lost one that they took.
func (w *world) trulyPictured() {
	for _, h := range w.hosts {
		on := h.onDisk()
		for _, name := range slices.Sorted(maps.Keys(h.shots)) {
			if !on[name] {
				w.breaks(Pictured, "%s took photo %s and has lost it", h.name, name)
			}
		}
	}
}
