package nearby

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
)

// Computed from the layout in the package doc by a program that shares no code
// with this one. The site's root key is the bytes 0 to 31.
const (
	vectorSite = events.SiteID("mmg42klgyqzwneiskrelxms3j72bfje4omw3fsflyg4fqg6xcdoq")
	vectorSalt = "aebagbafaydqq" // the bytes 1 to 8
	vectorTag  = "gepobg2cbui7tshg"
)

func TestTheMarkIsTheOneOfTheLayout(t *testing.T) {
	require.Equal(t, []string{"v=1", "t=" + vectorSalt + "." + vectorTag}, mark(vectorSite, vectorSalt))
}

func TestWhichRecordsBearTheMark(t *testing.T) {
	good := "t=" + vectorSalt + "." + vectorTag
	for _, c := range []struct {
		name string
		txt  []string
		ours bool
	}{
		{"as announced", []string{"v=1", good}, true},
		{"in another order", []string{good, "v=1"}, true},
		{"keys in capitals", []string{"V=1", "T" + good[1:]}, true},
		{"with keys of a later day", []string{"v=1", "x=9", "flag", good}, true},
		{"the first of a key counts", []string{"v=1", good, "t=no", "v=2"}, true},
		{"the first of a key is wrong", []string{"v=1", "t=no", good}, false},
		{"nothing", nil, false},
		{"an empty string", []string{""}, false},
		{"no version", []string{good}, false},
		{"a later version", []string{"v=2", good}, false},
		{"a version of no value", []string{"v", good}, false},
		{"no tag", []string{"v=1"}, false},
		{"a tag of no value", []string{"v=1", "t"}, false},
		{"an empty tag", []string{"v=1", "t="}, false},
		{"no salt", []string{"v=1", "t=." + vectorTag}, false},
		{"a salt alone", []string{"v=1", "t=" + vectorSalt + "."}, false},
		{"no dot", []string{"v=1", "t=" + vectorSalt + "-" + vectorTag}, false},
		{"cut short", []string{"v=1", good[:len(good)-1]}, false},
		{"too long", []string{"v=1", good + "a"}, false},
		{"in capitals", []string{"v=1", "t=" + strings.ToUpper(vectorSalt+"."+vectorTag)}, false},
		{"a bad salt and what comes of it: nothing", []string{"v=1", "t=1111111111111." + vectorTag}, false},
		{"another spelling of the same salt", []string{"v=1", "t=" + vectorSalt[:12] + "r." + vectorTag}, false},
		{"line ends among the salt, which the decoder alone would pass over", []string{"v=1", "t=aebagb\n\nfaydq." + vectorTag}, false},
		{"another tag", []string{"v=1", "t=" + vectorSalt + ".aaaaaaaaaaaaaaaa"}, false},
		{"another salt", []string{"v=1", "t=aaaaaaaaaaaaa." + vectorTag}, false},
		{"not text", []string{"v=1", "t=\xff\xfe\x00" + good[5:]}, false},
		{"huge", []string{"v=1", "t=" + strings.Repeat("a", 1<<20)}, false},
		{"thousands", append(slicesOf("t=no", 5000), "v=1", good), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.ours, marked(vectorSite, c.txt))
			require.False(t, marked(siteOf(1), c.txt), "another site's")
		})
	}
}

func slicesOf(s string, n int) []string {
	return strings.Split(strings.TrimSuffix(strings.Repeat(s+"\n", n), "\n"), "\n")
}

func TestASiteIsRecognisedByItsOwnAndNoOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sites := rapid.ByteRange(0, 3)
		here, there := sites.Draw(t, "here"), sites.Draw(t, "there")
		s, err := newSign(siteOf(there), 4222, dice(rapid.Byte().Draw(t, "dice")))
		require.NoError(t, err)
		require.Equal(t, here == there, marked(siteOf(here), s.txt))
	})
}
