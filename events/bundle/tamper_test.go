package bundle

import (
	"bytes"
	"compress/gzip"
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

// sample is a small bundle with everything in it: two feeds, a hole and a fork.
func sample(t testing.TB) []byte {
	a, b := pens(t)
	l := a.saysAll("1", "2")
	copied := a.copy()
	l = append(l, a.saysAll("3", "4", "5")...)
	branch := copied.says("3'")
	other := b.says("eins")
	holes := map[events.FeedID][]events.Head{a.feed: {l[3].Head()}}
	return written(t, a, madeBy(a, l[4], other), holes, l[0], l[1], l[2], l[4], branch, other)
}

// refused holds a reading to one of the errors that a tampered file may meet.
func refused(t *testing.T, file []byte, what string) {
	b, err := Read(bytes.NewReader(file))
	if b != nil || !(errors.Is(err, ErrDamaged) || errors.Is(err, ErrNotBundle) || errors.Is(err, ErrVersion)) {
		require.Failf(t, "taken or misnamed", "%s: %v", what, err)
	}
}

func TestEveryByteOfTheFileCounts(t *testing.T) {
	file := sample(t)
	for i := range file {
		for _, mask := range []byte{1 << (i % 8), 0xff} {
			bad := bytes.Clone(file)
			bad[i] ^= mask
			refused(t, bad, fmt.Sprintf("byte %d changed by %08b", i, mask))
		}
	}
}

// Here whoever tampers knows the format, and makes the outer hash fit again.
func TestEveryByteOfTheTextCounts(t *testing.T) {
	text := textOf(t, sample(t))
	for i := range text {
		bad := bytes.Clone(text)
		bad[i] ^= 1 << (i % 7)
		_, err := parse(bad)
		require.Error(t, err, "byte %d", i)
	}
	refused(t, fileOf(t, append(bytes.Clone(text[:len(text)-9]), "00000000\n"...)), "end of the trailer")
}

func TestEveryLengthCounts(t *testing.T) {
	file := sample(t)
	for n := range file {
		refused(t, file[:n], fmt.Sprintf("cut to %d bytes", n))
	}
	text := textOf(t, file)
	for n := range text {
		_, err := parse(text[:n])
		require.Error(t, err, "text cut to %d bytes", n)
	}
	refused(t, append(bytes.Clone(file), 0), "a byte more")
	refused(t, append(bytes.Clone(file), file...), "two bundles in a row")
	refused(t, append(bytes.Clone(file[:len(file)-tailBytes]), file...), "a member more")

	more := append(bytes.Clone(file[:len(file)-tailBytes]), memberOf(t, []byte("more\n"))...)
	sum := sha256.Sum256(more)
	refused(t, append(more, tail(sum[:])...), "a member more, and the outer hash made to fit")
	halves := append(memberOf(t, text[:700]), memberOf(t, text[700:])...)
	sum = sha256.Sum256(halves)
	refused(t, append(halves, tail(sum[:])...), "the text in two members, and the outer hash made to fit")
}

func TestErrorsSayWhatItIs(t *testing.T) {
	file := sample(t)
	text := textOf(t, file)
	pipe := errors.New("stick was pulled out")
	var other bytes.Buffer
	z := gzip.NewWriter(&other)
	_, err := z.Write([]byte(strings.Repeat("a page of something else\n", 100)))
	require.NoError(t, err)
	require.NoError(t, z.Close())

	tests := []struct {
		name string
		file []byte
		err  error
	}{
		{"nothing", nil, ErrNotBundle},
		{"a spreadsheet", []byte("tag,kind,hub\n2-101,dimmer,H2\n"), ErrNotBundle},
		{"some other gzip file", other.Bytes(), ErrNotBundle},
		{"some other text packed as ours", fileOf(t, []byte("hello\n")), ErrNotBundle},
		{"cut off by a full stick", file[:len(file)/2], ErrDamaged},
		{"a byte changed in the middle", flipped(file, len(file)/2), ErrDamaged},
		{"the text without its trailer", fileOf(t, text[:bytes.LastIndex(text, []byte(`{"lines"`))]), ErrDamaged},
		{"a later version", fileOf(t, bytes.Replace(text, []byte(`"v":1,`), []byte(`"v":2,`), 1)), ErrVersion},
		{"a later version of two digits", fileOf(t, bytes.Replace(text, []byte(`"v":1,`), []byte(`"v":10,`), 1)), ErrVersion},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, err := Read(bytes.NewReader(tt.file))
			require.ErrorIs(t, err, tt.err)
			require.Nil(t, b)
		})
	}
	t.Run("a disk that can't be read", func(t *testing.T) {
		_, err := Read(failing{pipe})
		require.ErrorIs(t, err, pipe)
	})
}

