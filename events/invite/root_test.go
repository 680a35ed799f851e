package invite

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// rootFrom is the root of a site made of one repeated byte.
func rootFrom(t testing.TB, b byte) Root {
	r, err := NewRoot(bytes.NewReader(bytes.Repeat([]byte{b}, entropyBytes)))
	require.NoError(t, err)
	return r
}

// The English reference vectors for 16 bytes that come with BIP-39
// (github.com/trezor/python-mnemonic, vectors.json), from memory.
func TestWordsOfBIP39(t *testing.T) {
	for b, words := range map[byte]string{
		0x00: "abandon abandon abandon abandon abandon abandon abandon abandon abandon abandon abandon about",
		0x7f: "legal winner thank year wave sausage worth useful legal winner thank yellow",
		0x80: "letter advice cage absurd amount doctor acoustic avoid letter advice cage above",
		0xff: "zoo zoo zoo zoo zoo zoo zoo zoo zoo zoo zoo wrong",
	} {
		t.Run(fmt.Sprintf("%02x", b), func(t *testing.T) {
			r := rootFrom(t, b)
			require.Equal(t, strings.Fields(words), r.Words())
			again, err := RootFromSheet(words)
			require.NoError(t, err)
			require.Equal(t, r, again)
		})
	}
}

// The key is derived as the package doc says, and not by BIP-39's own stretching.
func TestRootKey(t *testing.T) {
	seed := sha256.Sum256(append([]byte("pairwalk root v1\n"), bytes.Repeat([]byte{0x7f}, 16)...))
	pub := ed25519.NewKeyFromSeed(seed[:]).Public().(ed25519.PublicKey)
	r := rootFrom(t, 0x7f)
	require.Equal(t, events.KeyOf(pub), r.Key())
	require.Equal(t, events.SiteOf(pub), r.Site())
	require.NoError(t, r.For(events.SiteOf(pub)))
	require.ErrorIs(t, rootFrom(t, 0x80).For(r.Site()), ErrOtherRoot)
}

func TestNewRootNeedsRandomness(t *testing.T) {
	_, err := NewRoot(strings.NewReader("too short"))
	require.Error(t, err)
}

func TestRootKeepsItsSecret(t *testing.T) {
	r := rootFrom(t, 0xff)
	for _, text := range []string{fmt.Sprint(r), fmt.Sprintf("%+v", r), fmt.Sprintf("%#v", r)} {
		require.Equal(t, "root of site "+string(r.Site()), text)
	}
}

func TestSheetRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		entropy := rapid.SliceOfN(rapid.Byte(), entropyBytes, entropyBytes).Draw(rt, "entropy")
		r, err := NewRoot(bytes.NewReader(entropy))
		require.NoError(t, err)
		for _, line := range strings.Split(r.Sheet(), "\n") {
			require.LessOrEqual(t, utf8.RuneCountInString(line), 76)
			require.Equal(t, strings.TrimRight(line, " "), line)
		}
		for _, text := range []string{r.Sheet(), strings.Join(r.Words(), " "), strings.Join(r.Words(), "\r\n")} {
			again, err := RootFromSheet(text)
			require.NoError(t, err)
			require.Equal(t, r, again)
		}
	})
}

func TestSheetIsForgiving(t *testing.T) {
	r := rootFrom(t, 0x7f)
	words := r.Words()
	numbered := func(format string, order ...int) string {
		var b strings.Builder
		for _, i := range order {
			fmt.Fprintf(&b, format, i+1, words[i])
		}
		return b.String()
	}
	inOrder := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}
	shuffled := rand.New(rand.NewPCG(1, 2)).Perm(12)

	for name, text := range map[string]string{
		"capitals":                 strings.ToUpper(strings.Join(words, " ")),
		"commas":                   strings.Join(words, ", "),
		"tabs and no-break space":  "\t" + strings.Join(words, "\u00a0 \t") + "\n",
		"numbers with dots":        numbered("%d. %s ", inOrder...),
		"numbers with brackets":    numbered("(%d) %s\n", inOrder...),
		"numbers that stick":       numbered("%d.%s ", inOrder...),
		"numbers and nothing":      numbered("%d%s ", inOrder...),
		"read along the rows":      numbered("%d. %s ", 0, 4, 8, 1, 5, 9, 2, 6, 10, 3, 7, 11),
		"numbers out of order":     numbered("%d. %s ", shuffled...),
		"one number left out":      strings.Replace(numbered("%d. %s ", inOrder...), "7. ", "", 1),
		"one number written twice": strings.Replace(numbered("%d. %s ", inOrder...), "8. ", "7. ", 1),
		"the whole sheet quoted":   "> " + strings.ReplaceAll(r.Sheet(), "\n", "\n> "),
	} {
		t.Run(name, func(t *testing.T) {
			again, err := RootFromSheet(text)
			require.NoError(t, err)
			require.Equal(t, r, again)
		})
	}
}

