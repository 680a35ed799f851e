package journal_test

import (
	"bytes"
	"fmt"
	"hash/crc32"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
)

// Which file of a journal somebody put something else in the place of.
const (
	ownFeed = iota
	otherFeed
	receipts
	markInside
	bothMarks
	anotherFeed
	places
)

// checked gives each line the check value that makes it count, as somebody who
// knows the format would.
func checked(lines []byte) []byte {
	var out []byte
	for line := range bytes.Lines(lines) {
		body, ok := bytes.CutSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte("}"))
		if !ok {
			out = append(out, line...)
			continue
		}
		out = fmt.Appendf(out, "%s,\"check\":\"%08x\"}\n", body, crc32.Checksum(body, crc32.MakeTable(crc32.Castagnoli)))
	}
	return out
}

// uncheck takes the check values off again, for seeds.
func uncheck(lines []byte) []byte {
	var out []byte
	for line := range bytes.Lines(lines) {
		if i := bytes.LastIndex(line, []byte(`,"check":"`)); i >= 0 {
			line = append(bytes.Clone(line[:i]), '}', '\n')
		}
		out = append(out, line...)
	}
	return out
}

// FuzzOpen opens a journal in which one file is whatever somebody with the disk in
// hand wrote: what is yielded was signed, what was acknowledged and is still there
// is read, no number is given out twice, and the second opening finds what the
// first did.
func FuzzOpen(f *testing.F) {
	l := newLaptop()
	j, mine := l.begun(f, newAuthor(1), 5)
	theirs := newAuthor(2).says(5, "theirs")
	_, err := j.Take(ctx, theirs)
	require.NoError(f, err)
	require.NoError(f, j.Close())
	own, other := string(mine[0].Feed()), string(theirs[0].Feed())
	name := map[byte]string{ownFeed: feedFile(own), otherFeed: feedFile(other), receipts: "receipts", markInside: "mark", bothMarks: "mark", anotherFeed: ""}
	for place, file := range name {
		if file == "" {
			f.Add(place, []byte(other+"~0011223344556677.ndjson\n"+string(theirs[2].Line())+"\n"))
			continue
		}
		b := uncheck(read(f, l.site, file))
		f.Add(place, b)
		f.Add(place, b[:len(b)*2/3])
		f.Add(place, bytes.Join(bytes.SplitAfter(b, []byte("\n"))[:1], nil))
		f.Add(place, bytes.Replace(b, []byte(`"seq":`), []byte(`"seq":99`), 1))
		f.Add(place, bytes.Replace(b, []byte(own), []byte("../../"+own), 1))
		f.Add(place, bytes.Replace(b, []byte(`"to":`), []byte(`"to":1844674407370955161`), 1))
		f.Add(place, append(bytes.Clone(b), b...))
	}
	f.Add(byte(otherFeed), []byte(`{"hole":7,"hash":""}`+"\n"+`{"hole":18446744073709551615,"hash":""}`+"\n"))
	signed := map[string]bool{}
	for _, line := range append(texts(mine), texts(theirs)...) {
		signed[line] = true
	}
	f.Fuzz(func(t *testing.T, place byte, b []byte) {
		l := l.copy()
		switch place %= places; place {
		case receipts, markInside:
			l.site.Put(name[place], checked(b))
		case bothMarks:
			l.site.Put("mark", checked(b))
			l.marks.Put(string(journaltest.Site()), checked(b))
		case anotherFeed:
			file, content, _ := strings.Cut(string(b), "\n")
			if strings.Contains(file, "/") || file == own+".ndjson" || file == other+".ndjson" {
				return
			}
			l.site.Put("feeds/"+file, []byte(content))
		default:
			l.site.Put(name[place], b)
		}
		j, err := journal.Open(l.site, l.marks, journaltest.Site(), l.env())
		if err != nil {
			return
		}
		held := texts(have(t, j.All()))
		for _, line := range held {
			require.True(t, signed[line], "a line that nobody signed: %s", line)
		}
		if place != otherFeed {
			requireLines(t, j, theirs)
		}
		if o := j.Own(); o.Replace == "" && o.Feed == mine[0].Feed() {
			require.Equal(t, mine[len(mine)-1].Head(), j.Heads()[o.Feed], "the feed goes on, from the last number that was ever given")
		}
		require.NoError(t, j.Close())
		again := l.open(t)
		require.Equal(t, held, texts(have(t, again.All())), "the second opening differs")
		_ = again.Own()
		require.NoError(t, again.Close())
		for _, file := range append(l.site.Files(), l.marks.Files()...) {
			require.NotContains(t, file, "..", "something was written outside of the folder")
		}
	})
}
