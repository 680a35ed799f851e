package bundle

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/seal"
)

func TestRoundTrip(t *testing.T) {
	a, b := pens(t)
	first := a.saysAll("one", "two", "three")
	second := b.saysAll("eins", "zwei")
	m := madeBy(b, tipOf(first), tipOf(second))
	m.Practice = true

	var file bytes.Buffer
	count, err := Write(&file, b.key, m, each(slices.Concat(first, second)...), nil)
	require.NoError(t, err)
	require.Equal(t, Count{Feeds: 2, Lines: 5}, count)

	got, err := Read(&file)
	require.NoError(t, err)
	require.Equal(t, m, got.Manifest)
	require.Equal(t, count, got.Count)
	require.Empty(t, got.Forks)
	require.Equal(t, []Run{{Feed: a.feed, Lines: first}, {Feed: b.feed, Lines: second}}, runsOf(got))
}

// The text is what the package doc says, byte for byte, and its trailer is checked
// here with nothing of this package.
func TestTextIsAsDocumented(t *testing.T) {
	a, _ := pens(t)
	l := a.saysAll("1", "2", "3")
	m := madeBy(a, l[2])
	m.Practice, m.Name = true, `Harbour "A" & <B>`
	file := written(t, a, m, holesAt(a, 2), l[0], l[2])
	text := string(textOf(t, file))

	body := fmt.Sprintf(`{"pairwalk":"bundle","v":1,"site":"%[1]s","name":"Harbour \"A\" & <B>","practice":true,`+
		`"maker":"%[2]s","maker_name":"Ana","made":{"wall":[1700000000000,60],"mono":["boot-1",42]},`+
		`"heads":{"%[2]s":[3,"%[3]x"]}}
%[4]s
{"hole":2,"feed":"%[2]s","hash":"%[5]x"}
%[6]s
`, testSite, a.feed, [32]byte(l[2].Hash()), l[0].Line(), [32]byte(l[1].Hash()), l[2].Line())
	sum := fmt.Sprintf("%x", sha256.Sum256([]byte(body)))
	statement := fmt.Sprintf("pairwalk bundle v1\n%s\n3\n%s\n", testSite, sum)
	sig := base64.StdEncoding.EncodeToString(ed25519.Sign(a.key, []byte(statement)))
	require.Equal(t, fmt.Sprintf("%s{\"lines\":3,\"sha256\":\"%s\",\"sig\":\"%s\"}\n", body, sum, sig), text)

	require.Equal(t, make([]byte, 4), file[4:8], "no time in the gzip header")
	member, end, _ := bytes.Cut(file, []byte("pairwalk "))
	member = member[:len(member)-10]
	require.Equal(t, fmt.Sprintf("%x", sha256.Sum256(member)), string(end[:64]))
}

func TestManifestKeepsWhatItWasGiven(t *testing.T) {
	a, _ := pens(t)
	line := a.says("one")
	for name, change := range map[string]func(*Manifest){
		"plain":                 func(*Manifest) {},
		"practice":              func(m *Manifest) { m.Practice = true },
		"no boot clock":         func(m *Manifest) { m.Made.Mono = events.Mono{} },
		"west of Greenwich":     func(m *Manifest) { m.Made.Wall.Offset = -210 },
		"names with odd signs":  func(m *Manifest) { m.Name, m.MakerName = `Wing "B" <2> & Söhne`, "Zoë\u2028O'Hara" },
		"an excerpt":            func(m *Manifest) { m.Made, m.Pages = events.Stamp{}, strings.Repeat("5a", 32) },
		"boot id with a < sign": func(m *Manifest) { m.Made.Mono.Boot = "<boot>" },
	} {
		t.Run(name, func(t *testing.T) {
			m := madeBy(a, line)
			change(&m)
			got, err := Read(bytes.NewReader(written(t, a, m, nil, line)))
			require.NoError(t, err)
			require.Equal(t, m, got.Manifest)
		})
	}
}

func TestEmptyLog(t *testing.T) {
	a, _ := pens(t)
	got, err := Read(bytes.NewReader(written(t, a, madeBy(a), nil)))
	require.NoError(t, err)
	require.Empty(t, runsOf(got))
}