func TestSheetErrorsSayWhatToDo(t *testing.T) {
	words := rootFrom(t, 0x7f).Words() // legal winner thank year wave sausage worth useful legal winner thank yellow
	with := func(i int, word string) string {
		w := slices.Clone(words)
		w[i] = word
		return strings.Join(w, " ")
	}
	for _, tt := range []struct {
		name, text string
		err        error
		says       string
	}{
		{"nothing", "", ErrWordCount, "here are 0"},
		{"a word left out", strings.Join(words[1:], " "), ErrWordCount, "here are 11"},
		{"a word too many", with(3, "year year"), ErrWordCount, "here are 13"},
		{"a slip", with(5, "sausaje"), ErrUnknownWord, `word 6, "sausaje"`},
		{"a slip, put right", with(5, "sausaje"), ErrUnknownWord, "did you mean sausage?"},
		{"a slip near the front", with(0, "lxgal"), ErrUnknownWord, "did you mean legal?"},
		{"a plural", with(0, "legals"), ErrUnknownWord, "did you mean legal?"},
		{"a word cut short", with(1, "winne"), ErrUnknownWord, "did you mean wine or winner?"},
		{"a letter left out", with(4, "wve"), ErrUnknownWord, "did you mean wave?"},
		{"a letter doubled", with(2, "thhank"), ErrUnknownWord, "did you mean thank?"},
		{"a word of no list", with(7, "qwertz"), ErrUnknownWord, "check its spelling"},
		{"another alphabet", with(7, "слово"), ErrUnknownWord, "word 8"},
		{"two words changed places", strings.Join(append([]string{words[1], words[0]}, words[2:]...), " "), ErrWordsClash, "compare them"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := RootFromSheet(tt.text)
			require.ErrorIs(t, err, tt.err)
			require.ErrorContains(t, err, tt.says)
		})
	}
}

func TestLeadByRoot(t *testing.T) {
	r := rootFrom(t, 1)
	ana, bus := keyOf(10), keyOf(11)
	join := r.Lead("Ana", "ana@harbour.example", public(ana), public(bus))
	feed := events.NewFeedID(public(ana), [8]byte{1})
	require.NoError(t, join.Proven(r.Site(), feed))
	require.Equal(t, events.Lead, join.Role)
	require.ErrorIs(t, join.Proven(rootFrom(t, 2).Site(), feed), events.ErrWrongRoot)

	other := join
	other.Bus = public(keyOf(12))
	require.ErrorIs(t, other.Proven(r.Site(), feed), events.ErrBadProof)
}

func TestRevokeByRoot(t *testing.T) {
	r := rootFrom(t, 1)
	feed := events.NewFeedID(public(keyOf(10)), [8]byte{1})
	p := r.Revoke(events.MemberRevoked{
		Key: public(keyOf(10)), Why: "laptop stolen",
		Heads: map[events.FeedID]events.Head{feed: {Seq: 7, Hash: events.HashOf([]byte("x"))}},
	})
	require.Equal(t, "laptop stolen", p.Why)
	require.True(t, p.Proof.VerifiedBy(r.Key(), p.Statement(r.Site())))
	require.False(t, p.Proof.VerifiedBy(r.Key(), p.Statement(rootFrom(t, 2).Site())))
	p.Heads[feed] = events.Head{Seq: 8, Hash: events.HashOf([]byte("x"))}
	require.False(t, p.Proof.VerifiedBy(r.Key(), p.Statement(r.Site())))
}

// Whatever text is read as a root has words that are read as the same root.
func FuzzRootFromSheet(f *testing.F) {
	r := rootFrom(f, 0x7f)
	f.Add(r.Sheet())
	f.Add(strings.Join(r.Words(), " "))
	f.Add("1. legal 2. winner")
	f.Add("999999999999999999999 zoo")
	f.Add("\xff\u00a0１. zoo")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := RootFromSheet(text)
		if err != nil {
			known := errors.Is(err, ErrWordCount) || errors.Is(err, ErrUnknownWord) || errors.Is(err, ErrWordsClash)
			require.True(t, known, err)
			return
		}
		again, err := RootFromSheet(r.Sheet())
		require.NoError(t, err)
		require.Equal(t, r, again)
	})
}
