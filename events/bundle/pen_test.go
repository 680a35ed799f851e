package bundle

import (
	"bytes"
	"compress/gzip"
	"crypto/ed25519"
	"crypto/sha256"
	"iter"
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// testSite hangs on a root made of a fixed seed.
var testSite = events.SiteOf(keyOf(99).Public().(ed25519.PublicKey))

func keyOf(n byte) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{n}, ed25519.SeedSize))
}

// pen writes one feed.
type pen struct {
	t    testing.TB
	key  ed25519.PrivateKey
	site events.SiteID
	feed events.FeedID
	head events.Head
}

func newPen(t testing.TB, n byte) *pen {
	key := keyOf(n)
	feed := events.NewFeedID(events.KeyOf(key.Public().(ed25519.PublicKey)), [8]byte{n})
	return &pen{t: t, key: key, site: testSite, feed: feed}
}

// copy is a second pen that goes on from the same line: the makings of a fork.
func (p *pen) copy() *pen {
	q := *p
	return &q
}

// says seals the next line of the feed.
func (p *pen) says(text string) seal.Verified {
	e := &events.Event{
		Header:  events.NextHeader(p.site, p.feed, p.head),
		HLC:     events.HLC{L: events.Instant(1000 + p.head.Seq)},
		Wall:    events.Wall{At: events.Instant(1000 + p.head.Seq)},
		Payload: events.NoteAdded{Of: events.Site(), Text: text},
	}
	v, err := seal.Seal(p.key, e)
	require.NoError(p.t, err)
	p.head = v.Head()
	return v
}

func (p *pen) saysAll(texts ...string) []seal.Verified {
	var lines []seal.Verified
	for _, text := range texts {
		lines = append(lines, p.says(text))
	}
	return lines
}

// pens are two members of the site, in the order of their feeds.
func pens(t testing.TB) (first, second *pen) {
	p := []*pen{newPen(t, 1), newPen(t, 2)}
	slices.SortFunc(p, func(a, b *pen) int { return bytes.Compare([]byte(a.feed), []byte(b.feed)) })
	return p[0], p[1]
}

// madeBy is the manifest of a bundle by p whose feeds end with these lines.
func madeBy(p *pen, tips ...seal.Verified) Manifest {
	m := Manifest{
		Site: testSite, Name: "Harbour House", Maker: p.feed, MakerName: "Ana",
		Made: events.Stamp{
			Wall: events.Wall{At: 1_700_000_000_000, Offset: 60},
			Mono: events.Mono{Boot: "boot-1", Ms: 42},
		},
		Heads: map[events.FeedID]events.Head{},
	}
	for _, v := range tips {
		m.Heads[v.Feed()] = v.Head()
	}
	return m
}

func each(lines ...seal.Verified) iter.Seq2[seal.Verified, error] {
	return func(yield func(seal.Verified, error) bool) {
		for _, v := range lines {
			if !yield(v, nil) {
				return
			}
		}
	}
}

func tipOf(lines []seal.Verified) seal.Verified { return lines[len(lines)-1] }

// written is the bundle as a file.
func written(t testing.TB, p *pen, m Manifest, holes map[events.FeedID][]events.Head, lines ...seal.Verified) []byte {
	var file bytes.Buffer
	_, err := Write(&file, p.key, m, each(lines...), holes)
	require.NoError(t, err)
	return file.Bytes()
}

// runsOf lists a bundle's runs.
func runsOf(b *Bundle) []Run {
	var runs []Run
	for _, run := range b.Runs() {
		runs = append(runs, run)
	}
	return runs
}

// linesOf lists every line of a bundle as text.
func linesOf(b *Bundle) []string {
	var lines []string
	for _, run := range b.Runs() {
		lines = append(lines, texts(run.Lines...)...)
	}
	return lines
}

func texts(lines ...seal.Verified) []string {
	var out []string
	for _, v := range lines {
		out = append(out, string(v.Line()))
	}
	return out
}

// textOf unpacks a file with the standard library's gzip alone.
func textOf(t testing.TB, file []byte) []byte {
	z, err := gzip.NewReader(bytes.NewReader(file))
	require.NoError(t, err)
	var text bytes.Buffer
	_, err = text.ReadFrom(z)
	require.NoError(t, err)
	return text.Bytes()
}

// fileOf packs any text as Write would, so that only the text can be at fault.
func fileOf(t testing.TB, text []byte) []byte {
	member := memberOf(t, text)
	sum := sha256.Sum256(member)
	return append(member, tail(sum[:])...)
}

// memberOf is one gzip member.
func memberOf(t testing.TB, text []byte) []byte {
	var member bytes.Buffer
	z := gzip.NewWriter(&member)
	_, err := z.Write(text)
	require.NoError(t, err)
	require.NoError(t, z.Close())
	return member.Bytes()
}

// forged is a file with that body, truly signed by p: what a member can make who
// bends the rules. The trailer counts every line of the body.
func forged(t testing.TB, p *pen, m Manifest, body ...string) []byte {
	first, err := m.line()
	require.NoError(t, err)
	text := append(first, '\n')
	for _, line := range body {
		text = append(append(text, line...), '\n')
	}
	sum := sha256.Sum256(text)
	last, err := trailerLine(p.key, m.Site, len(body), sum[:])
	require.NoError(t, err)
	return fileOf(t, append(append(text, last...), '\n'))
}

// withHeads is m with another set of heads.
func withHeads(m Manifest, change func(map[events.FeedID]events.Head)) Manifest {
	m.Heads = maps.Clone(m.Heads)
	change(m.Heads)
	return m
}
