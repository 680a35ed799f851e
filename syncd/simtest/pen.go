package simtest

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"github.com/oklog/ulid/v2"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/events/seal"
)

// pen writes lines past a member's own process: with its key, and whatever else
// its holder likes. What it wrote is handed to others as a file.
type pen struct {
	h     *host
	key   ed25519.PrivateKey
	feed  events.FeedID
	lines []seal.Verified
	holes map[events.FeedID][]events.Head
}

// takesPen is a pen with the key of a device, at the start of a fresh feed; nil
// where its keys can't be read.
func (h *host) takesPen() *pen {
	for _, name := range h.mem.Files() {
		if !strings.HasSuffix(name, "/keys.json") {
			continue
		}
		var keys struct {
			Seed string `json:"feed_seed"`
		}
		b, err := h.mem.Read(name)
		if err == nil {
			err = json.Unmarshal(b, &keys)
		}
		seed, bad := hex.DecodeString(keys.Seed)
		if err == nil && bad == nil && len(seed) == ed25519.SeedSize {
			return h.penOf(ed25519.NewKeyFromSeed(seed))
		}
	}
	return nil
}

func (h *host) penOf(key ed25519.PrivateKey) *pen {
	var random [8]byte
	for i := range random {
		random[i] = byte(h.w.dice.IntN(256))
	}
	feed := events.NewFeedID(events.KeyOf(key.Public().(ed25519.PublicKey)), random)
	return &pen{h: h, key: key, feed: feed}
}

// next is the envelope of the next line, by the device's clocks as they are.
func (p *pen) next(x events.Payload) *events.Event {
	now := p.h.stamp()
	var head events.Head
	if n := len(p.lines); n > 0 {
		head = p.lines[n-1].Head()
	}
	e := &events.Event{
		Header: events.NextHeader(p.h.site, p.feed, head),
		HLC:    events.HLC{L: now.Wall.At, C: int64(len(p.lines))}, Wall: now.Wall, Mono: now.Mono, Payload: x,
	}
	var random [10]byte
	for i := range random {
		random[i] = byte(p.h.w.dice.IntN(256))
	}
	e.ID, _ = ulid.New(uint64(max(now.Wall.At, 0)), bytes.NewReader(random[:]))
	return e
}

// writes seals a line with an envelope bent by hand.
func (p *pen) writes(x events.Payload, bend func(*events.Event)) seal.Verified {
	e := p.next(x)
	if bend != nil {
		bend(e)
	}
	v, err := seal.Seal(p.key, e)
	if err != nil {
		panic("write a villain's line: " + err.Error()) // the simulator's own fault
	}
	p.adds(v)
	return v
}

func (p *pen) adds(v seal.Verified) {
	p.h.w.ledger.forged[v.Ref()] = true
	p.lines = append(p.lines, v)
}

// writesLater seals a line of a kind that nobody knows yet.
func (p *pen) writesLater() {
	p.writes(events.FeedStarted{Why: events.NewFeed}, nil)
	signed, err := p.next(events.NoteAdded{Of: events.Site(), Text: "to a shine"}).Encode()
	if err != nil {
		panic("write a line of a later kind: " + err.Error())
	}
	signed = bytes.Replace(signed, []byte(`"kind":"note.added"`), []byte(`"kind":"`+string(later)+`"`), 1)
	line := slices.Concat(signed, []byte(`,"sig":"`+string(events.Sign(p.key, append([]byte("pairwalk event v1\n"), signed...)))+`"}`))
	v, err := seal.Open(line)
	if err != nil {
		panic("write a line of a later kind: " + err.Error())
	}
	p.adds(v)
}

// hands gives what pens wrote to one or two others, in a file.
func (w *world) hands(from *host, pens ...*pen) {
	var to []*host
	for _, o := range w.others(from) {
		if o.m != nil && !o.disk.dead && o.bus != from.bus {
			to = append(to, o)
		}
	}
	w.dice.Shuffle(len(to), func(i, j int) { to[i], to[j] = to[j], to[i] })
	for _, o := range to[:min(len(to), 1+w.dice.IntN(2))] {
		o.takesFile(from, pens...)
	}
}

// takesFile takes in a file of lines.
func (h *host) takesFile(from *host, pens ...*pen) {
	if h.m == nil || h.disk.dead || h.w.broken != nil {
		return
	}
	got, err := h.m.BundleIn(h.w.ctx, bytes.NewReader(fileOf(from, pens)))
	if h.wrote("take in a file", err) {
		h.w.tell("%s takes %d from a file of %s's", h.name, got.Fresh, from.name)
	}
	h.after()
}

func fileOf(from *host, pens []*pen) []byte {
	lines, heads, holes := map[events.FeedID][]seal.Verified{}, map[events.FeedID]events.Head{}, map[events.FeedID][]events.Head{}
	for _, p := range pens {
		lines[p.feed], heads[p.feed] = p.lines, p.lines[len(p.lines)-1].Head()
		maps.Copy(holes, p.holes)
	}
	var b bytes.Buffer
	_, err := bundle.Write(&b, from.takesPen().key, bundle.Manifest{
		Site: from.site, Name: siteName, Practice: true, Maker: events.NewFeedID(from.key, [8]byte{1}), MakerName: from.name, Made: from.stamp(), Heads: heads,
	}, func(yield func(seal.Verified, error) bool) {
		for _, feed := range slices.Sorted(maps.Keys(lines)) {
			for _, v := range lines[feed] {
				if !yield(v, nil) {
					return
				}
			}
		}
	}, holes)
	if err != nil {
		panic("write a villain's file: " + err.Error()) // the simulator's own fault
	}
	return b.Bytes()
}