// A line is known by the bytes that were signed. One whose signature somebody has
// re-encoded (S+L for S: the same group element, refused by strict verifiers) is
// vouched for by the line after it, and is carried as it stands.
func TestSignatureInAnotherEncoding(t *testing.T) {
	a, _ := pens(t)
	lines := a.saysAll("one", "two", "three")
	lines[1] = reencoded(t, lines)
	require.Error(t, lines[1].CheckSignature())

	got, err := Read(bytes.NewReader(written(t, a, madeBy(a, lines[2]), nil, lines...)))
	require.NoError(t, err)
	require.Equal(t, texts(lines...), linesOf(got))

	t.Run("with nothing after it", func(t *testing.T) {
		m := madeBy(a, lines[1])
		_, err := Write(&bytes.Buffer{}, a.key, m, each(lines[:2]...), nil)
		require.ErrorIs(t, err, ErrUnproved)
		_, err = Read(bytes.NewReader(forged(t, a, m, texts(lines[:2]...)...)))
		require.ErrorIs(t, err, ErrForged)
	})
	t.Run("before a hole", func(t *testing.T) {
		gap := append(slices.Clone(lines), a.saysAll("four")...)
		holes := map[events.FeedID][]events.Head{a.feed: {lines[2].Head()}}
		_, err := Write(&bytes.Buffer{}, a.key, madeBy(a, gap[3]), each(gap[0], gap[1], gap[3]), holes)
		require.ErrorIs(t, err, ErrUnproved)
	})
}

// reencoded is the second of the lines with S+L in place of S.
func reencoded(t *testing.T, lines []seal.Verified) seal.Verified {
	order, _ := new(big.Int).SetString("7237005577332262213973186563042994240857116359379907606001950938285454250989", 10) // RFC 8032 §5.1, from memory
	line := bytes.Clone(lines[1].Line())
	text := line[len(line)-2-events.SignatureChars : len(line)-2]
	sig, err := events.ParseSignature(string(text))
	require.NoError(t, err)
	s := slices.Clone(sig[32:])
	slices.Reverse(s)
	s = new(big.Int).Add(new(big.Int).SetBytes(s), order).FillBytes(make([]byte, 32))
	slices.Reverse(s)
	copy(text, base64.StdEncoding.EncodeToString(append(sig[:32], s...)))
	run, err := seal.OpenRun([][]byte{lines[0].Line(), line, lines[2].Line()})
	require.NoError(t, err)
	return run[1]
}

func TestHoles(t *testing.T) {
	a, b := pens(t)
	l := a.saysAll("1", "2", "3", "4", "5", "6", "7", "8")
	whole := b.saysAll("eins")
	m := madeBy(a, tipOf(l), tipOf(whole))
	holes := map[events.FeedID][]events.Head{a.feed: {{Seq: 6, Hash: l[5].Hash()}, {Seq: 1}, {Seq: 5, Hash: l[4].Hash()}}}

	got, err := Read(bytes.NewReader(written(t, a, m, holes, l[1], l[2], l[3], l[6], l[7], whole[0])))
	require.NoError(t, err)
	require.Equal(t, Count{Feeds: 2, Lines: 6, Holes: 3}, got.Count)
	require.Equal(t, []Run{
		{Feed: a.feed, Holes: []events.Head{l[0].Head()}, Lines: l[1:4]},
		{Feed: a.feed, Holes: []events.Head{{Seq: 5}, l[5].Head()}, Lines: l[6:8]},
		{Feed: b.feed, Lines: whole},
	}, runsOf(got), "a hole before another has no hash, for nothing in the file proves it")
}

