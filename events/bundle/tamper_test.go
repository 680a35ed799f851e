package bundle

import (
	"bytes"
	"compress/gzip"
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"fmt"
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
