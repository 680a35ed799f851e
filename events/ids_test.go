package events_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/oklog/ulid/v2"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// The ULID specification: the largest is 7ZZZZZZZZZZZZZZZZZZZZZZZZZ, and
// anything greater is refused; we write upper case and read nothing else.
func TestULIDs(t *testing.T) {
	const mine = "01KJPWD6M0WA0KTHEF00R2NDT2"
	signed, err := benSays(events.HubReady{Hub: "H2"}).Encode()
	require.NoError(t, err)
	for text, ok := range map[string]bool{
		"00000000000000000000000000":      true,
		"7ZZZZZZZZZZZZZZZZZZZZZZZZZ":      true,
		"80000000000000000000000000":      false,
		"8ZZZZZZZZZZZZZZZZZZZZZZZZZ":      false,
		"ZZZZZZZZZZZZZZZZZZZZZZZZZZ":      false,
		strings.ToLower(mine):             false,
		mine[:25]:                         false,
		mine + "0":                        false,
		"01KJPWD6M0WALKTHEF00R2NDT2":      false, // L is no letter of Crockford's base 32
		"01KJPWD6M0WAIKTHEF00R2NDT2":      false, // nor is I
		"01KJPWD6M0WA0KTHEF00R2NDU2":      false, // nor is U
		"01KJPWD6M0WA0KTHEF00R2NDT\u00e9": false,
	} {
		e, err := events.Decode(bytes.Replace(signed, []byte(mine), []byte(text), 1))
		require.NoError(t, err)
		require.Equal(t, ok, e.Understood(), text)
		if ok {
			require.Equal(t, ulid.MustParse(text), e.ID)
		}
	}
}

func TestSiteIsTheHashOfItsRootKey(t *testing.T) {
	public := rootKey.Public().(ed25519.PublicKey)
	sum := sha256.Sum256(public)
	want := strings.ToLower(strings.TrimRight(base32.StdEncoding.EncodeToString(sum[:]), "="))
	require.Equal(t, want, string(events.SiteOf(public)))
	require.Len(t, want, 52)
}

func TestKeyHasOneSpelling(t *testing.T) {
	public, err := ben.Public()
	require.NoError(t, err)
	require.Equal(t, benKey.Public(), public)
	require.Equal(t, ben, events.KeyOf(public))
	require.Equal(t, string(ben[:8]), ben.Short())
	last := ben[51:]
	for name, other := range map[string]events.Key{
		"empty":             "",
		"short":             ben[:51],
		"long":              ben + "a",
		"upper case":        events.Key(strings.ToUpper(string(ben))),
		"padded":            ben + "====",
		"trailing bits set": ben[:51] + map[events.Key]events.Key{"a": "b", "q": "r"}[last],
		"a line feed":       ben[:20] + "\n" + ben[20:],
		"a letter too many": ben[:51] + "1",
	} {
		_, err := other.Public()
		require.Error(t, err, name)
	}
	require.Equal(t, "", events.Key("").Short())
	require.True(t, utf8.ValidString(events.Key("aéééééé").Short()), "cut between letters")
}

func TestFeedID(t *testing.T) {
	require.Len(t, string(benFeed), 52+1+13)
	require.Equal(t, ben, benFeed.Key())
	back, err := events.ParseFeedID(string(benFeed))
	require.NoError(t, err)
	require.Equal(t, benFeed, back)
	require.Equal(t, ben.Short()+"."+string(benFeed[53:57]), benFeed.Short())
	require.NotEqual(t, benFeed, events.NewFeedID(ben, [8]byte{1}), "one key may need several feeds")
	for name, other := range map[string]events.FeedID{
		"empty":               "",
		"a key alone":         events.FeedID(ben),
		"no dot":              benFeed[:52] + "a" + benFeed[53:],
		"short":               benFeed[:65],
		"long":                benFeed + "a",
		"upper case":          events.FeedID(strings.ToUpper(string(benFeed))),
		"trailing bits set":   benFeed[:65] + "b",
		"a path":              "../../etc/passwd",
		"a slash in the rand": benFeed[:60] + "/" + benFeed[61:],
	} {
		_, err := events.ParseFeedID(string(other))
		require.Error(t, err, name)
		require.NotPanics(t, func() { _, _ = other.Key(), other.Short() })
	}
}

func TestHashes(t *testing.T) {
	// SHA-256 of "abc": FIPS 180-2 appendix B.1 (value from memory).
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	h := events.HashOf([]byte("abc"))
	require.Equal(t, abc, h.String())
	require.Equal(t, abc[:16], h.Short().String())
	back, err := events.ParseHash(abc)
	require.NoError(t, err)
	require.Equal(t, h, back)
	none, err := events.ParseHash("")
	require.NoError(t, err)
	require.Equal(t, events.Hash{}, none)
	require.Equal(t, "", none.String())
	for _, bad := range []string{abc[:63], abc + "0", strings.ToUpper(abc), strings.Repeat("0", 64), "x" + abc[1:]} {
		_, err := events.ParseHash(bad)
		require.Error(t, err, bad)
	}
	for _, bad := range []string{"", abc[:15], abc[:17], strings.ToUpper(abc[:16])} {
		_, err := events.ParseHash8(bad)
		require.Error(t, err, bad)
	}
}

func TestRef(t *testing.T) {
	r := benSays(events.HubReady{Hub: "H2"}).Ref()
	require.Equal(t, events.Ref{Feed: benFeed, Seq: 7}, r)
	require.Equal(t, string(benFeed)+"/7/0000000000000000", r.String())
	text, err := faultRef().MarshalText()
	require.NoError(t, err)
	back, err := events.ParseRef(string(text))
	require.NoError(t, err)
	require.Equal(t, faultRef(), back)
	require.Equal(t, "", events.Ref{}.String())
	require.True(t, events.Ref{}.IsZero())
	short := hex.EncodeToString(make([]byte, 8))
	for _, bad := range []string{
		"", "/", string(benFeed) + "/7", string(benFeed) + "/0/" + short, string(benFeed) + "/07/" + short,
		string(benFeed) + "/+7/" + short, string(benFeed) + "/9007199254740992/" + short, string(benFeed) + "/7/" + short + "/",
		"x/7/" + short, string(benFeed) + "/7/" + strings.ToUpper("abcdef0123456789"),
	} {
		_, err := events.ParseRef(bad)
		require.Error(t, err, bad)
	}
}

func TestRefsSortByFeedThenSeqThenHash(t *testing.T) {
	a := events.Ref{Feed: "a", Seq: 9, Hash: events.Hash8{9}}
	b := events.Ref{Feed: "b", Seq: 10, Hash: events.Hash8{1}}
	for _, later := range []events.Ref{{Feed: "b", Seq: 10, Hash: events.Hash8{2}}, {Feed: "b", Seq: 11}, {Feed: "c"}} {
		require.Negative(t, a.Compare(later))
		require.Negative(t, b.Compare(later))
		require.Positive(t, later.Compare(b))
	}
	require.Zero(t, a.Compare(a))
}

func TestByNameIsTheOrderOfPeople(t *testing.T) {
	in := []events.Tag{"10-1", "2-10", "2-9", "B1-2", "2-09", "2-9"}
	slices.SortFunc(in, events.ByName)
	require.Equal(t, []events.Tag{"2-09", "2-9", "2-9", "2-10", "10-1", "B1-2"}, in)
	require.NotZero(t, events.ByName("2-9", "2-09"), "different names are never equal")
}