// main   1 - 2 - (3) - 4
// left    \ 2'
// right           \ 4"
//
// The hole is proved by what follows it, so the branch after it has its place, and
// is not taken for a continuation of the one above it in the file.
func TestBranchAfterHole(t *testing.T) {
	a, _ := pens(t)
	l := a.saysAll("1")
	early := a.copy()
	l = append(l, a.saysAll("2", "3")...)
	late := a.copy()
	l = append(l, a.says("4"))
	left, right := early.says("2'"), late.says(`4"`)
	m := madeBy(a, l[3])
	got, err := Read(bytes.NewReader(written(t, a, m, holesAt(a, 3), l[0], l[1], l[3], left, right)))
	require.NoError(t, err)
	require.Equal(t, []Run{
		{Feed: a.feed, Lines: l[:2]},
		{Feed: a.feed, Holes: []events.Head{l[2].Head()}, Lines: l[3:]},
		{Feed: a.feed, Branch: 1, Lines: []seal.Verified{left}},
		{Feed: a.feed, Branch: 2, Lines: []seal.Verified{right}},
	}, runsOf(got))

	t.Run("nor is a branch of another branch", func(t *testing.T) {
		deep := early.saysAll("3'")
		deeper := early.copy()
		deep = append(deep, early.says("4'"))
		short := newPen(t, 1)
		short.key, short.feed, short.head = a.key, a.feed, l[0].Head()
		lines := slices.Concat([]seal.Verified{l[0], l[1], l[3], left}, deep, []seal.Verified{short.says("2x"), deeper.says("4x")})
		got, err := Read(bytes.NewReader(written(t, a, m, holesAt(a, 3), lines...)))
		require.NoError(t, err)
		require.ElementsMatch(t, texts(lines...), linesOf(got))
		require.Equal(t, 1, got.Count.Holes)
		require.Len(t, got.Forks[a.feed], 3)
	})
}

// While a bundle is written, other members' lines keep coming in.
func TestLogThatGrows(t *testing.T) {
	a, b := pens(t)
	copied := a.copy()
	l := a.saysAll("1", "2", "3", "4")
	branch := copied.saysAll("1'", "2'")
	m := madeBy(a, l[1])
	got, err := Read(bytes.NewReader(written(t, a, m, nil, slices.Concat(l, branch, b.saysAll("eins"))...)))
	require.NoError(t, err)
	require.Equal(t, m, got.Manifest)
	require.Equal(t, []Run{{Feed: a.feed, Lines: l[:2]}, {Feed: a.feed, Branch: 1, Lines: branch}}, runsOf(got))
}

// A journal lists a line whose signature is damaged among those that a peer could
// heal, and has it nevertheless.
func TestHoleThatIsThere(t *testing.T) {
	a, b := pens(t)
	l := a.saysAll("1", "2", "3")
	l[1] = reencoded(t, l)
	holes := map[events.FeedID][]events.Head{a.feed: {l[1].Head()}, b.feed: {{Seq: 9}}}
	got, err := Read(bytes.NewReader(written(t, a, madeBy(a, l[2]), holes, l...)))
	require.NoError(t, err)
	require.Equal(t, Count{Feeds: 1, Lines: 3}, got.Count)
}

// main   1 - 2 - 3
// left     \ (2') - 3' - 4'
func TestBranchWithoutItsFirstLine(t *testing.T) {
	a, _ := pens(t)
	l := a.saysAll("1")
	copied := a.copy()
	l = append(l, a.saysAll("2", "3")...)
	left := copied.saysAll("2'", "3'", "4'")
	var file bytes.Buffer
	count, err := Write(&file, a.key, madeBy(a, l[2]), each(slices.Concat(l, left[1:])...), holesAt(a, 2))
	require.NoError(t, err)
	require.Equal(t, Count{Feeds: 1, Lines: 3, LeftOut: 2}, count)
	got, err := Read(&file)
	require.NoError(t, err)
	require.Equal(t, texts(l...), linesOf(got))

	t.Run("nor its second, past the end of the main one", func(t *testing.T) {
		count, err := Write(&bytes.Buffer{}, a.key, madeBy(a, l[1]), each(l[0], l[1], left[2]), holesAt(a, 2, 3))
		require.NoError(t, err)
		require.Equal(t, Count{Feeds: 1, Lines: 2, LeftOut: 1}, count)
	})
}

