package bundle

import (
	"bytes"
	"crypto/sha256"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
)

// FuzzReadSigned reads bundles whose maker, a member gone bad, wrote any manifest
// and any lines and signed them: no line comes out but as its author sealed it, and
// what is read is within what was said of it.
func FuzzReadSigned(f *testing.F) {
	file := sample(f)
	a, b := pens(f)
	text := textOf(f, file)
	end := bytes.LastIndexByte(text[:len(text)-1], '\n') + 1
	signed := map[string]bool{}
	for line := range bytes.Lines(text[:end]) {
		signed[string(bytes.TrimSuffix(line, []byte("\n")))] = true
	}
	body := text[:end]
	first := bytes.IndexByte(body, '\n') + 1
	lines := bytes.SplitAfter(body[first:], []byte("\n"))
	f.Add(body)
	f.Add(body[:first])
	f.Add(append(bytes.Clone(body), body[first:]...))
	f.Add(append(bytes.Clone(body[:first]), lines[0]...))
	f.Add(append(bytes.Clone(body), `{"hole":9007199254740991,"feed":"`+string(a.feed)+`","hash":""}`+"\n"...))
	f.Add(bytes.ReplaceAll(body, []byte(a.feed), []byte(b.feed)))
	for _, x := range [][2]string{{`"heads":{`, `"heads":{"x":[1,""],`}, {`"practice":`, `"practise":`}, {`[4,`, `[9007199254740991,`}} {
		f.Add(bytes.Replace(body, []byte(x[0]), []byte(x[1]), 1))
	}
	_, err := parse(text)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, body []byte) {
		sum := sha256.Sum256(body)
		count := max(0, bytes.Count(body, []byte("\n"))-1)
		for _, p := range []*pen{a, b} {
			trailer, err := trailerLine(p.key, testSite, count, sum[:])
			require.NoError(t, err)
			got, err := parse(append(append(bytes.Clone(body), trailer...), '\n'))
			if err != nil {
				require.Nil(t, got)
				continue
			}
			require.Equal(t, p.feed.Key(), got.Maker.Key(), "who signed is who made it")
			require.Equal(t, count, got.Count.Lines+got.Count.Holes)
			for _, line := range linesOf(got) {
				require.True(t, signed[line])
			}
			require.LessOrEqual(t, len(got.Heads), count)
			for feed := range got.Heads {
				_, err := events.ParseFeedID(string(feed))
				require.NoError(t, err)
			}
		}
	})
}