func flipped(file []byte, i int) []byte {
	bad := bytes.Clone(file)
	bad[i] ^= 0x10
	return bad
}

// A member may hold a true key and still send what is not true. These bundles are
// sound but for the one thing named; the first row proves that.
func TestForged(t *testing.T) {
	a, b := pens(t)
	l := a.saysAll("1", "2", "3")
	copied := a.copy()
	l = append(l, a.saysAll("4", "5", "6")...)
	branch := copied.saysAll("4'", "5'")
	other := b.saysAll("eins", "zwei")
	stranger := newPen(t, 3)
	stranger.site = events.SiteOf(keyOf(98).Public().(ed25519.PublicKey))
	foreign := stranger.says("from next door")
	m := madeBy(a, l[5], other[1])
	good := texts(slices.Concat(l, other)...)
	hole := func(p *pen, seq events.Seq, hash events.Hash) string {
		line, err := holeLine(p.feed, events.Head{Seq: seq, Hash: hash})
		require.NoError(t, err)
		return string(line)
	}
	body := func(parts ...any) []string {
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

	_, err := Read(bytes.NewReader(forged(t, a, m, good...)))
	require.NoError(t, err)
	_, err = Read(bytes.NewReader(forged(t, a, m, body(l[:2], hole(a, 3, l[2].Hash()), l[3:], other)...)))
	require.NoError(t, err)
	_, err = Read(bytes.NewReader(forged(t, a, m, body(l, branch, other)...)))
	require.NoError(t, err)

	tests := []struct {
		name string
		m    Manifest
		body []string
	}{
		{"a line of another site", withHeads(m, func(h map[events.FeedID]events.Head) { h[stranger.feed] = foreign.Head() }),
			sortedFeeds(l, other, []seal.Verified{foreign})},
		{"heads that go further", m, body(l[:5], other)},
		{"heads that lag", madeBy(a, l[4], other[1]), good},
		{"a feed that the heads leave out", madeBy(a, l[5]), good},
		{"a head without a feed", m, body(l)},
		{"a head that is not named whole", withHeads(m, func(h map[events.FeedID]events.Head) { h[a.feed] = events.Head{Seq: 6} }), good},
		{"a head on the wrong branch", madeBy(a, branch[1], other[1]), body(l, branch, other)},
		{"feeds out of order", m, body(other, l)},
		{"lines out of order", m, body(l[:2], l[3:4], l[2:3], l[4:], other)},
		{"a line twice", m, body(l, l[2:3], other)},
		{"a gap without a hole", m, body(l[:2], l[3:], other)},
		{"a feed that begins late", m, body(l[1:], other)},
		{"a hole with another hash", m, body(l[:2], hole(a, 3, l[1].Hash()), l[3:], other)},
		{"a hole without a hash", m, body(l[:2], hole(a, 3, events.Hash{}), l[3:], other)},
		{"a hole before a hole, with a hash", m, body(l[:2], hole(a, 3, l[2].Hash()), hole(a, 4, l[3].Hash()), l[4:], other)},
		{"a hole with the number of another", m, body(l[:2], hole(a, 3, l[3].Hash()), l[4:], other)},
		{"a hole out of place", m, body(l[:2], hole(a, 4, l[3].Hash()), l[4:], other)},
		{"a hole beside its line", m, body(l[:3], hole(a, 3, l[2].Hash()), l[3:], other)},
		{"a hole at the end of a feed", m, body(l, hole(a, 7, l[0].Hash()), other)},
		{"a hole at the end of the file", m, body(l, other, hole(b, 3, l[0].Hash()))},
		{"a hole of nobody's", m, body(l, other, `{"hole":1,"feed":"nobody","hash":""}`)},
		{"a hole written otherwise", m, body(l[:2], strings.Replace(hole(a, 3, l[2].Hash()), ":", ": ", 1), l[3:], other)},
		{"a hole with more in it", m, body(l[:2], strings.Replace(hole(a, 3, l[2].Hash()), "}", `,"x":1}`, 1), l[3:], other)},
		{"a branch before the main one", m, body(l[:3], branch, l[3:], other)},
		{"a branch off a line that is not there", m, body(l, branch[1:], other)},
		{"branches out of order", m, body(l, unsorted(a, l), other)},
		{"a line whose seal is broken", m, body(l[:5], string(flipped(l[5].Line(), len(l[5].Line())-40)), other)},
		{"a line that was changed", m, body(l[:5], strings.Replace(string(l[5].Line()), `"text":"6"`, `"text":"7"`, 1), other)},
		{"a line that is no event", m, body(l, `{"v":1}`, other)},
		{"an empty line", m, body(l, "", other)},
		{"a line in two", m, body(l[:5], string(l[5].Line())+"\n", other)},
		{"a line that is too long", m, body(l, strings.Repeat("x", seal.MaxLine+1), other)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Read(bytes.NewReader(forged(t, a, tt.m, tt.body...)))
			require.ErrorIs(t, err, ErrForged)
			require.Nil(t, got)
		})
	}
	t.Run("signed by another than the maker", func(t *testing.T) {
		_, err := Read(bytes.NewReader(forged(t, b, m, good...)))
		require.ErrorIs(t, err, ErrForged)
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

func TestTooLarge(t *testing.T) {
	a, _ := pens(t)
	lines := a.saysAll("1", "2", "3", "4")
	m := madeBy(a, lines[3])
	file := written(t, a, m, nil, lines...)
	text := int64(len(textOf(t, file)))
	exact := sizes{text: text, file: int64(len(file))}

	for _, tt := range []struct {
		name  string
		limit sizes
		err   error
	}{
		{"as large as allowed", exact, nil},
		{"a byte too much text", sizes{exact.text - 1, exact.file}, ErrTooLarge},
		{"a byte too much file", sizes{exact.text, exact.file - 1}, ErrTooLarge},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := read(bytes.NewReader(file), tt.limit)
			require.ErrorIs(t, err, tt.err)
			_, err = write(&bytes.Buffer{}, a.key, m, each(lines...), nil, tt.limit)
			require.ErrorIs(t, err, tt.err)
		})
	}
	t.Run("a little file that unpacks to very much", func(t *testing.T) {
		bomb := fileOf(t, append([]byte(firstLine+"1,"), make([]byte, 4<<20)...))
		require.Less(t, len(bomb), 64<<10)
		_, err := read(bytes.NewReader(bomb), sizes{text: 1 << 20, file: 1 << 20})
		require.ErrorIs(t, err, ErrTooLarge)
	})
	t.Run("a stream without end", func(t *testing.T) {
		_, err := read(endless{}, sizes{text: 1 << 20, file: 1 << 20})
		require.ErrorIs(t, err, ErrTooLarge)
	})
}

// endless is a gzip header's first bytes, for ever.
type endless struct{}

func (endless) Read(b []byte) (int, error) { return copy(b, gzipMagic), nil }

func TestForSite(t *testing.T) {
	a, _ := pens(t)
	m := madeBy(a)
	require.NoError(t, m.For(testSite))
	require.ErrorIs(t, m.For(events.SiteOf(keyOf(98).Public().(ed25519.PublicKey))), ErrWrongSite)
}

func FuzzRead(f *testing.F) {
	file := sample(f)
	f.Add(textOf(f, file))
	f.Add([]byte(firstLine + "1,"))
	f.Add([]byte("\n"))
	f.Add([]byte(nil))
	f.Fuzz(func(t *testing.T, text []byte) {
		b, err := Read(bytes.NewReader(fileOf(t, text)))
		if err != nil {
			require.Nil(t, b)
			return
		}
		require.Equal(t, b.Count.Lines, len(linesOf(b)))
		for _, run := range runsOf(b) {
			_, err := seal.OpenRun(raw(run.Lines))
			require.NoError(t, err)
		}
	})
}

func raw(lines []seal.Verified) [][]byte {
	var out [][]byte
	for _, v := range lines {
		out = append(out, v.Line())
	}
	return out
}