// main   1 - 2 - 3 - 4
// left        \ 3' - 4' - 5'
// right             \ 4" - (5") - 6"
// top    1'
func TestForks(t *testing.T) {
	a, b := pens(t)
	again := a.copy()
	main := a.saysAll("1", "2")
	copied := a.copy()
	main = append(main, a.saysAll("3", "4")...)
	left := copied.saysAll("3'")
	deeper := copied.copy()
	left = append(left, copied.saysAll("4'", "5'")...)
	right := deeper.saysAll(`4"`, `5"`, `6"`)
	top := again.saysAll("1'")
	holes := map[events.FeedID][]events.Head{a.feed: {right[1].Head()}}
	m := madeBy(b, tipOf(main))

	kept := []seal.Verified{right[0], right[2]}
	file := written(t, b, m, holes, slices.Concat(main, left, kept, top)...)
	got, err := Read(bytes.NewReader(file))
	require.NoError(t, err)
	require.Equal(t, []Run{
		{Feed: a.feed, Lines: main},
		{Feed: a.feed, Branch: 1, Lines: top},
		{Feed: a.feed, Branch: 2, Lines: left},
		{Feed: a.feed, Branch: 3, Lines: right[:1]},
		{Feed: a.feed, Branch: 3, Holes: []events.Head{right[1].Head()}, Lines: right[2:]},
	}, runsOf(got))
	require.Equal(t, map[events.FeedID][]events.Head{
		a.feed: {tipOf(top).Head(), tipOf(left).Head(), tipOf(right).Head()},
	}, got.Forks)

	t.Run("in any order of the branches", func(t *testing.T) {
		other := written(t, b, m, holes, slices.Concat(main, kept, top, left)...)
		require.Equal(t, file, other)
	})
}

// Whatever a journal holds comes back, the same bytes each time.
func TestAnyLogRoundTrips(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b := pens(t)
		var lines []seal.Verified
		var tips []seal.Verified
		holes := map[events.FeedID][]events.Head{}
		for _, p := range []*pen{a, b} {
			strands := drawStrands(rt, p)
			for i, strand := range strands {
				kept := drawHoles(rt, strand, i > 0, len(strands) == 1, holes)
				lines = append(lines, kept...)
				if i == 0 && len(kept) > 0 {
					tips = append(tips, tipOf(kept))
				}
			}
		}
		m := madeBy(a, tips...)
		file := written(t, a, m, holes, lines...)
		require.Equal(t, file, written(t, a, m, holes, lines...))

		got, err := Read(bytes.NewReader(file))
		require.NoError(t, err)
		require.Equal(t, m, got.Manifest)
		require.ElementsMatch(t, texts(lines...), linesOf(got))
		require.Equal(t, len(slices.Concat(holes[a.feed], holes[b.feed])), got.Count.Holes)
		checkPlaces(t, runsOf(got))
	})
}

// drawStrands writes a feed with up to two branches off its main one.
func drawStrands(rt *rapid.T, p *pen) [][]seal.Verified {
	var main []seal.Verified
	var copies []*pen
	for n := range rapid.IntRange(0, 6).Draw(rt, "lines") {
		if n > 0 && len(copies) < 2 && rapid.Bool().Draw(rt, "copied") {
			copies = append(copies, p.copy())
		}
		main = append(main, p.says("main"))
	}
	strands := [][]seal.Verified{main}
	for i, c := range copies {
		text := []string{"left", "right"}[i]
		strands = append(strands, c.saysAll(slices.Repeat([]string{text}, rapid.IntRange(1, 4).Draw(rt, text))...))
	}
	return strands
}

// drawHoles leaves out some lines of a branch between its ends, or of a main branch
// alone in its feed all but the last: none that a branch may begin after.
func drawHoles(rt *rapid.T, strand []seal.Verified, branch, alone bool, holes map[events.FeedID][]events.Head) []seal.Verified {
	var kept []seal.Verified
	for i, v := range strand {
		if (branch && i > 0 || alone) && i < len(strand)-1 && rapid.Bool().Draw(rt, "hole") {
			holes[v.Feed()] = append(holes[v.Feed()], v.Head())
			continue
		}
		kept = append(kept, v)
	}
	return kept
}

// checkPlaces holds the runs to the promise that each follows something before it.
func checkPlaces(t *testing.T, runs []Run) {
	seen := map[events.Ref]bool{}
	for _, run := range runs {
		first := run.Lines[0]
		if len(run.Holes) == 0 && first.Seq() > 1 {
			require.True(t, seen[events.Ref{Feed: run.Feed, Seq: first.Seq() - 1, Hash: first.Prev().Short()}])
		}
		for _, v := range run.Lines {
			seen[v.Ref()] = true
		}
	}
}
