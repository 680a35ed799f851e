package bundle

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// stage is a sound log of two feeds, made by a; branch is a fork off a's third line.
type stage struct {
	t      testing.TB
	a, b   *pen
	l      []seal.Verified // a's six lines
	branch []seal.Verified
	other  []seal.Verified // b's two lines
	m      Manifest
	good   []string // the body as it should be
}

func newStage(t testing.TB) stage {
	s := stage{t: t}
	s.a, s.b = pens(t)
	s.l = s.a.saysAll("1", "2", "3")
	copied := s.a.copy()
	s.l = append(s.l, s.a.saysAll("4", "5", "6")...)
	s.branch = copied.saysAll("4'", "5'")
	s.other = s.b.saysAll("eins", "zwei")
	s.m = madeBy(s.a, s.l[5], s.other[1])
	s.good = body(s.l, s.other)
	return s
}

// body lists lines and texts as texts.
func body(parts ...any) []string {
	var lines []string
	for _, part := range parts {
		switch part := part.(type) {
		case string:
			lines = append(lines, part)
		case []seal.Verified:
			lines = append(lines, texts(part...)...)
		}
	}
	return lines
}

func (s stage) hole(p *pen, seq events.Seq, hash events.Hash) string {
	line, err := holeLine(p.feed, events.Head{Seq: seq, Hash: hash})
	require.NoError(s.t, err)
	return string(line)
}

// forgery is a bundle that its maker truly signed and that is sound but for the
// one thing it is named by.
type forgery struct {
	name string
	m    Manifest
	body []string
}

// refuses demands that each is refused, and that nothing is given out.
func (s stage) refuses(t *testing.T, forgeries []forgery) {
	for _, tt := range forgeries {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Read(bytes.NewReader(forged(t, s.a, tt.m, tt.body...)))
			require.ErrorIs(t, err, ErrForged)
			require.Nil(t, got)
		})
	}
}

// Without a thing that is wrong, what the tests below make is taken.
func TestSoundStage(t *testing.T) {
	s := newStage(t)
	for name, lines := range map[string][]string{
		"plain":         s.good,
		"with a hole":   body(s.l[:2], s.hole(s.a, 3, s.l[2].Hash()), s.l[3:], s.other),
		"with a branch": body(s.l, s.branch, s.other),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read(bytes.NewReader(forged(t, s.a, s.m, lines...)))
			require.NoError(t, err)
		})
	}
	t.Run("signed by another than the maker", func(t *testing.T) {
		_, err := Read(bytes.NewReader(forged(t, s.b, s.m, s.good...)))
		require.ErrorIs(t, err, ErrForged)
	})
}

func TestForgedHeads(t *testing.T) {
	s := newStage(t)
	stranger := newPen(t, 3)
	stranger.site = events.SiteOf(keyOf(98).Public().(ed25519.PublicKey))
	foreign := stranger.says("from next door")
	s.refuses(t, []forgery{
		{"a line of another site", withHeads(s.m, func(h map[events.FeedID]events.Head) { h[foreign.Feed()] = foreign.Head() }),
			sortedFeeds(s.l, s.other, []seal.Verified{foreign})},
		{"heads that go further", s.m, body(s.l[:5], s.other)},
		{"heads that lag", madeBy(s.a, s.l[4], s.other[1]), s.good},
		{"a feed that the heads leave out", madeBy(s.a, s.l[5]), s.good},
		{"a head without a feed", s.m, body(s.l)},
		{"a head that is not named whole", withHeads(s.m, func(h map[events.FeedID]events.Head) { h[s.a.feed] = events.Head{Seq: 6} }), s.good},
		{"a head on the wrong branch", madeBy(s.a, s.branch[1], s.other[1]), body(s.l, s.branch, s.other)},
	})
}

func TestForgedLines(t *testing.T) {
	s := newStage(t)
	s.refuses(t, []forgery{
		{"feeds out of order", s.m, body(s.other, s.l)},
		{"lines out of order", s.m, body(s.l[:2], s.l[3:4], s.l[2:3], s.l[4:], s.other)},
		{"a line twice", s.m, body(s.l, s.l[2:3], s.other)},
		{"a gap without a hole", s.m, body(s.l[:2], s.l[3:], s.other)},
		{"a feed that begins late", s.m, body(s.l[1:], s.other)},
		{"a branch before the main one", s.m, body(s.l[:3], s.branch, s.l[3:], s.other)},
		{"a branch off a line that is not there", s.m, body(s.l, s.branch[1:], s.other)},
		{"branches out of order", s.m, body(s.l, unsorted(s.a, s.l), s.other)},
		{"a line whose seal is broken", s.m, body(s.l[:5], string(flipped(s.l[5].Line(), len(s.l[5].Line())-40)), s.other)},
		{"a line that was changed", s.m, body(s.l[:5], strings.Replace(string(s.l[5].Line()), `"text":"6"`, `"text":"7"`, 1), s.other)},
		{"a line that is no event", s.m, body(s.l, `{"v":1}`, s.other)},
		{"an empty line", s.m, body(s.l, "", s.other)},
		{"a line in two", s.m, body(s.l[:5], string(s.l[5].Line())+"\n", s.other)},
		{"a line that is too long", s.m, body(s.l, strings.Repeat("x", seal.MaxLine+1), s.other)},
	})
}

