package syncd

import (
	"maps"
	"slices"

	"pairwalk/events"
)

// Shelf is what the exchange reads of the pictures kept here.
type Shelf interface {
	// Holds says whether a picture is here.
	Holds(sha256 string) bool
	// Got is how many bytes of one that is on its way are here.
	Got(sha256 string) int64
	// Piece is some bytes of a picture from one on, and how many it has in all.
	Piece(sha256 string, from int64, most int) (piece []byte, of int64, err error)
}

// Gallery is one member's side of the exchange of pictures with all its peers. It
// is not safe for use by several goroutines at once.
type Gallery struct {
	shelf Shelf
	named []string           // pictures that entries speak of, the most wanted first
	sizes map[string][]int64 // of each, as entries say; without those past the limit
	peers map[events.Key]*viewer
	asked map[uint64]PictureAsk
	busy  map[string]uint64  // who is being asked for a picture
	from  map[string]*origin // where parts are from
	last  uint64
}

// viewer is what is known of one peer.
type viewer struct {
	has   map[string]bool // what it said of each picture
	wrong map[string]bool // what it sent of these was something else
	asked uint64          // the ask that is on its way
	most  int             // bytes of the next piece
	empty int             // pictures that it said it holds and does not hand over, in this round
	mute  bool            // it does not answer
	aside int             // for how many haves it is passed over
	quiet int             // of late, for how long
	fault int             // of late
	why   string

	taken, given int64 // bytes
}

// emptyMost is how many pictures that are not handed over a round may cost.
const emptyMost = 8

// origin is where the part of a picture is from, as far as this exchange saw it.
type origin struct {
	peers map[events.Key]bool
	whole bool // from its first byte on
	alone bool // it came out wrong: the next try is one peer's alone
}

// one says whether a part is one peer's work, from its first byte on.
func (o *origin) one(peer events.Key) bool {
	return o != nil && o.whole && len(o.peers) == 1 && o.peers[peer]
}

// NewGallery begins with no peers and no pictures.
func NewGallery(shelf Shelf) *Gallery {
	return &Gallery{
		shelf: shelf, sizes: map[string][]int64{}, peers: map[events.Key]*viewer{},
		asked: map[uint64]PictureAsk{}, busy: map[string]uint64{}, from: map[string]*origin{},
	}
}

// Name says which pictures entries speak of, the most wanted first. One that they
// say is past the limit is never asked for.
func (g *Gallery) Name(pictures []events.Picture) {
	g.named = nil
	clear(g.sizes)
	for _, p := range pictures {
		if p.Bytes > events.MaxPicture || !pictureName.MatchString(p.SHA256) {
			continue
		}
		if g.sizes[p.SHA256] == nil {
			g.named = append(g.named, p.SHA256)
		}
		if !slices.Contains(g.sizes[p.SHA256], p.Bytes) {
			g.sizes[p.SHA256] = append(g.sizes[p.SHA256], p.Bytes)
		}
	}
}

// Counts says whether an entry speaks of a picture.
func (g *Gallery) Counts(sha256 string) bool { return g.sizes[sha256] != nil }

// Heard is a peer's have that was asked for: a new round with it.
func (g *Gallery) Heard(from events.Key) {
	p := g.peers[from]
	if p == nil {
		p = &viewer{has: map[string]bool{}, wrong: map[string]bool{}, most: MaxPiece}
		g.peers[from] = p
	}
	if p.aside > 0 {
		p.aside--
	}
	if p.aside > 0 {
		return
	}
	p.empty = 0
	maps.DeleteFunc(p.has, func(sha256 string, held bool) bool { return !held || !g.Counts(sha256) })
}

// Left forgets a peer. What was asked of it may be asked of others.
func (g *Gallery) Left(peer events.Key) {
	if p := g.peers[peer]; p != nil {
		g.done(p.asked)
		delete(g.peers, peer)
	}
}

// Asks is what to ask now, of whom: one thing of each peer at a time. Each must be
// followed by Took, Unanswered or Failed, or its peer by Left.
func (g *Gallery) Asks() []PictureAsk {
	var asks []PictureAsk
	for _, key := range slices.Sorted(maps.Keys(g.peers)) {
		p := g.peers[key]
		if p.asked != 0 || p.aside > 0 {
			continue
		}
		ask := PictureAsk{Peer: key, Named: g.unsaid(p)}
		if ask.OfPiece() {
			ask.Piece.SHA256 = g.next(p)
			if ask.Piece.SHA256 == "" {
				continue
			}
			ask.sizes = g.sizes[ask.Piece.SHA256]
			ask.Piece.From, ask.Piece.Max = g.begin(key, ask.Piece.SHA256), p.most
		}
		g.last++
		ask.ID, p.asked = g.last, g.last
		g.asked[ask.ID] = ask
		if ask.OfPiece() {
			g.busy[ask.Piece.SHA256] = ask.ID
		}
		asks = append(asks, ask)
	}
	return asks
}

// unsaid is pictures of which a peer has not said whether it holds them.
func (g *Gallery) unsaid(p *viewer) []string {
	var out []string
	for _, name := range g.named {
		if _, said := p.has[name]; !said && len(out) < MaxNamed {
			out = append(out, name)
		}
	}
	return out
}

// fetchable says whether a peer could be asked for a picture.
func (g *Gallery) fetchable(p *viewer, sha256 string) bool {
	return p.has[sha256] && !p.wrong[sha256] && !g.shelf.Holds(sha256)
}

// next is the picture to ask a peer for, one begun before one that is not, "" for
// none.
func (g *Gallery) next(p *viewer) string {
	first := ""
	for _, name := range g.named {
		if g.busy[name] != 0 || !g.fetchable(p, name) {
			continue
		}
		if g.shelf.Got(name) > 0 {
			return name
		}
		if first == "" {
			first = name
		}
	}
	return first
}

// begin is the byte from which to ask a peer for a picture: where the part of it
// ends, or the last byte once more of one that seems to be whole. Where a part of
// several hands came out wrong, a peer begins at the first.
func (g *Gallery) begin(peer events.Key, sha256 string) int64 {
	if o := g.from[sha256]; o != nil && o.alone && !o.one(peer) {
		return 0
	}
	return min(g.shelf.Got(sha256), slices.Max(g.sizes[sha256])-1)
}

// Open says whether an ask is still waited for. Its reply must not be kept
// otherwise.
func (g *Gallery) Open(id uint64) bool { _, ok := g.asked[id]; return ok }

// done ends an ask, and says of whom it was.
func (g *Gallery) done(id uint64) *viewer {
	ask, ok := g.asked[id]
	if !ok {
		return nil
	}
	delete(g.asked, id)
	if g.busy[ask.Piece.SHA256] == id {
		delete(g.busy, ask.Piece.SHA256)
	}
	p := g.peers[ask.Peer]
	p.asked = 0
	return p
}