func TestForgedHoles(t *testing.T) {
	s := newStage(t)
	s.refuses(t, []forgery{
		{"a hole with another hash", s.m, body(s.l[:2], s.hole(s.a, 3, s.l[1].Hash()), s.l[3:], s.other)},
		{"a hole without a hash", s.m, body(s.l[:2], s.hole(s.a, 3, events.Hash{}), s.l[3:], s.other)},
		{"a hole before a hole, with a hash", s.m, body(s.l[:2], s.hole(s.a, 3, s.l[2].Hash()), s.hole(s.a, 4, s.l[3].Hash()), s.l[4:], s.other)},
		{"a hole with the number of another", s.m, body(s.l[:2], s.hole(s.a, 3, s.l[3].Hash()), s.l[4:], s.other)},
		{"a hole out of place", s.m, body(s.l[:2], s.hole(s.a, 4, s.l[3].Hash()), s.l[4:], s.other)},
		{"a hole beside its line", s.m, body(s.l[:3], s.hole(s.a, 3, s.l[2].Hash()), s.l[3:], s.other)},
		{"a hole at the end of a feed", s.m, body(s.l, s.hole(s.a, 7, s.l[0].Hash()), s.other)},
		{"a hole at the end of the file", s.m, body(s.l, s.other, s.hole(s.b, 3, s.l[0].Hash()))},
		{"a hole of nobody's", s.m, body(s.l, s.other, `{"hole":1,"feed":"nobody","hash":""}`)},
		{"a hole written otherwise", s.m, body(s.l[:2], strings.Replace(s.hole(s.a, 3, s.l[2].Hash()), ":", ": ", 1), s.l[3:], s.other)},
		{"a hole with more in it", s.m, body(s.l[:2], strings.Replace(s.hole(s.a, 3, s.l[2].Hash()), "}", `,"x":1}`, 1), s.l[3:], s.other)},
	})
}

// unsorted is two branches off the third line, the greater hash first.
func unsorted(a *pen, main []seal.Verified) []seal.Verified {
	var two []seal.Verified
	for _, text := range []string{"x", "y"} {
		p := a.copy()
		p.head = main[2].Head()
		two = append(two, p.says(text))
	}
	slices.SortFunc(two, func(x, y seal.Verified) int { return compareHeads(y.Head(), x.Head()) })
	return two
}

// sortedFeeds puts whole feeds in the order of a bundle.
func sortedFeeds(feeds ...[]seal.Verified) []string {
	slices.SortFunc(feeds, func(x, y []seal.Verified) int { return strings.Compare(string(x[0].Feed()), string(y[0].Feed())) })
	return texts(slices.Concat(feeds...)...)
}

// The manifest is signed by its maker as well, but it is read in one form only.
func TestForgedManifest(t *testing.T) {
	a, _ := pens(t)
	line := a.says("1")
	m := madeBy(a, line)
	first, err := m.line()
	require.NoError(t, err)
	withManifest := func(manifest string, lines int) []byte {
		text := manifest + "\n" + string(line.Line()) + "\n"
		sum := sha256.Sum256([]byte(text))
		last, err := trailerLine(a.key, m.Site, lines, sum[:])
		require.NoError(t, err)
		return fileOf(t, []byte(text+string(last)+"\n"))
	}
	change := func(old, new string) string {
		changed := strings.Replace(string(first), old, new, 1)
		require.NotEqual(t, string(first), changed)
		return changed
	}
	_, err = Read(bytes.NewReader(withManifest(string(first), 1)))
	require.NoError(t, err)

	for name, file := range map[string][]byte{
		"space":                      withManifest(change(`"name":`, `"name": `), 1),
		"a key more":                 withManifest(change(`"heads":`, `"x":1,"heads":`), 1),
		"a key twice":                withManifest(change(`"name":`, `"name":"x","name":`), 1),
		"a key in capitals":          withManifest(change(`"name":`, `"Name":`), 1),
		"practice false, not absent": withManifest(change(`"maker":`, `"practice":false,"maker":`), 1),
		"an escape":                  withManifest(change(`Ana`, `\u0041na`), 1),
		"no name":                    withManifest(change(`"Harbour House"`, `""`), 1),
		"an offset out of range":     withManifest(change(`,60]`, `,65596]`), 1),
		"a boot without a time":      withManifest(change(`["boot-1",42]`, `["boot-1"]`), 1),
		"bytes after it":             withManifest(string(first)+" ", 1),
		"a count that is wrong":      withManifest(string(first), 2),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read(bytes.NewReader(file))
			require.ErrorIs(t, err, ErrForged)
		})
	}
}
